/**
 * The boxes of the printed field sheet: the same, in the same order, by the same numbers. No DOM.
 * @module field-sheet
 */
import { sizeStep } from "./closure/steps.js";
import { bayName } from "./words.js";

/** @typedef {import("./closure/steps.js").Step} Step */
/** @typedef {{lines: string[], joists: number}} Sheet the run as the sheet was printed for it */

/**
 * @typedef {object} Box
 * @property {string} group the heading on paper
 * @property {string} words what it asks, as on paper
 * @property {string} kind the entry's kind
 * @property {Record<string, any>} fields the entry's own fields, without its value
 * @property {Step} [step] the same question as the walk asks it, where it does
 */

const TIES = "along and across";

/** @param {string} line @param {number} bay @param {number} joists @returns {Box} */
function gap(line, bay, joists) {
  const from = /** @type {[number, string]} */ (bay ? [bay, "right"] : [0, "face"]);
  const to = /** @type {[number, string]} */ ([bay + 1, bay === joists ? "face" : "left"]);
  const step = /** @type {Step} */ ({ key: `${line}:${bay}`, kind: "across", line, bay, from, to });
  const words = `clear gap ${bayName(bay, joists)}`;
  return { group: `${line} line`, words, kind: "across", fields: { line, from, to }, step };
}

/** @param {"breadth" | "depth"} kind @param {number} joist @param {string} line @param {string} group @returns {Box} */
function size(kind, joist, line, group) {
  return { group, words: `${kind} J${joist}`, kind, fields: { joist }, step: sizeStep(kind, joist, line) };
}

/** @param {string} line @param {number} joists @returns {Box} */
function overall(line, joists) {
  const fields = { line, from: [0, "face"], to: [joists + 1, "face"] };
  return { group: `${line} line`, words: "overall, wall to wall", kind: "across", fields };
}

/** A joist's breadth is read once, on the first line. @param {Sheet} sheet @returns {Box[]} */
function walk({ lines, joists }) {
  const bays = Array.from({ length: joists + 1 }, (_, bay) => bay);
  return lines.flatMap((line, at) => [
    ...bays.flatMap((bay) => {
      const own = gap(line, bay, joists);
      return bay < joists && at === 0 ? [own, size("breadth", bay + 1, line, own.group)] : [own];
    }),
    overall(line, joists),
  ]);
}

/** @param {number} joist @param {string} from @param {string} to @param {string} words @returns {Box} */
function along(joist, from, to, words) {
  return { group: TIES, words: `J${joist}, ${words}`, kind: "along", fields: { joist, from, to } };
}

/** @param {number} joist @param {string[]} lines @returns {Box[]} */
function alongJoist(joist, lines) {
  const [first, last] = [lines[0], lines[lines.length - 1]];
  return [
    ...lines.slice(1).map((line, at) => along(joist, lines[at], line, `${lines[at]} line to ${line} line`)),
    along(joist, "near_edge", first, `near edge to ${first} line`),
    along(joist, last, "far_edge", `${last} line to far edge`),
    along(joist, "near_support", "far_support", "clear span, support to support"),
  ];
}

/** @param {Sheet} sheet @returns {Box[]} */
function diagonals({ lines, joists }) {
  const [first, last] = [lines[0], lines[lines.length - 1]];
  if (lines.length < 2 || joists < 2) return [];
  return [
    [first, last],
    [last, first],
  ].map(([from, to]) => ({
    group: TIES,
    words: `diagonal J1 ${from} to J${joists} ${to}`,
    kind: "diagonal",
    fields: { from: [1, from], to: [joists, to] },
  }));
}

/** @param {number} joist @param {string} line @returns {Box} */
function level(joist, line) {
  return { group: TIES, words: `level J${joist}, ${line} line`, kind: "level", fields: { joist, line } };
}

/**
 * Every box of a run's field sheet; its number is one more than its place in the list.
 * @param {Sheet} sheet
 * @returns {Box[]} none where no sheet can be printed: without tape lines, or without joists
 */
export function boxesOf(sheet) {
  const { lines, joists } = sheet;
  if (!lines.length || !joists) return [];
  const some = [1, Math.floor((1 + joists) / 2), joists];
  return [
    ...walk(sheet),
    ...[...new Set([1, joists])].flatMap((joist) => alongJoist(joist, lines)),
    ...diagonals(sheet),
    ...[...new Set(some)].flatMap((joist) => [size("depth", joist, lines[0], TIES), level(joist, lines[0])]),
  ];
}
