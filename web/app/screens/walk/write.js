/**
 * Writes into the field book what the walk takes, and strikes out what is undone.
 * @module screens/walk/write
 */
import { entryFigure, entryWords } from "../../entry-words.js";
import { faceName, fixedJoists, isOpen, runOf } from "../../closure/faces.js";
import { bayName, joistName } from "../../words.js";

/** @typedef {import("../../book/survey.js").Survey} Survey */
/** @typedef {import("../../closure/steps.js").Step} Step */
/** @typedef {import("../../closure/types.js").Entry} Entry */
/** @typedef {{entry: Entry, saved: Promise<void>}} Written */

/**
 * In an open run a reading to the next joist says that there is one more. The count goes first, so
 * that a crash between the two leaves a joist still to be read and never a reading beyond the run.
 * @param {Survey} survey
 * @param {string} run
 * @param {Step} step
 */
function growRun(survey, run, { kind, from, to }) {
  if (kind !== "across" || !from || !to || !isOpen(survey, run)) return;
  const furthest = Math.max(from[0], to[0]);
  if (furthest > runOf(survey, run).joists) survey.set(`/runs/${run}/joists`, furthest);
}

/**
 * Writes the reading of a step.
 * @param {Survey} survey
 * @param {string} run the run's id
 * @param {Step} step
 * @param {number} value [mm]
 * @param {string} [note] what was done to the figure before it was taken
 * @returns {Written}
 */
export function writeReading(survey, run, step, value, note = "") {
  growRun(survey, run, step);
  const extra = { ...(step.hook && { hook: step.hook }), ...(note && { note }) };
  if (step.kind !== "across") return survey.add(step.kind, { run, joist: step.joist, value, ...extra });
  return survey.add("across", { run, line: step.line, from: step.from, to: step.to, value, ...extra });
}

/**
 * Writes that a step's reading could not be taken.
 * @param {Survey} survey
 * @param {string} run the run's id
 * @param {Step} step
 * @param {string} reason
 * @returns {Written}
 */
export function writeUnreached(survey, run, step, reason) {
  growRun(survey, run, step);
  const { kind, line, bay, from, to, joist } = step;
  if (kind !== "across") return survey.add("unreached", { run, joist, of: kind, reason });
  return survey.add("unreached", { run, line, bay, from, to, reason });
}

/**
 * Says that the bay in hand ends at the end wall.
 * @param {Survey} survey
 * @param {string} run the run's id
 * @param {number} joists how many joists there are then
 * @returns {Written}
 */
export function writeEnd(survey, run, joists) {
  if (runOf(survey, run).joists !== joists) survey.set(`/runs/${run}/joists`, joists);
  return survey.set(`/runs/${run}/ended`, true);
}

/**
 * Says that what was taken for the end wall is a joist: the run grows again.
 * @param {Survey} survey
 * @param {string} run the run's id
 * @returns {Written}
 */
export function writeOpen(survey, run) {
  return survey.set(`/runs/${run}/ended`, false);
}

/** @param {Entry} entry @param {string} run @returns {boolean} true where it is about that run */
function isAbout(entry, run) {
  if (entry.kind === "set") return [`/runs/${run}/joists`, `/runs/${run}/ended`].includes(entry.path);
  return entry.run === run && entry.kind !== "strike" && entry.kind !== "restore";
}

/**
 * What undo would strike out: the last thing this phone wrote about the run, and with it the count
 * of joists that it brought along.
 * @param {Survey} survey
 * @param {string} run the run's id
 * @param {string} device the phone's id
 * @returns {Entry[]} the thing itself first; none where there is nothing to undo
 */
export function lastWritten(survey, run, device) {
  const own = survey.entries.filter(
    (entry) => entry.by === device && survey.standing.has(entry.id) && isAbout(entry, run),
  );
  const [before, last] = [own.at(-2), own.at(-1)];
  if (!last) return [];
  const brought = before?.kind === "set" && before.path.endsWith("/joists") && before.n === (last.n ?? 0) - 1;
  const grew = last.kind === "set" ? last.value === true : reaches(last, before?.value);
  return brought && grew ? [last, before] : [last];
}

