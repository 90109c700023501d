/**
 * Readings that could be taken next: those that a person in a loft would think of.
 * @module reconcile/advice/candidates
 */
import { SIDES } from "../network.js";
import { sigma, tapeOf } from "../weights.js";
import { joist as named, reading } from "../words.js";

/** @typedef {import("../network.js").Network} Network */
/** @typedef {import("../solve.js").Solved} Solved */
/** @typedef {import("../types.js").Entry} Entry */
/** @typedef {import("../types.js").Face} Face */
/** @typedef {import("../types.js").Terms} Terms */

// In a longer run only every second, third … joist is considered; the answer is hardly worse.
const MOST_JOISTS = 40;

/**
 * A reading that could be taken: its fields without a value, what to measure in words, the terms of the
 * length it would give, and its standard deviation [mm].
 * @typedef {{take: Record<string, any>, say: string, terms: Terms, sigma: number}} Candidate
 */

/**
 * The overall of each line, running readings from both walls, and breadths.
 * @param {Solved} solved
 * @returns {Candidate[]}
 */
export function candidates(solved) {
  const { run, network } = solved;
  const step = Math.max(1, Math.ceil(run.joists / MOST_JOISTS));
  const joists = Array.from({ length: Math.ceil(run.joists / step) }, (_, i) => 1 + i * step);
  /** @type {Face} */
  const start = [0, "face"];
  /** @type {Face} */
  const end = [network.end, "face"];
  return [
    ...run.lines.flatMap((line) => [
      ...across(solved, line, start, end),
      ...joists.flatMap((j) => [
        ...across(solved, line, start, [j, "left"]),
        ...across(solved, line, [j, "right"], end),
      ]),
    ]),
    ...joists.flatMap((joist) => breadth(solved, joist)),
  ];
}

/**
 * What an entry asks for, without what was read.
 * @param {Entry} entry
 * @returns {Record<string, any>}
 */
export const takeOf = (entry) =>
  Object.fromEntries(
    ["kind", "run", "line", "joist", "from", "to", "end"].flatMap((name) =>
      name in entry ? [[name, entry[name]]] : [],
    ),
  );

/**
 * The same reading taken once more; none where its row is a curve or not there.
 * @param {Solved} solved
 * @param {string} id
 * @returns {Candidate[]}
 */
export function again({ network, run }, id) {
  const { equations } = network,
    row = network.rows.get(id),
    entry = network.entries.get(id);
  if (row === undefined || !entry || equations.curves.has(row)) return [];
  const say = `${reading(entry, run.joists)}, once more`;
  return [{ take: takeOf(entry), say, terms: equations.terms[row], sigma: equations.sigmas[row] }];
}

/**
 * @param {Solved} solved
 * @param {string} line
 * @param {Face} a
 * @param {Face} b
 * @returns {Candidate[]}
 */
function across(solved, line, a, b) {
  const { network, run } = solved;
  const terms = [a, b].map((face, i) => termsOf(network, line, face, i ? 1 : -1));
  if (!terms[0] || !terms[1]) return [];
  const take = { kind: "across", run: run.id, line, from: a, to: b };
  const isWall = (/** @type {Face} */ [joist]) => joist === 0 || joist === network.end;
  const from = isWall(a) ? `from the zero at the ${named(a[0], run.joists)}` : `from the ${a[1]} face of J${a[0]}`;
  const to = isWall(b) ? `to the ${named(b[0], run.joists)}` : `to the ${b[1]} face of J${b[0]}`;
  const whole = a[0] === 0 && b[0] === network.end;
  const say = `${whole ? "wall to wall" : `${from} ${to}`}, ${line} line`;
  return [{ take, say, terms: [...terms[0], ...terms[1]], sigma: sigmaOf(solved, take) }];
}

/**
 * The terms of a face along a line; null where it was never touched.
 * @param {Network} network
 * @param {string} line
 * @param {Face} face
 * @param {number} sign
 * @returns {Terms | null}
 */
function termsOf(network, line, [joist, face], sign) {
  if (joist === 0) return [];
  const x = network.find("x", joist, line);
  if (x === undefined) return null;
  if (joist === network.end) return [[x, sign]];
  const breadth = network.find("breadth", joist);
  return breadth === undefined
    ? null
    : [
        [x, sign],
        [breadth, sign * SIDES[face]],
      ];
}

/** @param {Solved} solved @param {number} joist @returns {Candidate[]} */
function breadth(solved, joist) {
  const number = solved.network.find("breadth", joist),
    take = { kind: "breadth", run: solved.run.id, joist };
  if (number === undefined) return [];
  return [{ take, say: `the breadth of J${joist}`, terms: [[number, 1]], sigma: sigmaOf(solved, take) }];
}

/** @param {Solved} solved @param {Record<string, any>} take */
const sigmaOf = ({ survey, pack }, take) => sigma(take, tapeOf(take, survey.tape, pack), pack, true);
