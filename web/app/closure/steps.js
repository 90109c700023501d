/**
 * Which dimension to ask for next, in an order chosen for the body.
 * @module closure/steps
 */
import { tally } from "./tally.js";

/** @typedef {import("./tally.js").Tally} Tally */
/** @typedef {import("./types.js").Face} Face */
/** @typedef {import("./types.js").SurveyLike} SurveyLike */

/**
 * A way of working. `out-and-back`: out along one tape line and back along the next. `both-ends`:
 * every tape line at each bay before the next bay. `running`: out and back, each line from one zero.
 * @typedef {"out-and-back" | "both-ends" | "running"} WayOfWork
 */

/**
 * One dimension to ask for.
 * @typedef {object} Step
 * @property {string} key names it among the steps of its run
 * @property {"across" | "breadth" | "depth"} kind
 * @property {string} line the tape line one is kneeling at
 * @property {number} bay the bay it belongs to
 * @property {number} [joist] for a breadth or a depth
 * @property {Face} [from] for a reading across
 * @property {Face} [to]
 * @property {string} [hook] for a running reading, the tape's present set-up
 */

/**
 * Where the tape is hooked for running readings.
 * @typedef {object} Hook
 * @property {string} id
 * @property {string} line
 * @property {Face} zero
 */

/**
 * @param {Tally} tally
 * @returns {number} the last bay worth asking for: the bay at the end wall, or the one not yet seen
 */
function lastBay({ run, joists }) {
  return joists ?? Math.max(run.joists, 0);
}

/**
 * @param {Tally} tally
 * @param {number} bay
 * @returns {{from: Face, to: Face}}
 */
function bayFaces({ joists }, bay) {
  const to = /** @type {Face} */ (bay === joists ? [bay + 1, "face"] : [bay + 1, "left"]);
  return { from: bay === 0 ? [0, "face"] : [bay, "right"], to };
}

/** @param {Tally} tally @param {string} line @param {number} bay @returns {Step} */
function gapStep(tally, line, bay) {
  return { key: `${line}:${bay}`, kind: "across", line, bay, ...bayFaces(tally, bay) };
}

/** @param {"breadth" | "depth"} kind @param {number} joist @param {string} line @returns {Step} */
export function sizeStep(kind, joist, line) {
  return { key: `${kind}:${joist}`, kind, line, bay: Math.max(0, joist - 1), joist };
}

/**
 * A bay at its first tape line, and the size of the joist beyond it, once.
 * @param {Tally} tally
 * @param {string} line
 * @param {number} bay
 * @returns {Step[]}
 */
function bayWithJoist(tally, line, bay) {
  const steps = [gapStep(tally, line, bay)];
  const joist = bay + 1;
  // The joist beyond the last bay is the wall, or nobody has found it yet.
  if (joist <= tally.run.joists) steps.push(sizeStep("breadth", joist, line));
  const unknown = tally.run.member?.depth === undefined;
  if (joist === 1 && unknown && tally.run.joists > 0) steps.push(sizeStep("depth", joist, line));
  return steps;
}

/** @param {Tally} tally @returns {number[]} */
function bays(tally) {
  return Array.from({ length: lastBay(tally) + 1 }, (_, bay) => bay);
}

/** @param {Tally} tally @returns {Step[]} */
function outAndBack(tally) {
  const [first, ...others] = tally.run.lines;
  const out = bays(tally).flatMap((bay) => bayWithJoist(tally, first, bay));
  const rest = others.flatMap((line, at) => {
    const order = at % 2 === 0 ? bays(tally).reverse() : bays(tally);
    return order.map((bay) => gapStep(tally, line, bay));
  });
  return [...out, ...rest];
}

/** @param {Tally} tally @returns {Step[]} */
function bothEnds(tally) {
  const { lines } = tally.run;
  return bays(tally).flatMap((bay) => {
    // One stays at the end where one is and takes the next bay from there.
    const order = bay % 2 === 0 ? lines : [...lines].reverse();
    return order.flatMap((line) => (line === lines[0] ? bayWithJoist(tally, line, bay) : [gapStep(tally, line, bay)]));
  });
}

/**
 * Every dimension of the run as far as it is known, in the order of that way of work.
 * @param {SurveyLike} survey
 * @param {string} run the run's id
 * @param {WayOfWork} way
 * @returns {Step[]}
 */
