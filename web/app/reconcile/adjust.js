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

/** @typedef {(design: Rows, weights?: Float64Array) => Normal} Solver */

const STEPS = 40,
  CONVERGED = 1e-6,
  REFACTOR = 0.2,
  LONGEST_STEP = 500,
  /** A mean square from which on a fit that was begun at another's values is begun afresh too. */
  DRAWN = 4;

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

  /**
   * The standard deviation [mm] of each linear function of the unknowns.
   * @param {Rows} rows
   * @returns {Float64Array}
   */
  spread(rows) {
    return this.normal.spread(rows).map(Math.sqrt);
  }

  /**
   * One row's redundancy, without those of all the others.
   * @param {number} row
   * @returns {number}
   */
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
    /** @param {Float64Array} values */
    const from = (values) => {
      const { values: rest, normal, converged } = this.#iterate(values, weights, solver);
      const [design, computed] = this.#linearise(rest);
      const solve = () => (equations.curves.size ? solver(design) : normal);
      return new Fit(equations, rest, used, design, computed, solve, converged);
    };
    const found = start && from(start);
    if (found?.converged && found.chi2 <= DRAWN * used.reduce((sum, one) => sum + one, 0)) return found;
    // An earlier fit may have come to rest where a slip, now set aside, had drawn it: a tape line
    // turned about, say, which no small step undoes.
    const fresh = from(this.#firstValues(weights, solver));
    return found?.converged && found.chi2 <= fresh.chi2 ? found : fresh;
  }

  /**
   * What solves a design; the share of the straight rows is worked out once.
   * @param {Float64Array} weights
   * @returns {Solver}
   */
  #solver(weights) {
    /** @type {Normal | null} */
    let any = null;
    return (design, own = weights) => (any = new Normal(design, own, this.layout, any));
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
    const step = solver(design, linear).solve(across(design, right, values.length));
    step.forEach((value, u) => (values[u] += value));
    this.settle(values);
    return values;
  }

  /**
   * Steps until nothing moves; factors anew only after a step long enough to matter.
   * @param {Float64Array} values
   * @param {Float64Array} weights
   * @param {Solver} solver
   * @returns {{values: Float64Array, normal: Normal, converged: boolean}}
   */
  #iterate(values, weights, solver) {
    const { curves, read, places } = this.equations;
    let [design, computed] = this.#linearise(values);
    let normal = solver(design);
    let longest = 0,
      damping = 1,
      cost = Infinity;
    for (let step = 0; step < STEPS; step++) {
      if (step) [design, computed] = this.#linearise(values);
      const misfit = computed.map((length, i) => read[i] - length);
      const now = misfit.reduce((sum, v, i) => sum + weights[i] * v * v, 0);
      // A step that made things worse is halved, which curved rows with a slip can need.
      damping = now > cost * 1.0001 + 1e-6 ? damping / 2 : Math.min(1, damping * 2);
      cost = now;
      if (longest > REFACTOR && curves.size) normal = solver(design);
      const move = normal.solve(
        across(
          design,
          misfit.map((v, i) => v * weights[i]),
          values.length,
        ),
      );
      longest = largest(move);
      // Only the plane's own unknowns enter curves strongly enough to overshoot.
      const swing = curves.size ? largest(move, (u) => places[u] === BORDER) : 0;
      const scale = damping * (swing > LONGEST_STEP ? LONGEST_STEP / swing : 1);
      values = values.map((value, u) => value + scale * move[u]);
      if (longest < CONVERGED * Math.max(1, largest(values) * 1e-3)) return { values, normal, converged: true };
    }
    return { values, normal, converged: false };
  }
}
