/**
 * Findings: what the as-built shows that a person should know, each with its rule.
 * @module reconcile/findings/findings
 */
import { bow } from "./bow.js";
import { closure } from "./closure.js";
import { grid } from "./grid.js";
import { levels } from "./levels.js";
import { missing } from "./missing.js";
import { laps, leftOut, misplaced } from "./placing.js";
import { spacing } from "./spacing.js";
import { square } from "./square.js";
import { taper } from "./taper.js";
import { timber } from "./timber.js";

/** @typedef {import("./common.js").Finding} Finding */
/** @typedef {import("./common.js").View} View */

/**
 * Every finding of one run, in the order in which they should be read.
 * @param {View} view
 * @returns {Finding[]}
 */
export const findings = (view) =>
  [closure, misplaced, laps, leftOut, spacing, grid, taper, square, bow, levels, timber, missing].flatMap((step) =>
    step(view),
  );
