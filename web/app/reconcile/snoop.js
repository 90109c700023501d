/**
 * Data snooping: which readings disagree with all the others, one after another. The worst is set
 * aside and the rest adjusted anew, until none exceeds the limit; one set aside too early is taken back.
 * @module reconcile/snoop
 */
import { greatest } from "./rounding.js";
import { quantile } from "./special.js";
import { isOpen, miss } from "./unclosed.js";

/** @typedef {import("./adjust.js").Adjuster} Adjuster */
/** @typedef {import("./fit.js").Fit} Fit */

// Tests whose sizes differ by less than this share are one test.
const SAME = 1e-4;

/**
 * When a row counts as disagreeing: how far a test may go [standard deviations], what redundancy a
 * row needs to be tested, how many may be set aside, and the rows that are no readings.
 * @typedef {{test: number, redundancy: number, most: number, passive: number[]}} Limits
 */

/**
 * A row set aside, and the fit with it in and every other disagreement set aside.
 * @typedef {{row: number, before: Fit}} Disagreement
 */

/**
 * The rows that may be at fault, the likeliest first; null where a person has looked at it and stands by
 * the reading: nothing is set aside for it.
 * @typedef {(fit: Fit) => number[] | null} Name
 */

/** @typedef {(rows: number[], last: Fit) => Fit} Without a fit with these rows set aside too, begun at the last one */

/**
 * The limit of a test for a chance over a whole survey, by Šidák's inequality. No test's square can
 * exceed the whole sum of squares, so a quantile of chi-square bounds it too (Scheffé).
 * @param {number} chance
 * @param {number} tests how many differ
 * @param {number} dof
 * @returns {number} [standard deviations]
 */
export function critical(chance, tests, dof) {
  const each = -Math.expm1(Math.log1p(-chance) / Math.max(tests, 1));
  // The square of one normal test is a chi-square of one degree of freedom.
  return Math.sqrt(Math.min(quantile(1, each), dof ? quantile(dof, chance) : Infinity));
}

/**
 * How many different tests the rows give. Readings that check one another alone are one test.
 * @param {Fit} fit
 * @param {number} threshold of redundancy
 * @returns {number}
 */
export function testable(fit, threshold) {
  const sizes = fit.w
    .filter((_, i) => fit.redundancy[i] > threshold)
    .map(Math.abs)
    .sort();
  return sizes.filter((size, i) => !i || size - sizes[i - 1] > SAME * Math.max(size, 1)).length;
}

/**
 * Sets aside what disagrees, worst first, and looks at each disagreement by itself.
 * @param {Adjuster} adjuster
 * @param {Fit} fit with only `apart` set aside
 * @param {Limits} limits
 * @param {Name} name chooses the row at fault
 * @param {number[]} [apart] rows that stay aside whatever they say
 * @returns {{fit: Fit, disagreements: Disagreement[]}}
 */
export function snoop(adjuster, fit, limits, name, apart = []) {
  const known = new Map([["", fit]]);
  const without = (/** @type {number[]} */ rows, /** @type {Fit} */ last) => {
    const key = [...rows].sort().join();
    const found = known.get(key) ?? begun(adjuster, [...apart, ...rows], last);
    known.set(key, found);
    return found;
  };
  const [last, aside] = setAside(fit, without, limits, name);
  return explained(last, without, aside, limits, name);
}

/**
 * How many rows are set aside until the rest agree, the one with the largest test each time.
 * @param {Adjuster} adjuster
 * @param {Fit} fit
 * @param {Limits} limits
 * @returns {number}
 */
export function disagreeing(adjuster, fit, limits) {
  const [, aside] = setAside(fit, (rows, last) => begun(adjuster, rows, last), limits, null);
  return aside.length;
}

/**
 * A fit begun at the last one, unless that left a figure open.
 * @param {Adjuster} adjuster
 * @param {number[]} rows
 * @param {Fit} last
 */
const begun = (adjuster, rows, { converged, values }) => adjuster.fit(rows, converged ? values : undefined);

/**
 * @param {Fit} fit with nothing more set aside
 * @param {Without} without
 * @param {Limits} limits
 * @param {Name | null} name
 * @returns {[Fit, number[]]} the last fit, and what is set aside in it
 */
function setAside(fit, without, limits, name) {
  /** @type {number[]} */
  const aside = [];
  const takenBack = new Set();
  for (;;) {
    const row = aside.length < limits.most ? worst(fit, limits) : null;
    if (row !== null) {
      const chosen = named(fit, name, row, aside);
      if (chosen === null) return [fit, aside];
      aside.push(chosen);
    } else {
      const back = soundAfterAll(fit, aside, limits, takenBack);
      if (back === undefined) return [fit, aside];
      takenBack.add(back);
      aside.splice(aside.indexOf(back), 1);
    }
    fit = without(aside, fit);
  }
}

/**
 * @param {Fit} fit
 * @param {Name | null} name
 * @param {number} row the worst
 * @param {number[]} aside
 */
function named(fit, name, row, aside) {
  const rows = name ? name(fit) : [];
  return rows && (rows.find((other) => !aside.includes(other)) ?? row);
}

/**
 * Looks at each disagreement by itself, the others set aside; lets it change its mind once. Where nothing
 * disagrees then, others that came later had told of the same.
 * @param {Fit} fit
 * @param {Without} without
 * @param {number[]} aside
 * @param {Limits} limits
 * @param {Name} name
 */
function explained(fit, without, aside, limits, name) {
  const before = aside.join();
  const disagreements = [...aside].flatMap((row) => {
    const others = aside.filter((other) => other !== row),
      alone = without(others, fit),
      isSound = alone.converged && worst(alone, limits) === null;
    const chosen = isSound ? row : (named(alone, name, row, others) ?? row);
    aside.splice(aside.indexOf(row), 1, ...(isSound ? [] : [chosen]));
    return isSound ? [] : [{ row: chosen, before: alone }];
  });
  return { fit: aside.join() === before ? fit : without(aside, fit), disagreements };
}

/** @param {Fit} fit @param {Limits} limits */
function worst(fit, limits) {
  const { used, redundancy, w } = fit,
    passive = new Set(limits.passive),
    open = isOpen(fit);
  const size = (/** @type {number} */ i) => {
    if (!used[i] || passive.has(i)) return 0;
    if (redundancy[i] > limits.redundancy) return Math.abs(w[i]);
    // A figure that cannot close has rows that no test tells of: by how far they miss.
    return open ? miss(fit, i) : 0;
  };
  const row = greatest(w.keys(), size);
  return row !== undefined && size(row) > limits.test ? row : null;
}

/**
 * A row set aside that now agrees; each is taken back once at most.
 * @param {Fit} fit
 * @param {number[]} aside
 * @param {Limits} limits
 * @param {Set<number>} takenBack
 */
const soundAfterAll = (fit, aside, limits, takenBack) =>
  aside.find((row) => !takenBack.has(row) && fit.redundancy[row] > 0 && Math.abs(fit.w[row]) < limits.test);
