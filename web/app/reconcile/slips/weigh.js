/**
 * Which reading is wrong, by how much and why: the causes weighed against all other readings. Half of
 * the drop of the weighted sum of squares is the log likelihood of exactly this slip; to it come the
 * chance of the slip itself and the soft knowledge of lofts.
 * @module reconcile/slips/weigh
 */
import { greatest, ranked, steady } from "../rounding.js";
import { across, times } from "../sparse.js";
import { chances, grid, likeliest } from "./causes.js";
import { Soft } from "./soft.js";
import { explains, isOpen, miss, OPEN } from "../unclosed.js";

/** @typedef {import("../adjust.js").Adjuster} Adjuster */
/** @typedef {import("../fit.js").Fit} Fit */
/** @typedef {import("../network.js").Network} Network */
/** @typedef {import("../types.js").Entry} Entry */

// Readings whose evidence is this much behind the best (in nats) are not looked into.
const NATS = 18,
  // How many readings are looked into at most: in a long run hundreds would be, for a small slip.
  MOST_WEIGHED = 60,
  // The drop of a sum of squares below which nothing disagrees, and so no reading explains it.
  LEAST = 1,
  REACH = 4;
// A slip [mm] beyond which a plane figure is no longer straight enough to be weighed by slopes.
const BENT = 40,
  MOST_REFITS = 8;
// The share of a sum of squares that may be rounding.
const NOISE = 1e-9;

/**
 * One reading's share in the explanation: its row, what it would read [mm] (null where no other
 * reading tells), the likeliest cause and those nearly as likely, and the likelihood over all its causes and values, 0 to 1.
 * @typedef {{row: number, wouldRead: number | null, causes: string[], likelihood: number}} Guess
 */

/**
 * What the other readings say of one: what it would read and the standard deviation of that [mm], infinite
 * where no other reading tells; the drop of the sum of squares at the best slip, and a fit without it where slopes would not do.
 * @typedef {{row: number, right: number, spread: number, drop: number, fit?: Fit}} Evidence
 */

/** @typedef {{right: number | null, causes: string[], log: number}} Way one way that a reading became what was written */

/** What evidence is ranked by: the size of the test. @param {Evidence} evidence */
const weight = ({ drop }) => Math.sqrt(Math.max(drop, 0));

/** Whether other readings tell what a reading would be. @param {Evidence} evidence */
const told = ({ spread }) => spread < Infinity;

/** Weighs the readings of one network. */
export class Weigher {
  /** @type {WeakMap<Fit, Guess[]>} */
  #known = new WeakMap();

  /**
   * @param {Network} network
   * @param {Adjuster} adjuster
   */
  constructor(network, adjuster) {
    this.network = network;
    this.adjuster = adjuster;
    this.soft = new Soft(network);
    /** @type {Map<number, Entry>} */
    this.entries = new Map([...network.rows].map(([id, row]) => [row, /** @type {Entry} */ (network.entries.get(id))]));
    /** What was read of each bay along each line. @type {Map<string, number[]>} */
    this.bays = new Map();
    for (const entry of this.entries.values()) {
      const bay = bayOf(entry);
      if (bay === null) continue;
      const key = `${bay}|${entry.line}`;
      this.bays.set(key, [...(this.bays.get(key) ?? []), entry.value]);
    }
  }

  /**
   * The readings that may be wrong, most likely first, for one disagreement.
   * @param {Fit} fit holds it: the reading in question is among those used
   * @returns {Guess[]}
   */
  weigh(fit) {
    const known = this.#known.get(fit) ?? this.#weigh(fit);
    this.#known.set(fit, known);
    return known;
  }

