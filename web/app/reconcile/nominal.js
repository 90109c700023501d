/**
 * The spacing that the joists were set out to, if any.
 * @module reconcile/nominal
 */
import { greatest } from "./rounding.js";

/** @typedef {import("./geometry.js").Geometry} Geometry */
/** @typedef {import("./types.js").Pack} Pack */

/** A spacing [mm], its name in the pack, and its confidence against all others and none. @typedef {{centres: number, family: string, confidence: number}} Nominal */

/**
 * The most likely spacing, or null where none explains the bays. Each bay either follows it, within
 * the scatter of setting out, or is anything at all; "none" is weighed alike.
 * @param {Geometry} geometry
 * @param {Pack} pack
 * @returns {Nominal | null}
 */
export function nominal({ bays }, pack) {
  const seen = [...bays.values()].flatMap(({ centres }) => (centres ? [centres.value] : []));
  if (seen.length < 2) return null;
  /** @type {[string, number][]} */
  const spacings = Object.entries(pack["nominal.spacings"]);
  const scores = spacings.map(([, spacing]) => score(seen, spacing, pack));
  const none = -seen.length * Math.log(pack["nominal.range"]);
  const best = /** @type {number} */ (greatest([...scores.keys(), -1], (i) => scores[i] ?? none));
  if (best < 0) return null;
  const [family, centres] = spacings[best];
  const total = [...scores, none].reduce((sum, each) => sum + Math.exp(each - scores[best]), 0);
  return { centres, family, confidence: 1 / total };
}

/**
 * The log likelihood of the bays, given a spacing.
 * @param {number[]} seen [mm]
 * @param {number} spacing [mm]
 * @param {Pack} pack
 */
function score(seen, spacing, pack) {
  const scatter = pack["nominal.scatter"],
    stray = pack["nominal.stray"];
  const peak = (1 - stray) / (scatter * Math.sqrt(2 * Math.PI)),
    flat = stray / pack["nominal.range"];
  return seen.reduce((sum, c) => sum + Math.log(peak * Math.exp(-0.5 * ((c - spacing) / scatter) ** 2) + flat), 0);
}
