/**
 * Closure: which readings do not fit together, in plain words. It blocks nothing.
 * @module screens/closure
 */
import { fixedJoists } from "../closure/faces.js";
import { closure } from "../closure/notices.js";
import { loadPack } from "../closure/pack.js";
import { together } from "../judged.js";
import { Watch } from "../reconcile/watch.js";
import { entryFigure, entryWords, isReading } from "../entry-words.js";
import { at } from "../router.js";
import { el, fill, link } from "../ui.js";
import { untouched } from "../untouched.js";
import { count } from "../words.js";
import { rods } from "./rods.js";

/** @typedef {import("../screens.js").Survey} Survey */
/** @typedef {import("../closure/notices.js").Notice} Notice */

/** @param {Survey} survey @param {string} id @param {number | undefined} joists */
function reading(survey, id, joists) {
  const entry = survey.entries.find((one) => one.id === id);
  if (!entry) return null;
  const { run = "", from, to, kind, joist } = entry;
  const bay =
    kind === "breadth"
      ? joist - 1
      : kind === "across" && Math.abs(from[0] - to[0]) === 1
        ? Math.min(from[0], to[0])
        : -1;
  const href = bay < 0 ? at(survey.id, "checks", run) : at(survey.id, "walk", run, String(bay));
  const figure = el("span", { class: "figure" }, entryFigure(entry));
  return el("li", null, el("a", { href, class: "way" }, el("strong", null, entryWords(entry, joists)), figure));
}

/** @param {Survey} survey @param {Notice} notice @param {number | undefined} joists */
function item(survey, { say, readings }, joists) {
  return el(
    "li",
    { class: "notice" },
    el("p", null, say),
    el(
      "details",
      null,
      el("summary", null, `Take again: the ${count(readings.length, "reading")} behind it`),
      el("ul", { class: "plain ways" }, ...readings.map((id) => reading(survey, id, joists))),
    ),
  );
}

/**
 * The outcome in a sentence.
 * @param {Survey} survey
 * @param {string} run
 * @param {Notice[]} notices
 */
function verdict(survey, run, { length }) {
  const read = survey.entries.some((entry) => entry.run === run && isReading(entry) && survey.standing.has(entry.id));
  if (!read) return "? Nothing is read yet, so nothing can be checked.";
  if (!length) return "✓ All that can be checked agrees. More cross-checks let more be checked.";
  return `✗ ${count(length, "thing does", "things do")} not add up. Take a reading again where you can.`;
}

/**
 * @param {HTMLElement} body
 * @param {Survey} survey
 * @param {string} run
 * @param {import("../closure/types.js").Pack} pack
 * @param {import("../judged.js").AsBuilt | null} asBuilt of the survey as it stands
 */
function draw(body, survey, run, pack, asBuilt) {
  const notices = together(closure(survey, run, pack), asBuilt, run);
  const joists = fixedJoists(survey, run);
  const lines = survey.head.runs.find((one) => one.id === run)?.lines ?? [];
  fill(
    body,
    el("p", { class: "verdict", role: "status" }, verdict(survey, run, notices)),
    ...rods(survey, run, lines, notices, pack),
    notices.length > 0 && el("ol", { class: "plain" }, ...notices.map((one) => item(survey, one, joists))),
  );
}

/**
 * Shows the notices of a run, and again as readings come.
 * @type {import("../screens.js").Mount}
 */
export async function mount(host, { survey, run }) {
  const pack = await loadPack();
  const body = el("div");
  const again = untouched(() => draw(body, survey, run, pack, null));
  again();
  const rules = /** @type {import("../reconcile/types.js").Rules} */ (pack);
  const watch = new Watch(survey, rules, (asBuilt) => draw(body, survey, run, pack, asBuilt));
  const stop = () => {
    watch.close();
    survey.removeEventListener("change", again);
  };
  const ways = el(
    "p",
    { class: "row" },
    link("Walk", at(survey.id, "walk", run), { class: "button" }),
    link("Cross-checks", at(survey.id, "checks", run), { class: "button" }),
    link("Field book", at(survey.id, "book"), { class: "button" }),
  );
  fill(host, el("h1", null, `Closure, run ${run}`), body, ways);
  survey.addEventListener("change", again);
  return { title: `Closure, run ${run}`, unmount: stop };
}
