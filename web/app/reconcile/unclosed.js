/**
 * A plane figure that cannot close: a side longer than all the others together, and the like. Where it
 * holds just enough lengths to be drawn, no other reading tells what the wrong one should have been;
 * leaving it out lets the figure close, and that is all there is to go by.
 * @module reconcile/unclosed
 */
/** @typedef {import("./fit.js").Fit} Fit */

/** A fit that found no rest and misses a reading by this many standard deviations cannot close. */
export const OPEN = 6;

/**
 * Whether a fit came to no rest because its figure cannot close.
 * @param {Fit} fit
 * @returns {boolean}
 */
export const isOpen = (fit) => !fit.converged && fit.residuals.some((_, row) => fit.used[row] && miss(fit, row) > OPEN);

/**
 * By how far a row misses, in its own standard deviations; never above its test.
 * @param {Fit} fit
 * @param {number} row
 * @returns {number}
 */
export const miss = ({ residuals, equations }, row) => Math.abs(residuals[row]) / equations.sigmas[row];

/**
 * Whether the fit without a row has lost most of what was amiss with it.
 * @param {Fit} fit
 * @param {Fit} without
 * @returns {boolean}
 */
export const explains = (fit, without) => 2 * without.chi2 < fit.chi2;
