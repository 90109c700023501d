/**
 * Sorts the standing entries of one run by what they measure.
 * @module closure/tally
 */
import { byPlace, faceKey, fixedJoists, isOpen, plainFace, runOf } from "./faces.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Face} Face */
/** @typedef {import("./types.js").Run} Run */
/** @typedef {import("./types.js").SurveyLike} SurveyLike */

/** @typedef {Entry & {value: number}} Size a breadth or a depth [mm] */

/**
 * A reading along a tape line, its faces in order from the start wall.
 * @typedef {object} Across
 * @property {Entry} entry
 * @property {string} line
 * @property {Face} from
 * @property {Face} to
 * @property {number} value [mm]
 * @property {boolean} gap true for a clear gap between neighbours
 */

/**
 * The standing readings of a run.
 * @typedef {object} Tally
 * @property {Run} run
 * @property {boolean} open true while the number of joists still grows
 * @property {number | undefined} joists the number of joists, where it is fixed
 * @property {string | undefined} tape the tape's class
 * @property {Across[]} across
 * @property {Map<number, Size[]>} breadths by joist
 * @property {Map<number, Size[]>} depths by joist
 * @property {Entry[]} unreached what could not be reached
 */

/**
 * @param {Entry} entry
 * @param {number} [joists]
 * @returns {Across}
 */
function readAcross(entry, joists) {
  const ends = [plainFace(entry.from, joists), plainFace(entry.to, joists)].sort(byPlace);
  const [from, to] = ends;
  const faces = (from[0] === 0 || from[1] === "right") && (to[1] === "face" || to[1] === "left");
  return { entry, line: entry.line, from, to, value: entry.value, gap: faces && to[0] === from[0] + 1 };
}

/** @param {Entry} entry an entry of an odd shape came from elsewhere and is left aside */
function soundAcross({ kind, from, to, value }) {
  return kind === "across" && Array.isArray(from) && Array.isArray(to) && Number.isFinite(value);
}

/**
 * @param {Entry[]} entries
 * @param {string} kind
 * @returns {Map<number, Size[]>}
 */
function byJoist(entries, kind) {
  /** @type {Map<number, Size[]>} */
  const found = new Map();
  const sizes = /** @type {Size[]} */ (entries.filter((entry) => entry.kind === kind && Number.isFinite(entry.value)));
  sizes.forEach((entry) => found.set(entry.joist, [...(found.get(entry.joist) ?? []), entry]));
  return found;
}

/** What was sorted, by the list of entries it was sorted from. @type {WeakMap<Entry[], Map<string, Tally>>} */
const sortedBefore = new WeakMap();

/**
 * Sorts what stands of a run. A survey never changes its list of entries but makes another, so the
 * same list is sorted once, however many ask.
 * @param {SurveyLike} survey
 * @param {string} id the run's id
 * @returns {Tally}
 * @throws {Error} where the survey has no such run
 */
export function tally(survey, id) {
  const known = sortedBefore.get(survey.entries) ?? new Map();
  sortedBefore.set(survey.entries, known);
  const found = known.get(id) ?? sort(survey, id);
  known.set(id, found);
  return found;
}

/**
 * @param {SurveyLike} survey
 * @param {string} id
 * @returns {Tally}
 */
function sort(survey, id) {
  const run = runOf(survey, id);
  const joists = fixedJoists(survey, id);
  const mine = survey.entries.filter((entry) => entry.run === id && survey.standing.has(entry.id));
  return {
    run,
    joists,
    open: isOpen(survey, id),
    tape: survey.head.tape?.class,
    across: mine.filter(soundAcross).map((entry) => readAcross(entry, joists)),
    breadths: byJoist(mine, "breadth"),
    depths: byJoist(mine, "depth"),
    unreached: mine.filter((entry) => entry.kind === "unreached"),
  };
}

/**
 * The mean of some readings.
 * @param {{value: number}[]} readings at least one
 * @returns {number} [mm]
 */
export function mean(readings) {
  return readings.reduce((sum, { value }) => sum + value, 0) / readings.length;
}

/**
 * The middle value, which one slip among many does not move.
 * @param {number[]} values
 * @returns {number | null} [mm] null where there is none
 */
export function median(values) {
  const sorted = [...values].sort((one, other) => one - other);
  if (!sorted.length) return null;
  const half = sorted.length >> 1;
  return sorted.length % 2 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}

/**
 * Readings of the same two faces, together.
 * @param {Across[]} readings
 * @returns {Across[][]}
 */
export function sameFaces(readings) {
  /** @type {Map<string, Across[]>} */
  const groups = new Map();
  readings.forEach((reading) => {
    const key = `${reading.line} ${faceKey(reading.from)} ${faceKey(reading.to)}`;
    groups.set(key, [...(groups.get(key) ?? []), reading]);
  });
  return [...groups.values()];
}