export function steps(survey, run, way) {
  const sorted = tally(survey, run);
  return way === "both-ends" ? bothEnds(sorted) : outAndBack(sorted);
}

/**
 * The readings that answer a step.
 * @param {Tally} tally
 * @param {Step} step
 * @returns {import("./types.js").Entry[]}
 */
export function readingsOf({ across, breadths, depths }, { kind, line, bay, joist }) {
  if (kind !== "across") return (kind === "breadth" ? breadths : depths).get(Number(joist)) ?? [];
  const answers = across.filter(
    ({ line: own, gap, from, entry }) => own === line && ((gap && from[0] === bay) || isHooked(entry, bay)),
  );
  return answers.map(({ entry }) => entry);
}

/**
 * True where a running reading has come to the far side of the bay, as seen from its zero.
 * @param {import("./types.js").Entry} entry
 * @param {number} bay
 */
function isHooked({ hook, from, to }, bay) {
  return Boolean(hook) && to[0] === (from[0] <= bay ? bay + 1 : bay);
}

/**
 * @param {Tally} tally
 * @param {Step} step
 * @returns {boolean} true where it was read or could not be reached
 */
function isDone(tally, step) {
  return readingsOf(tally, step).length > 0 || tally.unreached.some((entry) => isMissed(entry, step));
}

/** @param {import("./types.js").Entry} entry @param {Step} step */
function isMissed(entry, { kind, line, bay, joist }) {
  return kind === "across" ? entry.line === line && bayOf(entry) === bay : entry.joist === joist && entry.of === kind;
}

/** @param {import("./types.js").Entry} entry one written elsewhere may name its faces alone */
function bayOf({ bay, from, to }) {
  if (Number.isInteger(bay) || !Array.isArray(from) || !Array.isArray(to)) return bay;
  return Math.min(from[0], to[0]);
}

/**
 * The first dimension that still wants reading.
 * @param {SurveyLike} survey
 * @param {string} run the run's id
 * @param {WayOfWork} way
 * @param {Set<string>} [aside] keys of steps put aside for now
 * @param {number} [first] a bay to be asked about before all others
 * @returns {Step | null} null where nothing is left to ask
 */
export function nextStep(survey, run, way, aside = new Set(), first = NaN) {
  const sorted = tally(survey, run);
  const all = steps(survey, run, way);
  const wants = (/** @type {Step} */ step) => !aside.has(step.key) && !isDone(sorted, step);
  return all.find((step) => step.bay === first && wants(step)) ?? all.find(wants) ?? null;
}

/**
 * How far the walk has come.
 * @param {SurveyLike} survey
 * @param {string} run the run's id
 * @param {WayOfWork} way
 * @returns {{done: number, all: number, open: boolean}} `open` while the number of joists may grow
 */
export function progress(survey, run, way) {
  const sorted = tally(survey, run);
  const all = steps(survey, run, way);
  return { done: all.filter((step) => isDone(sorted, step)).length, all: all.length, open: sorted.open };
}

/**
 * True where a tape line is walked from the end wall back to the start wall.
 * @param {string[]} lines the run's tape lines
 * @param {string} line
 * @returns {boolean}
 */
export function goesBack(lines, line) {
  return lines.indexOf(line) % 2 === 1;
}

/**
 * The same step, read from the tape's zero: to the first face of the joist one comes to.
 * @param {Step} step a reading across one bay
 * @param {Hook} hook where the tape is hooked
 * @param {boolean} back true where one walks from the end wall to the start wall
 * @returns {Step}
 */
export function runningStep(step, hook, back) {
  const to = /** @type {Face} */ (back ? step.from : step.to);
  return { ...step, from: hook.zero, to, hook: hook.id };
}

/**
 * The tape's last set-up along a line, as the readings tell it.
 * @param {SurveyLike} survey
 * @param {string} run the run's id
 * @param {string} line
 * @returns {Hook | null}
 */
export function lastHook(survey, run, line) {
  const found = tally(survey, run).across.filter(({ entry }) => entry.line === line && entry.hook);
  const entry = found.at(-1)?.entry;
  return entry ? { id: entry.hook, line, zero: entry.from } : null;
}
