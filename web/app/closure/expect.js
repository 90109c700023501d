/**
 * What a reading will be about, for the scale of the drawing and for questioning a slip of ten.
 * @module closure/expect
 */
import { chain, gapWay } from "./chain.js";
import { rule } from "./pack.js";
import { mean, median, tally } from "./tally.js";

/** @typedef {import("./chain.js").Chain} Chain */
/** @typedef {import("./steps.js").Step} Step */
/** @typedef {import("./tally.js").Tally} Tally */
/** @typedef {import("./types.js").Face} Face */
/** @typedef {import("./types.js").Pack} Pack */
/** @typedef {import("./types.js").SurveyLike} SurveyLike */

/**
 * @typedef {object} Expectation
 * @property {number} value about what is to come [mm]
 * @property {number} before the part of a running reading that was read before [mm]
 * @property {"same" | "like" | "usual"} from the same bay at another line; others like it; no more
 *   than what is usual
 * @property {boolean} wall true for a bay at a wall, which may have any width
 */

/**
 * @param {Tally} tally
 * @param {Chain[]} chains
 * @returns {number[]} the gaps between joists known so far [mm]
 */
export function innerGaps(tally, chains) {
  const last = tally.run.joists - 1;
  const inner = Array.from({ length: Math.max(0, last) }, (_, at) => at + 1);
  const ways = chains.flatMap((one) => inner.map((bay) => gapWay(one, tally, bay)));
  return ways.flatMap((way) => (way ? [way.value] : []));
}

/** @param {Tally} tally @param {Pack} pack @returns {number} [mm] */
export function usualBreadth(tally, pack) {
  const read = [...tally.breadths.values()].map(mean);
  return median(read) ?? tally.run.member?.breadth ?? rule(pack, "closure.usual").breadth;
}

/** @param {Tally} tally @param {Pack} pack @returns {number} [mm] */
export function usualDepth(tally, pack) {
  const read = [...tally.depths.values()].map(mean);
  return median(read) ?? tally.run.member?.depth ?? rule(pack, "closure.usual").depth;
}

/**
 * @param {Tally} tally
 * @param {string} line
 * @param {number} bay
 * @param {Pack} pack
 * @returns {Pick<Expectation, "value" | "from">}
 */
function expectGap(tally, line, bay, pack) {
  const chains = tally.run.lines.map((name) => chain(tally, name, pack));
  const others = chains.filter((one) => one.line !== line).flatMap((one) => gapWay(one, tally, bay) ?? []);
  if (others.length) return { value: mean(others), from: "same" };
  const middle = median(innerGaps(tally, chains));
  if (middle !== null) return { value: middle, from: "like" };
  return { value: rule(pack, "closure.usual").centres - usualBreadth(tally, pack), from: "usual" };
}

/**
 * How far from the tape's zero the nearest face already read lies.
 * @param {Tally} tally
 * @param {Step} step
 * @param {Pack} pack
 * @returns {number} [mm]
 */
function readBefore(tally, step, pack) {
  const zero = /** @type {Face} */ (step.from);
  const to = /** @type {Face} */ (step.to);
  const back = to[0] <= step.bay;
  // What lies between zero and the bay asked for: its edge on the side one comes from.
  const edge = /** @type {Face} */ (
    back ? [step.bay + 1, step.bay === tally.joists ? "face" : "left"] : [step.bay, step.bay ? "right" : "face"]
  );
  const way = chain(tally, step.line, pack).between(zero, edge);
  return way ? Math.abs(way.value) : 0;
}

/**
 * A reading across several bays, from what else is known of them.
 * @param {Tally} tally
 * @param {Step} step
 * @param {Pack} pack
 * @returns {number | null} [mm] null for a single bay, or where nothing ties its ends
 */
function farSpan(tally, { from, to, line }, pack) {
  if (!from || !to || Math.abs(from[0] - to[0]) <= 1) return null;
  const way = chain(tally, line, pack).between(from, to);
  return way && Math.abs(way.value);
}

/**
 * What the step's reading will be about.
 * @param {SurveyLike} survey
 * @param {string} run the run's id
 * @param {Step} step
 * @param {Pack} pack
 * @returns {Expectation}
 */
export function expect(survey, run, step, pack) {
  const sorted = tally(survey, run);
  if (step.kind === "breadth" || step.kind === "depth") {
    const value = step.kind === "breadth" ? usualBreadth(sorted, pack) : usualDepth(sorted, pack);
    const known =
      (step.kind === "breadth" ? sorted.breadths : sorted.depths).size > 0 || sorted.run.member?.[step.kind];
    return { value, before: 0, from: known ? "like" : "usual", wall: false };
  }
  const far = step.hook ? null : farSpan(sorted, step, pack);
  if (far) return { value: far, before: 0, from: "like", wall: false };
  const gap = expectGap(sorted, step.line, step.bay, pack);
  const before = step.hook ? readBefore(sorted, step, pack) : 0;
  const wall = step.bay === 0 || step.bay === sorted.joists;
  return { value: before + gap.value, before, from: gap.from, wall };
}
