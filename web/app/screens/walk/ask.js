/**
 * Puts the dimension now asked for into words, and into the data its drawing needs.
 * @module screens/walk/ask
 */
import { expect, usualBreadth, usualDepth } from "../../closure/expect.js";
import { faceName } from "../../closure/faces.js";
import { goesBack } from "../../closure/steps.js";
import { breadthOf, chain, gapWay } from "../../closure/chain.js";
import { tally } from "../../closure/tally.js";
import { joistName } from "../../words.js";

/** @typedef {import("../../closure/steps.js").Step} Step */
/** @typedef {import("../../closure/tally.js").Tally} Tally */
/** @typedef {import("../../closure/types.js").Pack} Pack */
/** @typedef {import("../../closure/types.js").SurveyLike} SurveyLike */
/** @typedef {import("../../parts/bay-drawing.js").Asked} Asked */
/** @typedef {import("../../parts/bay-drawing.js").Side} Side */

/** @param {import("../../closure/types.js").Face} face @param {number | undefined} joists */
const shortFace = (face, joists) => faceName(face, joists).replace(" face", "");

/**
 * What a step asks, in words.
 * @param {Step} step
 * @param {number | undefined} joists the number of joists, where it is fixed
 * @returns {{where: string, what: string}}
 */
export function askWords(step, joists) {
  if (step.kind !== "across" || !step.from || !step.to) {
    return {
      where: joistName(step.joist ?? 0, joists),
      what: step.kind === "depth" ? "depth, how tall it stands" : "breadth, its thin side",
    };
  }
  const faces = `${shortFace(step.from, joists)} to ${shortFace(step.to, joists)}`;
  if (step.hook || Math.abs(step.from[0] - step.to[0]) !== 1) return { where: faces, what: `${step.line} line` };
  return {
    where: `${joistName(step.from[0], joists)} to ${joistName(step.to[0], joists)}`,
    what: `clear gap, ${step.line} line`,
  };
}

/**
 * @param {number} joist
 * @param {Tally} sorted
 * @param {Pack} pack
 * @returns {Side}
 */
function side(joist, sorted, pack) {
  const wall = joist === 0 || (sorted.joists !== undefined && joist > sorted.joists);
  const breadth = breadthOf(joist, sorted, pack)?.value ?? usualBreadth(sorted, pack);
  return { name: joistName(joist, sorted.joists), wall, breadth };
}

/**
 * @param {Step} step
 * @returns {Asked["what"]}
 */
function kindOf(step) {
  if (step.kind !== "across") return step.kind;
  return step.hook ? "running" : "gap";
}

/**
 * @param {Step} step
 * @returns {[number, number]} the joists on either side of what is drawn
 */
function endsOf({ kind, bay, joist, from, to, hook }) {
  if (kind !== "across") return [joist ?? 0, joist ?? 0];
  if (hook || !from || !to) return [bay, bay + 1];
  return [Math.min(from[0], to[0]), Math.max(from[0], to[0])];
}

/**
 * The drawing of a step, as data.
 * @param {SurveyLike} survey
 * @param {string} run the run's id
 * @param {Step} step
 * @param {Pack} pack
 * @returns {Asked}
 */
export function askedOf(survey, run, step, pack) {
  const sorted = tally(survey, run);
  const about = expect(survey, run, step, pack);
  const [first, last] = endsOf(step);
  const known =
    step.kind !== "across" || sorted.run.lines.some((line) => gapWay(chain(sorted, line, pack), sorted, step.bay));
  return {
    what: kindOf(step),
    left: side(first, sorted, pack),
    right: side(last, sorted, pack),
    gap: about.value - about.before,
    depth: step.kind === "depth" ? about.value : usualDepth(sorted, pack),
    back: goesBack(sorted.run.lines, step.line),
    before: about.before,
    known: Boolean(known),
  };
}

/**
 * The drawing of a question about a feature: the joist, for how deep a thing is or how long.
 * @param {SurveyLike} survey
 * @param {string} run the run's id
 * @param {number} joist
 * @param {"depth" | "length"} what
 * @param {Pack} pack
 * @returns {Asked}
 */
export function noteDrawing(survey, run, joist, what, pack) {
  const sorted = tally(survey, run);
  const one = side(joist, sorted, pack);
  const depth = usualDepth(sorted, pack);
  return { what, left: one, right: one, gap: 0, depth, back: false, before: 0, known: true };
}
