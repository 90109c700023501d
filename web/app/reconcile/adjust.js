/**
 * Weighted least squares over observation equations, and the statistics of each row.
 * Residuals are computed minus read.
 * @module reconcile/adjust
 */
import { BORDER } from "./equations.js";
import { Fit } from "./fit.js";
import { layOut, Normal, UNDETERMINED } from "./normal.js";
import { across, rowsOf, times } from "./sparse.js";

/** @typedef {import("./equations.js").Equations} Equations */
/** @typedef {import("./sparse.js").Rows} Rows */
/** @typedef {import("./types.js").Terms} Terms */

/** @typedef {import("./normal.js").More} More */
/** @typedef {(design: Rows, more?: More, weights?: Float64Array) => Normal} Solver */
/** @typedef {[Terms, number, number][]} Bends More, each with the most that a variance sideways may count */
/** @typedef {{values: Float64Array, cost: number, held: More, converged: boolean, normal?: Normal}} Rest where steps ended */

const STEPS = 100,
  CONVERGED = 1e-6,
  BOLD = 40,
  REFACTOR = 1e-3,
  LONGEST_STEP = 500,
  /** A mean square from which on a fit is not trusted to be the best there is. */
  DRAWN = 4,
  /** The weight [1/mm²] that holds the plane in the figures of a level valley: what nothing else determines stays so. */
  HELD = 1e-4;

/** @param {Float64Array} figures @param {(u: number) => boolean} [which] */
const largest = (figures, which) =>
  figures.reduce((most, value, u) => (!which || which(u) ? Math.max(most, Math.abs(value)) : most), 0);

/** Whether a sum of squares is above another, not for rounding alone. @param {number} a @param {number} b */
const more = (a, b) => a > b * (1 + 1e-9) + 1e-9;

/** The length of a step that moves nothing [mm]. @param {Float64Array} values */
const near = (values) => CONVERGED * Math.max(1, largest(values) * 1e-3);

