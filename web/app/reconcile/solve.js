/**
 * A survey's runs adjusted and tested: from networks to what stands and what disagrees.
 * @module reconcile/solve
 */
import { Adjuster } from "./adjust.js";
import { bestTrial } from "./common.js";
import { Network } from "./network.js";
import { settler } from "./settle.js";
import { unexplained, Weigher } from "./slips/weigh.js";
import { critical, disagreeing, snoop, testable } from "./snoop.js";
import { assume, leftOpen } from "./usual.js";

/** @typedef {import("./fit.js").Fit} Fit */
/** @typedef {import("./common.js").Common} Common */
/** @typedef {import("./slips/weigh.js").Guess} Guess */
/** @typedef {import("./snoop.js").Disagreement} Disagreement */
/** @typedef {import("./snoop.js").Limits} Limits */
/** @typedef {import("./types.js").Pack} Pack */
/** @typedef {import("./types.js").Run} Run */
/** @typedef {import("./types.js").Survey} Survey */

/** One run, solved. */
export class Solved {
  /** What was set aside, in that order. @type {Disagreement[]} */
  disagreements = [];
  /** For each disagreement the readings that may be at fault, likeliest first. @type {Guess[][]} */
  guesses = [];
  /** @type {Limits} */
  limits = { test: Infinity, redundancy: 0, most: 24, passive: [] };
  /** One mistake behind many disagreements, whose readings are all set aside. @type {Common | null} */
  common = null;
  /** Joists that were given the usual breadth. @type {number[]} */
  assumed = [];

  /**
   * @param {Survey} survey
   * @param {Run} run
   * @param {Pack} pack
   */
  constructor(survey, run, pack) {
    this.survey = survey;
    this.run = run;
    this.pack = pack;
    this.network = new Network(survey, run, pack);
    this.adjuster = this.#adjuster();
    /** The fit with every reading in. */
    this.first = this.adjuster.fit();
    const open = leftOpen(this.network, this.first);
    if (open.length && assume(this.network, open)) {
      this.assumed = open;
      this.adjuster = this.#adjuster();
      this.first = this.adjuster.fit();
    }
    /** The fit with what disagrees set aside. */
    this.fit = this.first;
  }

  #adjuster() {
    return new Adjuster(this.network.equations, settler(this.network));
  }

  /**
   * Sets aside what disagrees and names what may be at fault.
   * @param {Limits} limits
   * @param {number[]} [apart] rows that stay out of it
   */
  test(limits, apart = []) {
    this.limits = limits;
    const fit = apart.length ? this.adjuster.fit(apart, this.first.values) : this.first;
    Object.assign(this, { fit, disagreements: [], guesses: [] });
    if (fit.converged && !fit.w.some((w, i) => fit.used[i] && Math.abs(w) > limits.test)) return;
    const weigher = new Weigher(this.network, this.adjuster);
    const kept = new Set([...this.network.kept].map((id) => this.network.rows.get(id)));
    const name = (/** @type {Fit} */ now) => {
      const rows = weigher.weigh(now).map(({ row }) => row);
      // A person stands by the first.
      return rows.length && kept.has(rows[0]) ? null : rows;
    };
    Object.assign(this, snoop(this.adjuster, fit, limits, name, apart));
    this.guesses = this.disagreements.map(({ row, before }) => {
      const found = weigher.weigh(before);
      return found.length ? found : [unexplained(row)];
    });
  }

  /** Names one mistake instead of many slips, where undoing it leaves far fewer of them. */
  lookForCommonCause() {
    // Undoing it must explain as much as the fewest slips that it may stand for.
    const least = this.pack["suspect.many"] * this.limits.test ** 2;
    const trial = bestTrial(this.survey, this.network, this.adjuster, this.first.chi2 - least);
    if (!trial) return;
    // The mistake counts for two slips: it must explain clearly more than it costs.
    const most = this.disagreements.length - 1;
    if (disagreeing(trial.adjuster, trial.fit, { ...this.limits, passive: trial.network.passive(), most }) >= most)
      return;
    this.common = trial.common;
    this.test(
      this.limits,
      trial.common.readings.map((id) => /** @type {number} */ (this.network.rows.get(id))),
    );
  }
}

/**
 * Adjusts and tests every run; the limit of the tests is shared by the whole survey.
 * @param {Survey} survey
 * @param {Pack} pack
 * @returns {Solved[]}
 */
export function solve(survey, pack) {
  const runs = survey.runs.map((run) => new Solved(survey, run, pack));
  const redundancy = pack["reading.unchecked"];
  const tests = runs.reduce((sum, { first }) => sum + testable(first, redundancy), 0);
  const dof = runs.reduce((sum, { first }) => sum + first.dof, 0);
  const test = critical(pack["reading.false_alarm"], tests, dof);
  for (const solved of runs) {
    solved.test({ test, redundancy, most: pack["suspect.most"], passive: solved.network.passive() });
    if (solved.disagreements.length >= pack["suspect.many"]) solved.lookForCommonCause();
  }
  return runs;
}
