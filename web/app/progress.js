/**
 * How far the walk of a run has come, from the readings that stand. No DOM.
 * @module progress
 */

/** @typedef {Record<string, any>} Entry */

/**
 * @typedef {object} Progress
 * @property {number} readings readings of this run that stand
 * @property {Record<string, number>} bays per tape line, the bays with a reading across them
 * @property {number} wanted bays on each line, 0 while nobody has said where the end wall is
 * @property {boolean} walked every bay on every line has a reading across it
 * @property {number} overalls
 * @property {number} diagonals
 * @property {number} others along, bearing and level
 * @property {number} features
 */

/**
 * The bays that a reading crosses.
 * @param {Entry} entry an `across`
 * @returns {number[]}
 */
function crossed({ from, to }) {
  const [low, high] = from[0] <= to[0] ? [from[0], to[0]] : [to[0], from[0]];
  return Array.from({ length: high - low }, (_, step) => low + step);
}

/**
 * The bays of a line that one reading settles: its own gap, or the step between two running readings.
 * @param {Entry[]} across the readings on this line
 * @param {number} last the end wall's number, 0 while it is open
 * @returns {Set<number>}
 */
function baysRead(across, last) {
  const gaps = across.filter(({ from, to }) => Math.abs(to[0] - from[0]) === 1).flatMap(crossed);
  const running = across.filter(({ hook }) => hook).map(({ from, to }) => Math.max(from[0], to[0]) - 1);
  return new Set([...gaps, ...running].filter((bay) => last === 0 || bay < last));
}

/**
 * How far a run has come.
 * @param {{id: string, lines: string[]}} run
 * @param {number | undefined} fixed how many joists it has, where that is fixed
 * @param {Entry[]} standing the survey's entries that stand
 * @returns {Progress}
 */
export function progressOf(run, fixed, standing) {
  const mine = standing.filter((entry) => entry.run === run.id);
  const of = (/** @type {string[]} */ ...kinds) => mine.filter((entry) => kinds.includes(entry.kind));
  const across = of("across");
  const last = fixed === undefined ? 0 : fixed + 1;
  const onLine = (/** @type {string} */ line) =>
    baysRead(
      across.filter((entry) => entry.line === line),
      last,
    ).size;
  const bays = Object.fromEntries(run.lines.map((line) => [line, onLine(line)]));
  return {
    readings: of("across", "along", "diagonal", "breadth", "depth", "level", "bearing").length,
    bays,
    wanted: last,
    walked: last > 0 && run.lines.every((line) => bays[line] >= last),
    overalls: across.filter(({ from, to }) => last > 0 && from[0] === 0 && to[0] === last).length,
    diagonals: of("diagonal").length,
    others: of("along", "bearing", "level").length,
    features: of("feature").length,
  };
}