  /** @param {Fit} fit @returns {Guess[]} */
  #weigh(fit) {
    const found = this.#evidence(fit);
    const { soft } = this,
      { curves } = this.network.equations;
    if (!found.length && isOpen(fit))
      return ranked(this.#byMiss(fit), ({ row, drop }) => (curves.has(row) ? drop : 0))
        .slice(0, 1)
        .map(({ row }) => unexplained(row));
    const base = times(soft.functions, fit.values);
    const cases = found
      .map((evidence) => ({
        row: evidence.row,
        ways: this.#ways(fit, evidence, base),
        // Of lofts past all likelihood the one whose lines lie least askew.
        skew: told(evidence) ? 0 : steady(soft.skew(times(soft.functions, /** @type {Fit} */ (evidence.fit).values))),
      }))
      .filter(({ ways }) => ways.length);
    const top = cases.reduce((most, { ways }) => ways.reduce((m, { log }) => Math.max(m, log), most), -Infinity);
    const share = (/** @type {Way} */ way) => Math.exp(way.log - top);
    const sums = cases.map(({ ways }) => ways.reduce((sum, way) => sum + share(way), 0));
    const total = sums.reduce((sum, each) => sum + each, 0);
    const guesses = cases.map(({ row, ways, skew }, i) => {
      const most = ways.reduce((m, way) => Math.max(m, share(way)), 0) || 1;
      const best = /** @type {Way} */ (greatest(ways, (way) => share(way) / most));
      return { row, wouldRead: best.right, causes: best.causes, likelihood: sums[i] / total, skew };
    });
    return ranked(
      guesses.sort((a, b) => a.skew - b.skew || a.row - b.row),
      ({ likelihood }) => likelihood,
    );
  }

  // --- what the other readings say --------------------------------------------------------

