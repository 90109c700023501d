/**
 * Takes one reading that is asked for: a sketch of where the tape goes, the echo, the keypad.
 * @module screens/measure
 */
import { readLength } from "../closure/length.js";
import { rule } from "../closure/pack.js";
import { expectCheck, isFar } from "../checks-expect.js";
import { alike, ask, choice } from "../form.js";
import { echo } from "../parts/echo.js";
import { listenToKeys } from "../parts/hardware.js";
import { key, keypad } from "../parts/keypad.js";
import { typed } from "../parts/typed.js";
import { el, fill } from "../ui.js";
import { sketch } from "./sketch.js";
import { REASONS } from "./walk/details.js";

/** @typedef {import("../checks-list.js").Check} Check */
/** @typedef {import("../closure/types.js").Pack} Pack */
/** @typedef {import("../screens.js").Survey} Survey */

/**
 * @typedef {object} Asked
 * @property {Survey} survey
 * @property {any} run
 * @property {Check} check
 * @property {Pack} pack
 * @property {Record<string, any> | undefined} before the reading that stands for it already
 * @property {HTMLElement} told where things are told
 * @property {(words: string) => void} tell
 */

/**
 * Reads what was typed; asks where it looks like a slip. The person always has the last word.
 * @param {string} text
 * @param {Asked} asked
 * @returns {Promise<number | null>} [mm]
 */
async function accept(text, { survey, run, check, pack, tell }) {
  const { value, said, ask: guessed } = readLength(text, rule(pack, "closure.metres"));
  if (value === null) return (tell(said), null);
  const about = expectCheck(check, survey, run.id, pack);
  const far = isFar(value, about, pack);
  const words = far ? `${value} is far from the ${Math.round(about ?? 0)} that would be about right here.` : `${said}.`;
  const sure =
    !(far || guessed) || (await ask("Is it so?", [el("p", null, words)], `Yes, ${value} mm`, { no: "Type it again" }));
  return sure ? value : null;
}

/**
 * @param {Asked} asked
 * @param {() => void} done
 */
async function unreached({ survey, run, check, tell }, done) {
  const why = choice("Why", alike(REASONS), REASONS[0]);
  if (!(await ask("This cannot be reached", [why.node], "Keep that"))) return;
  survey.add("unreached", { run: run.id, of: check.kind, ...check.fields, reason: why.value() });
  tell("Kept. Nothing is lost by it.");
  done();
}

/**
 * Saves a reading and says so only when the phone has truly stored it. Where another one stands that it does
 * not repeat, the person says whether that is wrong.
 * @param {Asked} asked
 * @param {number} value [mm]
 */
async function save({ survey, run, check, pack, before, tell }, value) {
  const { saved } = survey.add(check.kind, { run: run.id, ...check.fields, value });
  void saved.then(() => tell(`✓ ${value} saved.`));
  const old = before?.value;
  if (!before || Math.abs(value - old) <= rule(pack, "closure.least")) return;
  const words = el("p", null, "Both are in the field book. Is the old one wrong?");
  if (await ask(`${value} now, ${old} before`, [words], `Strike out ${old}`, { no: "Keep both" }))
    survey.strike(before.id, "taken again");
}

/**
 * Shows one check on the host.
 * @param {HTMLElement} host
 * @param {Asked} asked
 * @param {{next: () => void, back: () => void}} ways where to go after saving, and without
 * @returns {() => void} takes the listeners away
 */
export function measure(host, asked, { next, back }) {
  const { run, check, told } = asked;
  const figure = echo(check.words);
  const keys = typed(() => figure.show(keys.text));
  const keep = async () => {
    const value = await accept(keys.text, asked);
    if (value === null) return;
    await save(asked, value);
    // The screen may have been left while that was asked.
    if (host.isConnected) next();
  };
  const places = {
    upper: key("Erase", keys.erase),
    middle: key("Can't reach", () => void unreached(asked, next)),
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
