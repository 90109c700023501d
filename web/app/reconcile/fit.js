/**
 * One adjustment, and the statistics of each row. Residuals are computed minus read.
 * @module reconcile/fit
 */
import { UNDETERMINED } from "./normal.js";
import { tail } from "./special.js";

/** @typedef {import("./equations.js").Equations} Equations */
/** @typedef {import("./normal.js").More} More */
/** @typedef {import("./normal.js").Normal} Normal */
/** @typedef {import("./sparse.js").Rows} Rows */

/** One adjustment. */
export class Fit {
  /** @type {{redundancy: Float64Array, w: Float64Array, dof: number} | null} */
  #statistics = null;
  /** @type {Normal | null} */
  #normal = null;
  #solve;
  #held;

  /**
   * @param {Equations} equations
   * @param {Float64Array} values the adjusted unknowns [mm, or mm per m]
   * @param {Uint8Array} used per row, 0 where it was set aside
   * @param {Rows} design
   * @param {Float64Array} computed per row, the length that the values give [mm]
   * @param {(more?: More) => Normal} solve gives the normal matrix at these values
   * @param {More} held what holds the plane in the figures
   * @param {boolean} converged false where the curved part did not come to rest
   */
  constructor(equations, values, used, design, computed, solve, held, converged) {
    this.equations = equations;
    this.values = values;
    this.used = used;
    this.design = design;
    this.computed = computed;
    this.#solve = solve;
    this.#held = held;
    this.converged = converged;
    /** Per row, computed minus read [mm]. */
    this.residuals = computed.map((length, i) => length - equations.read[i]);
    /** The weighted sum of squared residuals of the rows used. */
    this.chi2 = this.residuals.reduce((sum, v, i) => (used[i] ? sum + (v / equations.sigmas[i]) ** 2 : sum), 0);
  }

  /** The normal matrix at the adjusted values. @returns {Normal} */
  get normal() {
    return (this.#normal ??= this.#solve(this.#held));
  }

  get #all() {
    return (this.#statistics ??= this.#test());
  }

  /** Per row, the share of a slip that its residual would show, 0 to 1. @returns {Float64Array} */
  get redundancy() {
    return this.#all.redundancy;
  }

  /** Per row, the residual over its own standard deviation; 0 where nothing checks it. @returns {Float64Array} */
  get w() {
    return this.#all.w;
  }

  /** Degrees of freedom. @returns {number} */
  get dof() {
    return this.#all.dof;
  }

  /** The factor by which readings scatter against what was expected. @returns {number | null} */
  get sigma0() {
    return this.dof ? Math.sqrt(this.chi2 / this.dof) : null;
  }

  /** The chance of a sum of squares this large from sound readings. @returns {number | null} */
  get chi2P() {
    return this.dof ? tail(this.dof, this.chi2) : null;
  }

  /** The standard deviation [mm] of each linear function of the unknowns. @param {Rows} rows */
  spread(rows) {
    return this.normal.spread(rows).map(Math.sqrt);
  }

  /** @param {number} row @param {number} reach the variance of its computed length [mm²] */
  #share(row, reach) {
    if (reach > UNDETERMINED ** 2) return 0;
    const variance = this.equations.sigmas[row] ** 2;
    return this.used[row] ? Math.min(1, Math.max(0, 1 - reach / variance)) : variance / (variance + reach);
  }

  #test() {
    const { used } = this,
      { sigmas } = this.equations;
    // A hold is no knowledge, and tells nothing of a row set aside.
    const all = this.normal.spread(this.design),
      free = this.#held.length ? this.#solve().spread(this.design) : all;
    const redundancy = all.map((reach, row) => this.#share(row, used[row] ? reach : free[row]));
    const w = this.residuals.map((v, i) => {
      const r = redundancy[i];
      return r > 1e-9 ? v / (sigmas[i] * (used[i] ? Math.sqrt(r) : 1 / Math.sqrt(r))) : 0;
    });
    return { redundancy, w, dof: Math.round(redundancy.reduce((sum, r, i) => sum + used[i] * r, 0)) };
  }
}
