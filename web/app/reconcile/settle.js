/**
 * The first guess of the plane: where each further tape line lies.
 * @module reconcile/settle
 */
import { median, steady } from "./rounding.js";

/** @typedef {import("./network.js").Network} Network */
/** @typedef {import("./types.js").Entry} Entry */

// Lengths this near to each other [mm] are all good enough to start from.
const ALIKE = 250;

/**
 * The along readings of a network from one place to another, either way.
 * @param {Network} network
 * @param {string} a
 * @param {string} b
 * @returns {Entry[]}
 */
export const between = ({ rows, entries }, a, b) =>
  [...rows.keys()]
    .map((id) => /** @type {Entry} */ (entries.get(id)))
    .filter(({ kind, from, to }) => kind === "along" && ((from === a && to === b) || (from === b && to === a)));

/**
 * What places each further line where the along readings say, one that slipped among them: it changes
 * the unknowns [mm] in place.
 * @param {Network} network whole
 * @returns {(values: Float64Array) => void}
 */
export function settler(network) {
  const [first, ...others] = network.run.lines,
    { curves, read } = network.equations;
  const trials = others.flatMap((line) => {
    const number = network.find("origin_y", line),
      apart = between(network, first, line).map(({ value }) => value);
    if (number === undefined || !apart.length) return [];
    const middle = median(apart),
      low = Math.min(...apart),
      high = Math.max(...apart);
    return [{ number, places: high - low > ALIKE ? [...new Set([middle, low, high])] : [middle] }];
  });
  // How far the curved rows miss in all. Sizes, not squares: a single slip must not choose the place.
  const misfit = (/** @type {Float64Array} */ values) => {
    let sum = 0;
    for (const [row, curve] of curves) sum += Math.abs(curve(values)[0] - read[row]);
    return steady(sum);
  };
  return (values) => {
    for (const { number, places } of trials) {
      values[number] = places[0];
      if (places.length === 1) continue;
      const misses = places.map((place) => {
        values[number] = place;
        return misfit(values);
      });
      values[number] = places[misses.indexOf(Math.min(...misses))];
    }
  };
}
