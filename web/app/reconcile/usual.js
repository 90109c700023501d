/**
 * The usual timber's breadth, used only for joists whose own breadth the readings leave open.
 * @module reconcile/usual
 */
import { UNDETERMINED } from "./normal.js";
import { rowsOf } from "./sparse.js";

/** @typedef {import("./fit.js").Fit} Fit */
/** @typedef {import("./network.js").Network} Network */

/** @param {Network} network @returns {[number, number][]} joist and unknown of every breadth in a row */
const breadths = (network) =>
  network.keys.flatMap(([name, joist], number) => (name === "breadth" ? [[joist, number]] : []));

/** @param {Network} network */
export const readings = (network) =>
  [...network.rows.keys()].flatMap((id) => {
    const entry = network.entries.get(id);
    return entry?.kind === "breadth" ? [entry] : [];
  });

/**
 * The joists whose breadth enters a row but was itself never read, and is open.
 * @param {Network} network
 * @param {Fit} fit
 * @returns {number[]}
 */
export function leftOpen(network, fit) {
  const read = new Set(readings(network).map(({ joist }) => joist));
  const open = breadths(network).filter(([joist]) => !read.has(joist));
  if (!open.length) return [];
  const spread = fit.spread(rowsOf(open.map(([, number]) => [[number, 1]])));
  return open.filter((_, i) => spread[i] > UNDETERMINED).map(([joist]) => joist);
}

/**
 * Adds rows that give these joists the usual breadth. All share one unknown offset from it, since a
 * stack of timber is off together; the breadths read in this run steer it.
 * @param {Network} network
 * @param {number[]} joists
 * @returns {boolean} false where no usual breadth is named
 */
export function assume(network, joists) {
  const { pack, equations } = network,
    usual = network.run.member.breadth;
  if (!usual) return false;
  const known = readings(network).map(({ value }) => value);
  const each = pack["usual.breadth.each"];
  const offset = network.unknown(["usual"], 0);
  // The mean of the breadths read, weighed against the size named: a plain Bayes update.
  const weight = known.length / each ** 2,
    total = weight + pack["usual.breadth.common"] ** -2;
  const mean = known.length && known.reduce((sum, value) => sum + value, 0) / known.length - usual;
  equations.row([[offset, 1]], (weight * mean) / total, total ** -0.5);
  const numbers = new Map(breadths(network));
  for (const joist of joists)
    equations.row(
      [
        [/** @type {number} */ (numbers.get(joist)), 1],
        [offset, -1],
      ],
      usual,
      each,
    );
  return true;
}
