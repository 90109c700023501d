/**
 * Weighted least squares over observation equations, and the statistics of each row.
 * Residuals are computed minus read.
 * @module reconcile/adjust
 */
import { BORDER } from "./equations.js";
import { layOut, Normal, UNDETERMINED } from "./normal.js";
import { across, rowsOf, times } from "./sparse.js";
import { tail } from "./special.js";

/** @typedef {import("./equations.js").Equations} Equations */
/** @typedef {import("./sparse.js").Rows} Rows */

/** @typedef {(design: Rows, hold?: number, weights?: Float64Array) => Normal} Solver */
/** @typedef {{values: Float64Array, hold: number, converged: boolean, normal?: Normal}} Rest where steps ended */

const STEPS = 40,
  CONVERGED = 1e-6,
  REFACTOR = 0.2,
  LONGEST_STEP = 500,
  /** A mean square from which on a fit is not trusted to be the best there is. */
  DRAWN = 4,
  /** The weight [1/mm²] that holds the plane after a step too far: what nothing else determines stays so. */
  HELD = 1e-4,
  /** The drop of a sum of squares below which a plane that is held lies level. */
  LEVEL = 1e-7;

/** @param {Float64Array} figures @param {(u: number) => boolean} [which] */
const largest = (figures, which) =>
  figures.reduce((most, value, u) => (!which || which(u) ? Math.max(most, Math.abs(value)) : most), 0);

/** One adjustment. */
export class Fit {
  /** @type {{redundancy: Float64Array, w: Float64Array, dof: number} | null} */
  #statistics = null;
  /** @type {Normal | null} */
  #normal = null;
  #solve;

  /**
   * @param {Equations} equations
   * @param {Float64Array} values the adjusted unknowns [mm, or mm per m]
   * @param {Uint8Array} used per row, 0 where it was set aside
   * @param {Rows} design
   * @param {Float64Array} computed per row, the length that the values give [mm]
   * @param {() => Normal} solve gives the normal matrix at these values
   * @param {boolean} converged false where the curved part did not come to rest
   */
  constructor(equations, values, used, design, computed, solve, converged) {
    this.equations = equations;
    this.values = values;
    this.used = used;
    this.design = design;
    this.computed = computed;
    this.#solve = solve;
    this.converged = converged;
    /** Per row, computed minus read [mm]. */
    this.residuals = computed.map((length, i) => length - equations.read[i]);
    /** The weighted sum of squared residuals of the rows used. */
    this.chi2 = this.residuals.reduce((sum, v, i) => (used[i] ? sum + (v / equations.sigmas[i]) ** 2 : sum), 0);
  }

