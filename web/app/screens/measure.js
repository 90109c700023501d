/**
 * Takes one reading that is asked for: a sketch of where the tape goes, the echo, the keypad.
 * @module screens/measure
 */
import { readLength } from "../closure/length.js";
import { rule } from "../closure/pack.js";
import { expectCheck, isFar } from "../checks-expect.js";
import { ask } from "../form.js";
import { echo } from "../parts/echo.js";
import { listenToKeys } from "../parts/hardware.js";
import { key, keypad } from "../parts/keypad.js";
import { typed } from "../parts/typed.js";
import { el, fill, say } from "../ui.js";
import { sketch } from "./sketch.js";

/** @typedef {import("../checks-list.js").Check} Check */
/** @typedef {import("../closure/types.js").Pack} Pack */
/** @typedef {import("../screens.js").Survey} Survey */

/**
 * @typedef {object} Asked
 * @property {Survey} survey
 * @property {any} run
 * @property {Check} check
 * @property {Pack} pack
 */

/**
 * Reads what was typed; asks where it looks like a slip. The person always has the last word.
 * @param {string} text
 * @param {Asked} asked
 * @param {(words: string) => void} tell
 * @returns {Promise<number | null>} [mm]
 */
async function accept(text, { survey, run, check, pack }, tell) {
  const { value, said, ask: guessed } = readLength(text, rule(pack, "closure.metres"));
  if (value === null) return (tell(said), null);
  const about = expectCheck(check, survey, run.id, pack);
  const far = isFar(value, about, pack);
  const words = far ? `${value} is far from the ${Math.round(about ?? 0)} that would be about right here.` : `${said}.`;
  const sure =
    !(far || guessed) || (await ask("Is it so?", [el("p", null, words)], `Yes, ${value} mm`, { no: "Type it again" }));
  if (sure && said && !guessed) tell(`${said}.`);
  return sure ? value : null;
}

/** Why a reading could not be taken. */
const REASONS = ["something stands in the way", "not safe to reach", "the end cannot be seen"];

/**
 * @param {Asked} asked
 * @param {() => void} done
 */
async function unreached({ survey, run, check }, done) {
  let reason = REASONS[0];
  const picks = REASONS.map((words, at) => {
    const input = el("input", { type: "radio", name: "why", checked: at === 0, onchange: () => (reason = words) });
    return el("label", { class: "choice" }, input, words);
  });
  const legend = el("fieldset", null, el("legend", null, "Why"), ...picks);
  if (!(await ask("This cannot be reached", [legend], "Keep that"))) return;
  survey.add("unreached", { run: run.id, of: check.kind, ...check.fields, reason });
  say("Kept. Nothing is lost by it.");
  done();
}

/**
 * Saves a reading and says so only when the phone has truly stored it.
 * @param {Asked} asked
 * @param {number} value [mm]
 */
function save({ survey, run, check }, value) {
  const { saved } = survey.add(check.kind, { run: run.id, ...check.fields, value });
  void saved.then(() => say(`${value} saved`));
}

/**
 * Shows one check on the host.
 * @param {HTMLElement} host
 * @param {Asked} asked
 * @param {{next: () => void, back: () => void}} ways where to go after saving, and without
 * @returns {() => void} takes the listeners away
 */
export function measure(host, asked, { next, back }) {
  const { run, check } = asked;
  const figure = echo(check.words);
  const told = el("p", { class: "told", role: "status" });
  const tell = (/** @type {string} */ words) => fill(told, words);
  const keys = typed(() => figure.show(keys.text));
  const keep = async () => {
    const value = await accept(keys.text, asked, tell);
    if (value === null) return;
    save(asked, value);
    next();
  };
  const places = {
    upper: key("Erase", keys.erase),
    middle: key("Can’t reach", () => void unreached(asked, next)),
    lower: key("Back to the list", back),
    save: key("Save", () => void keep(), "save"),
  };
  const heading = el("h2", { tabindex: "-1" }, check.words);
  const drawing = sketch(run, check.kind, check.ends, `Where the tape goes: ${check.words}`);
  const pad = keypad(keys.digit, places);
  fill(
    host,
    el("div", { class: "measure" }, heading, drawing, el("p", { class: "asked-figure" }, figure.node), told, pad),
  );
  heading.focus({ preventScroll: true });
  const stop = listenToKeys(keys, { save: () => void keep(), escape: back });
  return stop;
}
