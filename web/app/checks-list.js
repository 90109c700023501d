/**
 * The cross-checks worth taking in a run: what ties the walk together and what the deck needs. No DOM.
 * @module checks-list
 */
import { joistName } from "./words.js";

/** @typedef {Record<string, any>} Entry */

/** @typedef {"overall" | "diagonal" | "along" | "span" | "bearing" | "edge" | "level"} Group */

/**
 * @typedef {object} Check
 * @property {Group} group
 * @property {string} key the same for the same places
 * @property {string} words where the tape goes
 * @property {string} kind the entry's kind
 * @property {Record<string, unknown>} fields the entry's own fields, without its value
 * @property {[[number, string], [number, string]]} ends joist and place of both ends, for the drawing
 */

/** Heading of each group and what it is good for. */
export const GROUPS = /** @type {[Group, string, string][]} */ ([
  ["overall", "Overall", "From wall to wall along a tape line. It catches a slip in any bay."],
  ["diagonal", "Diagonals", "Corner to corner. They tell whether the run is square."],
  ["along", "Along a joist", "From tape line to tape line. They tell how far the lines lie apart."],
  ["edge", "Edges", "From a tape line to where the deck must stop. The deck plan needs them."],
  ["span", "Span", "Clear, from support to support. The load check needs it of every joist."],
  ["bearing", "Bearing", "How much of the joist's end rests on its support."],
  ["level", "Levels", "From a level line down to the joist's top. A larger figure is a lower joist."],
]);

/** @param {Group} group @param {string} kind @param {string} words @param {Record<string, unknown>} fields @param {Check["ends"]} ends @returns {Check} */
function check(group, kind, words, fields, ends) {
  return { group, kind, words, fields, ends, key: `${kind} ${JSON.stringify(fields)}` };
}

/** @param {any} run @param {number} joists @returns {Check[]} */
function overalls({ lines }, joists) {
  const ends = (/** @type {string} */ line) =>
    /** @type {Check["ends"]} */ ([
      [0, line],
      [joists + 1, line],
    ]);
  return lines.map((/** @type {string} */ line) =>
    check(
      "overall",
      "across",
      `${line} line, wall to end wall`,
      { line, from: [0, "face"], to: [joists + 1, "face"] },
      ends(line),
    ),
  );
}

/** @param {number} from @param {number} to @param {string} first @param {string} second */
function diagonal(from, to, first, second) {
  const words = `${joistName(from)} at the ${first} line to ${joistName(to)} at the ${second} line, centre to centre`;
  return check("diagonal", "diagonal", words, { from: [from, first], to: [to, second] }, [
    [from, first],
    [to, second],
  ]);
}

/** @param {any} run @param {number} joists @returns {Check[]} */
function diagonals({ lines }, joists) {
  if (lines.length < 2 || joists < 2) return [];
  const [first, last] = [lines[0], lines[lines.length - 1]];
  return [diagonal(1, joists, first, last), diagonal(1, joists, last, first)];
}

/** @param {Group} group @param {number} joist @param {string} from @param {string} to @param {string} words */
function along(group, joist, from, to, words) {
  return check(group, "along", `${joistName(joist)}, ${words}`, { joist, from, to }, [
    [joist, from],
    [joist, to],
  ]);
}

/**
 * All that may be read along one joist.
 * @param {any} run
 * @param {number} joist
 * @returns {Check[]}
 */
function alongJoist({ lines }, joist) {
  const [first, last] = [lines[0], lines[lines.length - 1]];
  const between = lines
    .slice(1)
    .map((/** @type {string} */ line) => along("along", joist, first, line, `${first} line to ${line} line`));
  return [
    ...between,
    along("edge", joist, "near_edge", first, `near edge to ${first} line`),
    along("edge", joist, last, "far_edge", `${last} line to far edge`),
  ];
}

/** @param {number} joist */
const span = (joist) => along("span", joist, "near_support", "far_support", "near support to far support");

/** @param {number} joist @returns {Check[]} */
function bearings(joist) {
  return ["near", "far"].map((end) =>
    check("bearing", "bearing", `${joistName(joist)}, ${end} end`, { joist, end }, [
      [joist, `${end}_edge`],
      [joist, `${end}_support`],
    ]),
  );
}

/** @param {any} run @param {number} joist @returns {Check[]} */
function levels({ lines }, joist) {
  return lines.map((/** @type {string} */ line) =>
    check("level", "level", `${joistName(joist)} at the ${line} line`, { joist, line }, [
      [joist, line],
      [joist, line],
    ]),
  );
}

/**
 * The joists at which a run is usually checked: the first, the last, and one in the middle.
 * @param {number} joists
 * @returns {number[]}
 */
function some(joists) {
  return [...new Set([1, Math.ceil(joists / 2), joists])].filter((joist) => joist >= 1);
}

/**
 * The cross-checks of a run, in the order in which they are useful.
 * @param {any} run a run of the survey's head
 * @param {number | undefined} fixed how many joists it has, where that is fixed
 * @param {number | null} [joist] one joist, for what is read on it alone; null takes the usual ones
 * @returns {Check[]} without what needs the end wall while nobody has said where it is
 */
export function checksOf(run, fixed, joist = null) {
  const { joists } = run;
  if (joist !== null) return [...alongJoist(run, joist), span(joist), ...bearings(joist), ...levels(run, joist)];
  const at = some(joists);
  const every = Array.from({ length: joists }, (_, index) => index + 1);
  return [
    ...(fixed === undefined ? [] : [...overalls(run, fixed), ...diagonals(run, fixed)]),
    ...at.flatMap((one) => alongJoist(run, one)),
    // A joist without a span is not checked, and one that hardly bears is told by its bearing alone.
    ...every.map(span),
    ...every.flatMap(bearings),
    ...every.flatMap((one) => levels(run, one)),
  ];
}

/** @param {unknown} a @param {unknown} b */
const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);

/** A wall has one face, so its name says nothing. @param {unknown} end @param {number | undefined} fixed */
function plain(end, fixed) {
  const wall = Array.isArray(end) && (end[0] === 0 || (fixed !== undefined && end[0] === fixed + 1));
  return wall ? [end[0]] : end;
}

/**
 * The readings that stand for a check, whichever way round the tape lay.
 * @param {Check} which
 * @param {string} run the run's id
 * @param {number | undefined} fixed how many joists it has, where that is fixed
 * @param {Entry[]} standing
 * @returns {Entry[]}
 */
export function takenFor({ kind, fields }, run, fixed, standing) {
  const { from, to, ...rest } = fields;
  const ends = [plain(from, fixed), plain(to, fixed)];
  return standing.filter((entry) => {
    if (entry.kind !== kind || entry.run !== run) return false;
    const theirs = [plain(entry.from, fixed), plain(entry.to, fixed)];
    const fits = same(theirs, ends) || same([...theirs].reverse(), ends);
    return fits && Object.entries(rest).every(([name, value]) => same(entry[name], value));
  });
}