/** @param {Entry} entry @param {unknown} joist */
function reaches({ from, to }, joist) {
  return Array.isArray(from) && Array.isArray(to) && Math.max(from[0], to[0]) === joist;
}

/**
 * Strikes out the last thing this phone wrote about the run.
 * @param {Survey} survey
 * @param {string} run the run's id
 * @param {string} device the phone's id
 * @returns {{entry: Entry, saved: Promise<void>[]} | null} null where there was nothing to undo
 */
export function undoLast(survey, run, device) {
  const found = lastWritten(survey, run, device);
  const saved = found.map(({ id }) => survey.strike(id, "undone").saved);
  return found.length ? { entry: found[0], saved } : null;
}

/**
 * The last thing that was undone and still is.
 * @param {Survey} survey
 * @param {string} run the run's id
 * @param {string} device the phone's id
 * @returns {Entry | null}
 */
export function lastUndone(survey, run, device) {
  const strikes = survey.entries.filter(
    (entry) => entry.kind === "strike" && entry.by === device && entry.reason === "undone",
  );
  const targets = strikes.reverse().map(({ target }) => survey.entries.find(({ id }) => id === target));
  return targets.find((entry) => entry && entry.run === run && !survey.standing.has(entry.id)) ?? null;
}

/**
 * Puts back what was undone, and the count of joists with it.
 * @param {Survey} survey
 * @param {string} run the run's id
 * @param {Entry} entry
 * @returns {Promise<void>[]}
 */
export function putBack(survey, run, entry) {
  const restored = survey.restore(entry.id).saved;
  const { from, to } = entry;
  if (!isOpen(survey, run) || !Array.isArray(from) || !Array.isArray(to)) return [restored];
  const furthest = Math.max(from[0], to[0]);
  return furthest > runOf(survey, run).joists
    ? [restored, survey.set(`/runs/${run}/joists`, furthest).saved]
    : [restored];
}

/**
 * Where a reading was taken, as briefly as it can be told.
 * @param {{survey: Survey, run: string}} walk
 * @param {Entry} entry
 * @returns {string} such as `J3–J4, near line`
 */
export function whereRead({ survey, run }, entry) {
  const joists = fixedJoists(survey, run);
  const { kind, line, from, to, joist, hook } = entry;
  if (kind === "breadth" || kind === "depth") return `${joistName(joist, joists)} ${kind}`;
  if (kind !== "across") return entryWords(entry, joists);
  const bay = !hook && Math.abs(from[0] - to[0]) === 1;
  const faces = bay
    ? bayName(Math.min(from[0], to[0]), joists)
    : `${faceName(from, joists)} to ${faceName(to, joists)}`;
  return `${faces}, ${line} line`;
}

/**
 * An entry as briefly as it can be told on the spot.
 * @param {{survey: Survey, run: string}} walk
 * @param {Entry} entry
 * @returns {string} such as `J3–J4 353`
 */
export function brief(walk, entry) {
  const { kind, to, value } = entry;
  const bare = ["across", "breadth", "depth"].includes(kind);
  if (kind === "across" && entry.hook) return `${faceName(to, fixedJoists(walk.survey, walk.run))} ${value}`;
  if (bare) return `${whereRead(walk, entry).replace(/, \w+ line$/, "")} ${value}`;
  return told(walk.survey, walk.run, entry);
}

/**
 * An entry in a few words with its figure.
 * @param {Survey} survey
 * @param {string} run the run's id
 * @param {Entry} entry
 * @returns {string} such as `near line, J3 right to J4 left, 353`
 */
export function told(survey, run, entry) {
  const words = entry.kind === "set" ? "where the run ends" : entryWords(entry, fixedJoists(survey, run));
  const figure = entry.kind === "set" ? "" : entryFigure(entry);
  return figure ? `${words}: ${figure}` : words;
}
