/**
 * What a bay's other witnesses say of it: the other tape lines, and the loops it lies in.
 * @module closure/wants
 */
import { parted } from "../lines.js";
import { gapWay } from "./chain.js";

/** @typedef {import("./chain.js").Chain} Chain */
/** @typedef {import("./chain.js").Way} Way */
/** @typedef {import("./tally.js").Tally} Tally */

/**
 * A bay along one tape line, and what the other lines read there.
 * @typedef {object} Seen
 * @property {string} line
 * @property {number} bay
 * @property {Way} way
 * @property {{line: string, way: Way}[]} others those of the same timbers: beyond a lap a bay may be another
 */

/**
 * Every bay that is known along some line.
 * @param {Tally} tally
 * @param {Chain[]} chains
 * @returns {Seen[]}
 */
export function seenBays(tally, chains) {
  const bays = Array.from({ length: tally.run.joists + 1 }, (_, bay) => bay);
  const known = chains.flatMap((one) => bays.map((bay) => ({ line: one.line, bay, way: gapWay(one, tally, bay) })));
  const found = known.flatMap(({ line, bay, way }) => (way ? [{ line, bay, way }] : []));
  const sides = parted(tally.run.lines, tally.run.laps);
  return found.map((seen) => ({
    ...seen,
    others: found.filter(
      ({ bay, line }) =>
        bay === seen.bay && line !== seen.line && sides.some((one) => one.includes(line) && one.includes(seen.line)),
    ),
  }));
}

/**
 * True where two figures differ by two neighbouring digits that changed places.
 * @param {number} read
 * @param {number} wanted
 * @returns {boolean}
 */
export function isSwapped(read, wanted) {
  const digits = [...String(Math.round(read))];
  const swaps = digits.slice(1).map((digit, at) => {
    const turned = [...digits];
    [turned[at], turned[at + 1]] = [digit, digits[at]];
    return Number(turned.join(""));
  });
  return read !== wanted && swaps.some((one) => Math.abs(one - wanted) <= 2);
}

/**
 * The one bay of a loop that another line would put right, if there is exactly one.
 * @param {Seen[]} seen the bays of the loop's line
 * @param {string[]} ids the readings along the loop
 * @param {number} missing what the loop lacks [mm]
 * @param {number} limit how near counts as right [mm]
 * @returns {Seen | null}
 */
export function culprit(seen, ids, missing, limit) {
  const fits = seen.filter(({ way, others }) => {
    const inLoop = way.ids.some((id) => ids.includes(id));
    return inLoop && others.some((other) => Math.abs(other.way.value - way.value - missing) <= limit);
  });
  return fits.length === 1 ? fits[0] : null;
}
