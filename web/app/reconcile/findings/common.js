/**
 * What every finding is, and what it may look at.
 * @module reconcile/findings/common
 */
import { round, steady } from "../rounding.js";

/** @typedef {import("../geometry.js").Geometry} Geometry */
/** @typedef {import("../nominal.js").Nominal} Nominal */
/** @typedef {import("../questions.js").Figure} Figure */
/** @typedef {import("../solve.js").Solved} Solved */
/** @typedef {import("../verdicts.js").Suspect} Suspect */

/**
 * A finding as it stands in a file: its code; whether it is to know, to look at or to settle before
 * planning; where; the value found with its standard deviation, what it was held against and by which
 * rule; the whole of it in plain words.
 * @typedef {object} Finding
 * @property {string} code
 * @property {"note" | "look" | "settle"} severity
 * @property {Record<string, any>} where
 * @property {number | null} value
 * @property {number | null} sd
 * @property {number | null} limit
 * @property {string | null} rule
 * @property {string} say
 */

/**
 * One solved run, what was derived from it, and its features.
 * @typedef {{solved: Solved, geometry: Geometry, nominal: Nominal | null, suspects: Suspect[],
 *   features: Record<string, any>[]}} View
 */

/**
 * Makes a finding.
 * @param {string} code
 * @param {Finding["severity"]} severity
 * @param {string} say
 * @param {Record<string, any>} where
 * @param {{figure?: Figure, limit?: number, rule?: string}} [more]
 * @returns {Finding}
 */
export function finding(code, severity, say, where, { figure, limit, rule } = {}) {
  const [value, sd] = figure ? [round(figure.value, 3), round(figure.sd, 3)] : [null, null];
  return { code, severity, where, value, sd, limit: limit ?? null, rule: rule ?? null, say };
}

/**
 * Whether a figure is beyond a limit, and by more than its own uncertainty.
 * @param {View} view
 * @param {Figure} figure
 * @param {number} limit
 * @returns {boolean}
 */
export function significant({ solved }, { value, sd }, limit) {
  const size = Math.abs(value);
  return steady(size - limit) > 0 && size > solved.pack["finding.significance"] * sd;
}

/**
 * The numbers from one to another.
 * @param {number} from
 * @param {number} to
 * @returns {number[]}
 */
export const range = (from, to) => Array.from({ length: Math.max(0, to - from + 1) }, (_, i) => from + i);
