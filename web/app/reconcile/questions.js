/**
 * Quantities asked of a fit, each with its standard deviation, all answered at once.
 * @module reconcile/questions
 */
import { UNDETERMINED } from "./normal.js";
import { round } from "./rounding.js";
import { rowsOf } from "./sparse.js";

/** @typedef {import("./fit.js").Fit} Fit */
/** @typedef {import("./types.js").Terms} Terms */

/** A derived quantity and its standard deviation; the tape's scale is in it. @typedef {{value: number, sd: number}} Figure */

/**
 * A figure for a file, to a micrometre.
 * @param {Figure} figure
 * @param {string} [name] of the value
 * @returns {Record<string, number>}
 */
export const json = ({ value, sd }, name = "value") => ({ [name]: round(value, 3), sd: round(sd, 3) });

/** Collects linear functions of the unknowns and answers them in one pass. */
export class Questions {
  /** @type {Terms[]} */
  #terms = [];
  /** @type {number[]} */
  #values = [];
  /** @type {Float64Array | null} */
  #sds = null;

  /** @param {Fit} fit */
  constructor(fit) {
    this.fit = fit;
  }

  /**
   * Asks for a function.
   * @param {Terms} terms
   * @param {number} [value] where it is not linear; the terms are then its slopes
   * @returns {number} its number
   */
  ask(terms, value) {
    this.#terms.push(terms);
    return this.#values.push(value ?? terms.reduce((sum, [u, k]) => sum + k * this.fit.values[u], 0)) - 1;
  }

  /**
   * A figure, or null where the readings do not determine it.
   * @param {number | null} number
   * @param {number} [useful] the standard deviation beyond which it counts as not determined
   * @returns {Figure | null}
   */
  answer(number, useful = UNDETERMINED) {
    if (number === null) return null;
    const sds = (this.#sds ??= this.fit.spread(rowsOf(this.#terms))),
      sd = sds[number];
    return sd <= useful ? { value: this.#values[number], sd } : null;
  }
}