  /**
   * The readings whose own best slip explains nearly as much as any.
   * @param {Fit} fit
   */
  #evidence(fit) {
    const found = isOpen(fit)
      ? this.#byRefit(fit, this.#byMiss(fit)).filter((each) => each.fit && explains(fit, each.fit))
      : this.#bySlopes(fit);
    const best = found.reduce((most, { drop }) => Math.max(most, drop), 0);
    const near = best > LEAST ? found.filter(({ drop }) => drop > best - 2 * NATS) : [];
    const able = near.some(told) ? near.filter(told) : near;
    return ranked(
      able.sort((a, b) => a.row - b.row),
      weight,
    ).slice(0, MOST_WEIGHED);
  }

  /** The readings in use, in order. @param {Fit} fit */
  #used(fit) {
    return [...this.entries.keys()].sort((a, b) => a - b).filter((row) => fit.used[row]);
  }

  /** @param {Fit} fit @returns {Evidence[]} */
  #bySlopes(fit) {
    const { equations, pack } = this.network,
      { redundancy } = fit;
    const able = this.#used(fit).filter((row) => redundancy[row] > pack["reading.unchecked"]);
    const found = able.map((row) => ({
      row,
      right: equations.read[row] + fit.residuals[row] / redundancy[row],
      spread: equations.sigmas[row] / Math.sqrt(redundancy[row]),
      drop: fit.w[row] ** 2,
    }));
    const worst = equations.curves.size ? greatest(found, weight) : undefined;
    const bent = worst && Math.abs(worst.right - equations.read[worst.row]) > BENT;
    return bent ? this.#byRefit(fit, found).filter(told) : found;
  }

  /** Every reading in use by how far it misses. @param {Fit} fit @returns {Evidence[]} */
  #byMiss(fit) {
    const { read, sigmas } = this.network.equations;
    return this.#used(fit).map((row) => ({ row, right: read[row], spread: sigmas[row], drop: miss(fit, row) ** 2 }));
  }

  /**
   * Leaves each of the worst out in turn, and every curved one, and adjusts anew. Curved rows can only add
   * to the sum of squares that the straight ones leave, so a row whose drop cannot count is passed over.
   * @param {Fit} fit
   * @param {Evidence[]} found
   * @returns {Evidence[]}
   */
  #byRefit(fit, found) {
    const { equations, pack } = this.network,
      { curves, sigmas } = equations;
    const aside = [...fit.used.keys()].filter((row) => !fit.used[row]);
    const order = ranked(found, weight).map(({ row }) => row);
    const straight = this.adjuster.fit([...aside, ...curves.keys()]);
    // A straight row that the others confirm has no slip that keeps a figure open.
    const sound = (/** @type {number} */ row) =>
      isOpen(fit) && straight.redundancy[row] > pack["reading.unchecked"] && Math.abs(straight.w[row]) < OPEN;
    const some = (/** @type {boolean} */ bent) =>
      order.filter((row) => curves.has(row) === bent && (bent || !sound(row))).slice(0, MOST_REFITS);
    const most = (/** @type {number} */ row) => fit.chi2 - straight.chi2 + (curves.has(row) ? 0 : straight.w[row] ** 2);
    let best = 0;
    return [...some(false), ...some(true)].flatMap((row) => {
      if (most(row) < best - 2 * NATS - NOISE * fit.chi2) return [];
      const without = this.adjuster.fit([...aside, row]);
      const redundancy = without.redundancy[row];
      if (!redundancy && !curves.has(row)) return [];
      const spread = sigmas[row] / Math.sqrt(redundancy),
        drop = fit.chi2 - without.chi2;
      best = Math.max(best, drop);
      return [{ row, right: without.computed[row], spread, drop, fit: without }];
    });
  }

  // --- one reading ------------------------------------------------------------------------

  /**
   * What the reading may have been, and each way that it became what was written.
   * @param {Fit} fit
   * @param {Evidence} evidence
   * @param {Float64Array} base what soft knowledge asks of the loft, as it stands [mm]
   * @returns {Way[]}
   */
  #ways(fit, evidence, base) {
    const entry = /** @type {Entry} */ (this.entries.get(evidence.row));
    const written = entry.value,
      decimals = Number.isInteger(written) ? 0 : 1;
    const setting = this.#setting(evidence.fit ?? fit, evidence.row, entry);
    const loft = this.#loft(fit, evidence, base);
    const { pack } = this.network;
    if (!told(evidence)) return [{ right: null, causes: ["unknown"], log: evidence.drop / 2 + loft(0) }];
    return grid(evidence.right, REACH * evidence.spread, decimals)
      .filter((right) => right !== written)
      .map((right) => {
        /** @type {Map<string, number>} */
        const named = new Map();
        const unknown = pack["slip.shares"].unknown / pack["slip.range"];
        for (const [cause, chance] of [
          ...chances(right, written, decimals, setting),
          /** @type {const} */ (["unknown", unknown]),
        ])
          named.set(cause, (named.get(cause) ?? 0) + chance);
        const chance = [...named.values()].reduce((sum, each) => sum + each, 0);
        const drop = evidence.drop - ((right - evidence.right) / evidence.spread) ** 2;
        return { right, causes: likeliest(named), log: drop / 2 + Math.log(chance) + loft(written - right) };
      });
  }

  /**
   * @param {Fit} fit
   * @param {number} row
   * @param {Entry} entry
   * @returns {import("./causes.js").Setting}
   */
  #setting(fit, row, entry) {
    const isAcross = entry.kind === "across";
    return {
      shares: this.network.pack["slip.shares"],
      breadths: isAcross ? this.#breadths(fit, entry) : [],
      hooked: !isAcross || entry.from[1] !== "centre",
      neighbours: this.#neighbours(entry),
      spread: this.network.equations.sigmas[row],
    };
  }

  /** The breadths of the joists at the reading's ends [mm]. @param {Fit} fit @param {Entry} entry @returns {number[]} */
  #breadths(fit, entry) {
    return [entry.from, entry.to].flatMap(([joist, face]) => {
      const number = face === "centre" ? undefined : this.network.find("breadth", joist);
      return number === undefined ? [] : [fit.values[number]];
    });
  }

  /** What was read one bay to either side [mm]. @param {Entry} entry @returns {number[]} */
  #neighbours(entry) {
    const bay = bayOf(entry);
    return bay === null ? [] : [bay - 1, bay + 1].flatMap((other) => this.bays.get(`${other}|${entry.line}`) ?? []);
  }

  /**
   * From a slip [mm] to how likely the loft is that it would leave, taken off.
   * @param {Fit} fit
   * @param {Evidence} evidence
   * @param {Float64Array} base
   * @returns {(slip: number) => number}
   */
  #loft(fit, { row, fit: without }, base) {
    const { soft } = this;
    if (without) {
      const score = soft.score(times(soft.functions, without.values));
      return () => score;
    }
    const unit = new Float64Array(fit.used.length);
    unit[row] = this.adjuster.weights[row];
    const gain = times(soft.functions, fit.normal.solve(across(fit.design, unit, fit.values.length)));
    return (slip) => soft.score(base.map((figure, i) => figure - gain[i] * slip));
  }
}

/**
 * The guess for a row that no slip explains and no other reading tells of.
 * @param {number} row
 * @param {number} [likelihood] 0 to 1
 * @returns {Guess}
 */
export const unexplained = (row, likelihood = 1) => ({ row, wouldRead: null, causes: ["unknown"], likelihood });

/** The bay that a reading spans; null for any other reading. @param {Entry} entry */
function bayOf({ kind, from, to }) {
  return kind === "across" && Math.abs(from[0] - to[0]) === 1 ? Math.min(from[0], to[0]) : null;
}
