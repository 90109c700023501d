/**
 * Observation equations: what every reading says of the unknowns, ready for the adjustment.
 * @module reconcile/equations
 */

/** @typedef {import("./types.js").Terms} Terms */

/** The place of an unknown that belongs nowhere on the line from wall to wall. */
export const BORDER = -1;

/**
 * From the unknowns to a computed length [mm], its slopes, and how each unknown turns it, in the order of the
 * row's terms: the products of these, times the residual, are what the length bends by [1/mm].
 * @typedef {(values: Float64Array) => [number, number[], number[]]} Curve
 */

/** The equations of one network, grown row by row. */
export class Equations {
  /** First guess of each unknown [mm, or mm per m]. @type {number[]} */
  start = [];
  /** Place of each unknown along the line, or BORDER. @type {number[]} */
  places = [];
  /** The terms of each row. @type {Terms[]} */
  terms = [];
  /** The length read, a row [mm]. @type {number[]} */
  read = [];
  /** Its standard deviation before adjustment [mm]. @type {number[]} */
  sigmas = [];
  /** The rows that are not linear. @type {Map<number, Curve>} */
  curves = new Map();

  /**
   * Adds an unknown.
   * @param {number} start [mm]
   * @param {number} [place]
   * @returns {number} its number
   */
  unknown(start, place = BORDER) {
    this.places.push(place);
    return this.start.push(start) - 1;
  }

  /**
   * Adds a linear row.
   * @param {Terms} terms
   * @param {number} read [mm]
   * @param {number} sigma [mm]
   * @returns {number} its number
   */
  row(terms, read, sigma) {
    this.terms.push(terms);
    this.sigmas.push(sigma);
    return this.read.push(read) - 1;
  }

  /**
   * Adds a row that a curve computes.
   * @param {number[]} columns
   * @param {Curve} curve
   * @param {number} read [mm]
   * @param {number} sigma [mm]
   * @returns {number} its number
   */
  curve(columns, curve, read, sigma) {
    const number = this.row(
      columns.map((c) => [c, 0]),
      read,
      sigma,
    );
    this.curves.set(number, curve);
    return number;
  }
}
