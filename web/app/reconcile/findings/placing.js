/**
 * Readings and features that have no place in the run they name.
 * @module reconcile/findings/placing
 */
import { NEEDED, RECTANGLES } from "../outline.js";
import { general } from "../words.js";
import { finding } from "./common.js";

/** @typedef {import("./common.js").Finding} Finding */
/** @typedef {import("./common.js").View} View */

/**
 * Tells of every reading that stands but cannot be placed, and why.
 * @param {View} view
 * @returns {Finding[]}
 */
export function misplaced({ solved: { network, run } }) {
  return [...network.misplaced].sort().map(([reading, why]) => {
    const entry = network.entries.get(reading);
    const say = `A reading of ${general(entry?.value, 10)} (${entry?.kind}) is left out: ${why}.`;
    return finding("reading.misplaced", "look", say, { run: run.id, reading });
  });
}

/**
 * Tells of every lap that is stated between tape lines that are no neighbours.
 * @param {View} view
 * @returns {Finding[]}
 */
export const laps = ({ solved: { run } }) =>
  run.laps.flatMap(([one, other]) => {
    if (run.lapped.some((pair) => pair.includes(one) && pair.includes(other))) return [];
    const say = `The lap between the ${one} and the ${other} line is left out: they are not neighbouring tape lines.`;
    return [finding("lap.misplaced", "look", say, { run: run.id })];
  });

/**
 * Tells of every feature that names a joist or a line that the run has not, or lacks a length.
 * @param {View} view
 * @returns {Finding[]}
 */
export const leftOut = ({ solved: { run }, features }) =>
  features.flatMap((feature) => {
    const why = nowhere(feature, run);
    const say = `A feature (${feature.feature}) is left out: ${why}.`;
    return why ? [finding("feature.misplaced", "look", say, { run: run.id, feature: feature.id })] : [];
  });

/**
 * Why a feature has no place in a run; nothing where it has one.
 * @param {Record<string, any>} feature
 * @param {import("../../book/types.js").Run} run
 * @returns {string | undefined}
 */
function nowhere(feature, { joists, lines }) {
  let [least, joist, most] = [0, feature.bay ?? 0, joists];
  if (RECTANGLES.includes(feature.feature)) {
    const lacking = NEEDED.find((name) => !(name in feature));
    if (lacking) return `it has no “${lacking}”`;
    if (!lines.includes(feature.line)) return `the run has no tape line “${feature.line}”`;
    [joist, most] = [feature.from[0], joists + 1];
  } else if ("joist" in feature) [least, joist] = [1, feature.joist];
  return least <= joist && joist <= most ? undefined : `the run has no J${joist}`;
}