/** Adjusts one set of equations, as often as wanted with other rows set aside. */
export class Adjuster {
  /** What was solved last, and which straight rows were aside. @type {Normal | null} */
  #any = null;
  #key = "";

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
    this.plane = [...new Set(curved)].filter((u) => equations.places[u] === BORDER);
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
    const { values, held, converged, normal } = this.#atRest(weights, solver, start);
    const [design, computed] = this.#linearise(values);
    const solve = (/** @type {More | undefined} */ held) => normal ?? solver(design, held);
    return new Fit(equations, values, used, design, computed, solve, held, converged);
  }

  /**
   * The unknowns that fit best.
   * @param {Float64Array} weights
   * @param {Solver} solver
   * @param {Float64Array} [start]
   * @returns {Rest}
   */
  #atRest(weights, solver, start) {
    const sound = DRAWN * weights.filter(Boolean).length;
    const found = start && this.#downhill(start, weights, solver, sound);
    if (found && found.cost <= sound) return found;
    // An earlier fit may have come to rest where a slip, now set aside, had drawn it, which no small step undoes.
    const first = this.#firstValues(weights, solver);
    let fresh = this.#downhill(first, weights, solver, sound);
    if (fresh.cost > sound && this.equations.curves.size) {
      // A line that diagonals alone tie starts anywhere, and downhill may end beside the mark.
      const wide = this.#downhill(this.#bold(first, weights, solver), weights, solver, sound);
      if (wide.cost <= sound) fresh = wide;
    }
    return found?.converged && more(fresh.cost, found.cost) ? found : fresh;
  }

  /**
   * What solves a design; the share of the straight rows is worked out once, for as long as the same are in use.
   * @param {Float64Array} weights
   * @returns {Solver}
   */
  #solver(weights) {
    const { curves } = this.equations,
      key = [...weights.keys()].filter((row) => !weights[row] && !curves.has(row)).join();
    if (key !== this.#key) this.#any = null;
    this.#key = key;
    let any = this.#any;
    return (design, more = [], own = weights) => {
      any = new Normal(design, own, this.layout, any, more);
      if (key === this.#key) this.#any = any;
      return any;
    };
  }

  /**
   * @param {Float64Array} values
   * @param {Float64Array} [weights]
   * @returns {[Rows, Float64Array, Bends]} the design at these values, the computed length of every row [mm], and
   *   how each curved row bends, with the weight of that
   */
  #linearise(values, weights = this.weights) {
    const { curves, read, terms } = this.equations;
    if (!curves.size) return [this.rows, times(this.rows, values), []];
    const design = { ...this.rows, values: this.rows.values.slice() };
    const computed = times(design, values);
    /** @type {Bends} */
    const bends = [...curves].map(([row, curve]) => {
      const [length, slopes, bend] = curve(values);
      design.values.set(slopes, design.starts[row]);
      computed[row] = length;
      return [
        terms[row].map(([u], i) => [u, bend[i]]),
        weights[row] * Math.abs(length - read[row]),
        UNDETERMINED ** 2 / Math.max(length, 1),
      ];
    });
    return [design, computed, bends];
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
    const step = solver(design, [], linear).solve(across(design, right, values.length));
    step.forEach((value, u) => (values[u] += value));
    this.settle(values);
    return values;
  }

  /**
   * Steps downhill alone, each length bending as it does, until nothing moves. It comes to rest in a level valley
   * as well, such as lengths along a joist over three lines make, and where a figure cannot close.
   * @param {Float64Array} values
   * @param {Float64Array} weights
   * @param {Solver} solver
   * @param {number} sound
   * @returns {Rest}
   */
  #downhill(values, weights, solver, sound) {
    const { curves } = this.equations;
    /** @type {Normal | undefined} */
    let normal;
    let trial = values,
      move = values,
      cost = Infinity,
      share = 1;
    for (let step = 0; step < STEPS; step++) {
      const [design, computed, bends] = this.#linearise(trial, weights);
      const now = this.#cost(computed, weights);
      if (more(now, cost)) share /= 2;
      else {
        [values, cost, share] = [trial, now, 1];
        // It is factored anew only after a step long enough to matter.
        if (!normal || (curves.size && largest(move) > REFACTOR)) normal = solver(design, bends);
        move = this.#move(normal, design, computed, weights);
      }
      trial = values.map((value, u) => value + share * move[u]);
      if (share * largest(move) < near(values)) break;
    }
    return this.#judged(trial, cost, weights, solver, cost <= sound);
  }

  /**
   * Steps with no regard to bending or to what is lost on the way, which may lead far.
   * @param {Float64Array} values
   * @param {Float64Array} weights
   * @param {Solver} solver
   * @returns {Float64Array}
   */
  #bold(values, weights, solver) {
    let damping = 1,
      cost = Infinity;
    for (let step = 0; step < BOLD; step++) {
      const [design, computed] = this.#linearise(values),
        now = this.#cost(computed, weights),
        move = this.#move(solver(design), design, computed, weights);
      damping = more(now, cost) ? damping / 2 : Math.min(1, damping * 2);
      cost = now;
      values = values.map((value, u) => value + damping * move[u]);
      if (largest(move) < REFACTOR) break;
    }
    return values;
  }

  /**
   * Whether it is a rest. Where their bending holds the plane more than the lengths do, it has come to rest for
   * that alone: plain steps would leave again.
   * @param {Float64Array} values
   * @param {number} cost
   * @param {Float64Array} weights
   * @param {Solver} solver
   * @param {boolean} level whether the readings agree there
   * @returns {Rest}
   */
  #judged(values, cost, weights, solver, level) {
    const [design, , bends] = this.#linearise(values, weights),
      normal = solver(design),
      free = normal.spread(rowsOf(bends.map(([terms]) => terms)));
    // A length that nothing holds goes sideways without end; no more counts than is known.
    const isHung = bends.reduce((sum, [, weight, most], i) => sum + weight * Math.min(free[i], most), 0) >= 1;
    return {
      values,
      cost,
      held: isHung && level ? this.plane.map((u) => [[[u, 1]], HELD]) : [],
      normal: isHung ? undefined : normal,
      converged: level || !isHung,
    };
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
