/**
 * Questions a reading that looks ten times too large or too small. It is asked about, never refused.
 * @module closure/question
 */
import { rule } from "./pack.js";

/** @typedef {import("./expect.js").Expectation} Expectation */
/** @typedef {import("./types.js").Pack} Pack */

/**
 * @typedef {object} Question
 * @property {string} say what was seen
 * @property {number | null} perhaps what was perhaps meant [mm]
 */

/**
 * @param {number} part the new part of the reading [mm]
 * @param {number} usual what that part is expected to be [mm]
 * @param {Expectation} context
 * @param {number} limit a ratio
 */
function isOdd(part, usual, { wall, from }, limit) {
  if (part <= 0) return true;
  const ratio = part / usual;
  // Only the same bay at another line says that a bay at a wall cannot be this narrow.
  const narrow = ratio < 1 / limit && !(wall && from !== "same");
  return narrow || ratio > limit;
}

/**
 * @param {number} value [mm]
 * @param {Expectation} context
 * @param {number} limit a ratio
 * @returns {number | null} ten times or a tenth of it, where that fits [mm]
 */
function shifted(value, context, limit) {
  const usual = context.value - context.before;
  const fits = [value / 10, value * 10].find(
    (one) => !isOdd(one - context.before, usual, { ...context, from: "same" }, limit),
  );
  return fits === undefined ? null : Math.round(fits);
}

/**
 * Asks about a reading that is far from what it should be about.
 * @param {number} value [mm]
 * @param {Expectation} context
 * @param {Pack} pack
 * @returns {Question | null} null where nothing looks odd
 */
export function questionable(value, context, pack) {
  const limit = rule(pack, "closure.tenfold");
  const usual = context.value - context.before;
  if (!isOdd(value - context.before, usual, context, limit)) return null;
  const about = Math.round(context.value);
  const say =
    context.before > 0 && value <= context.before
      ? `${value} is no further than the last face, which is at ${Math.round(context.before)}.`
      : `${value} is far from the ${about} that would be about right here.`;
  return { say, perhaps: shifted(value, context, limit) };
}