  /** The normal matrix at the adjusted values. @returns {Normal} */
  get normal() {
    return (this.#normal ??= this.#solve());
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

  /** One row's redundancy, without those of all the others. @param {number} row */
  redundancyOf(row) {
    const { starts, columns, values } = this.design;
    const [from, to] = [starts[row], starts[row + 1]];
    const one = {
      starts: Int32Array.of(0, to - from),
      columns: columns.subarray(from, to),
      values: values.subarray(from, to),
    };
    return this.#share(row, this.normal.spread(one)[0]);
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
    const redundancy = this.normal.spread(this.design).map((reach, row) => this.#share(row, reach));
    const w = this.residuals.map((v, i) => {
      const r = redundancy[i];
      return r > 1e-9 ? v / (sigmas[i] * (used[i] ? Math.sqrt(r) : 1 / Math.sqrt(r))) : 0;
    });
    return { redundancy, w, dof: Math.round(redundancy.reduce((sum, r, i) => sum + used[i] * r, 0)) };
  }
}

/** Adjusts one set of equations, as often as wanted with other rows set aside. */
export class Adjuster {
  /**
   * @param {Equations} equations
   * @param {(values: Float64Array) => void} settle improves the first guess of the curved part, in place
   */
  constructor(equations, settle) {
    this.equations = equations;
    this.settle = settle;
    this.layout = layOut(equations);
    this.rows = rowsOf(equations.terms);
    const { starts, columns } = this.rows;
    const curved = [...equations.curves.keys()].flatMap((row) => [...columns.subarray(starts[row], starts[row + 1])]);
    /** The plane's own unknowns, which may be held. */
    this.plane = new Set(curved.filter((u) => equations.places[u] === BORDER));
    this.weights = Float64Array.from(equations.sigmas, (s) => s ** -2);
  }

  /**
   * Adjusts with some rows left out; they are still compared with the result.
   * @param {Iterable<number>} [aside]
   * @param {Float64Array} [start] first values, as an earlier fit found them
   * @returns {Fit}
   */
  fit(aside = [], start) {
    const { equations } = this;
    const used = new Uint8Array(this.weights.length).fill(1);
    for (const row of aside) used[row] = 0;
    const weights = this.weights.map((weight, i) => weight * used[i]);
    const solver = this.#solver(weights);
    /** @param {Rest} rest */
    const rested = ({ values, hold, converged, normal }) => {
      const [design, computed] = this.#linearise(values);
      const solve = () => (normal && !equations.curves.size ? normal : solver(design, hold));
      return new Fit(equations, values, used, design, computed, solve, converged);
    };
    const sound = DRAWN * used.filter(Boolean).length;
    const found = start && rested(this.#iterate(start, weights, solver));
    if (found?.converged && found.chi2 <= sound) return found;
    // An earlier fit may have come to rest where a slip, now set aside, had drawn it: a tape line
    // turned about, say, which no small step undoes.
    const first = this.#firstValues(weights, solver);
    const fresh = rested(this.#iterate(first, weights, solver));
    if (found?.converged && found.chi2 <= fresh.chi2) return found;
    if (fresh.converged) return fresh;
    // Lengths along a joist over three lines leave a level valley, in which no step stays.
    const held = rested(this.#hold(first, weights, solver));
    return held.chi2 <= sound ? held : fresh;
  }

  /**
   * What solves a design; the share of the straight rows is worked out once.
   * @param {Float64Array} weights
   * @returns {Solver}
   */
  #solver(weights) {
    /** @type {Normal | null} */
    let any = null;
    return (design, hold = 0, own = weights) => (any = new Normal(design, own, this.layout, any, hold, this.plane));
  }

  /**
   * @param {Float64Array} values
   * @returns {[Rows, Float64Array]} the design at these values, the computed length of every row [mm]
   */
  #linearise(values) {
    const { curves } = this.equations;
    if (!curves.size) return [this.rows, times(this.rows, values)];
    const design = { ...this.rows, values: this.rows.values.slice() };
    const computed = times(design, values);
    for (const [row, curve] of curves) {
      const [length, slopes] = curve(values);
      design.values.set(slopes, design.starts[row]);
      computed[row] = length;
    }
    return [design, computed];
  }

  /**
   * Solves the linear rows alone, then lets the network place its curved part.
   * @param {Float64Array} weights
   * @param {Solver} solver
   */
  #firstValues(weights, solver) {
    const { curves, read } = this.equations;
    const values = Float64Array.from(this.equations.start);
    if (!curves.size) return values;
    const linear = weights.map((weight, i) => (curves.has(i) ? 0 : weight));
    const [design, computed] = this.#linearise(values);
    const right = linear.map((weight, i) => weight * (read[i] - computed[i]));
    const step = solver(design, 0, linear).solve(across(design, right, values.length));
    step.forEach((value, u) => (values[u] += value));
    this.settle(values);
    return values;
  }

  /**
   * Steps until nothing moves; factors anew only after a step long enough to matter.
   * @param {Float64Array} values
   * @param {Float64Array} weights
   * @param {Solver} solver
   * @returns {Rest}
   */
  #iterate(values, weights, solver) {
    const { curves } = this.equations;
    let [design, computed] = this.#linearise(values);
    let normal = solver(design);
    let longest = 0,
      damping = 1,
      cost = Infinity;
    for (let step = 0; step < STEPS; step++) {
      if (step) [design, computed] = this.#linearise(values);
      const now = this.#cost(computed, weights);
      // A step that made things worse is halved, which curved rows with a slip can need.
      damping = now > cost * 1.0001 + 1e-6 ? damping / 2 : Math.min(1, damping * 2);
      cost = now;
      if (longest > REFACTOR && curves.size) normal = solver(design);
      const move = this.#move(normal, design, computed, weights);
      longest = largest(move);
      values = values.map((value, u) => value + damping * move[u]);
      if (longest < CONVERGED * Math.max(1, largest(values) * 1e-3))
        return { values, hold: 0, normal, converged: true };
    }
    return { values, hold: 0, normal, converged: false };
  }

  /**
   * Steps as long as it helps, the plane held the tighter the more often it does not.
   * @param {Float64Array} best
   * @param {Float64Array} weights
   * @param {Solver} solver
   * @returns {Rest}
   */
  #hold(best, weights, solver) {
    let values = best,
      cost = Infinity,
      hold = 0;
    for (let step = 0; step < STEPS; step++) {
      const now = this.#cost(this.#linearise(values)[1], weights);
      if (now > cost) hold = Math.max(hold * 10, HELD);
      else {
        const level = hold && cost - now < LEVEL;
        best = values;
        cost = now;
        if (level) return { values, hold: HELD, converged: true };
      }
      const [design, computed] = this.#linearise(best);
      const move = this.#move(solver(design, hold), design, computed, weights);
      values = best.map((value, u) => value + move[u]);
    }
    return { values: best, hold: HELD, converged: false };
  }

  /** @param {Float64Array} computed @param {Float64Array} weights @returns {number} the weighted sum of squares */
  #cost(computed, weights) {
    return computed.reduce((sum, length, i) => sum + weights[i] * (this.equations.read[i] - length) ** 2, 0);
  }

  /** The next step. @param {Normal} normal @param {Rows} design @param {Float64Array} computed @param {Float64Array} weights */
  #move(normal, design, computed, weights) {
    const { curves, places, read, start } = this.equations;
    const right = computed.map((length, i) => (read[i] - length) * weights[i]);
    const move = normal.solve(across(design, right, start.length));
    // Only the plane's own unknowns enter curves strongly enough to overshoot.
    const swing = curves.size ? largest(move, (u) => places[u] === BORDER) : 0;
    return swing > LONGEST_STEP ? move.map((value) => (value * LONGEST_STEP) / swing) : move;
  }
}
