/**
 * Faces of joists and walls along a tape line: their order, their keys, their names.
 * @module closure/faces
 */
import { joistName } from "../words.js";

/** @typedef {import("./types.js").Face} Face */
/** @typedef {import("./types.js").Run} Run */
/** @typedef {import("./types.js").SurveyLike} SurveyLike */

const SIDE = /** @type {Record<string, number>} */ ({ left: 0, face: 1, centre: 1, right: 2 });

/**
 * The run of that id.
 * @param {SurveyLike} survey
 * @param {string} id
 * @returns {Run}
 * @throws {Error} where the survey has no such run
 */
export function runOf(survey, id) {
  const found = survey.head.runs.find((run) => run.id === id);
  if (!found) throw new Error(`This survey has no run ${id}.`);
  return found;
}

/**
 * True while the number of joists still grows: nobody gave it, and nobody has said where the end
 * wall is.
 * @param {SurveyLike} survey
 * @param {string} id the run's id
 * @returns {boolean}
 */
export function isOpen(survey, id) {
  const run = runOf(survey, id);
  if (run.ended === true) return false;
  if (run.ended === false || !(run.joists > 0)) return true;
  const path = `/runs/${id}/joists`;
  return survey.entries.some((entry) => entry.kind === "set" && entry.path === path && survey.standing.has(entry.id));
}

/**
 * The number of joists where it is fixed, for naming the end wall.
 * @param {SurveyLike} survey
 * @param {string} id the run's id
 * @returns {number | undefined} undefined while the run is open
 */
export function fixedJoists(survey, id) {
  return isOpen(survey, id) ? undefined : runOf(survey, id).joists;
}

/**
 * A face with the one name a wall's face has.
 * @param {Face} face
 * @param {number} [joists] the number of joists, where it is fixed
 * @returns {Face}
 */
export function plainFace([joist, side], joists) {
  const wall = joist === 0 || (joists !== undefined && joist > joists);
  return [joist, wall ? "face" : side];
}

/**
 * A key for a face.
 * @param {Face} face
 * @returns {string} such as `4:left`
 */
export function faceKey([joist, side]) {
  return `${joist}:${side}`;
}

/**
 * Orders two faces from the start wall on.
 * @param {Face} one
 * @param {Face} other
 * @returns {number} below 0 where `one` is nearer to the start wall
 */
export function byPlace(one, other) {
  return one[0] - other[0] || (SIDE[one[1]] ?? 1) - (SIDE[other[1]] ?? 1);
}

/**
 * A face in words.
 * @param {Face} face
 * @param {number} [joists] the number of joists, where it is fixed
 * @returns {string} such as `J4 left face`, `wall`, `end wall`
 */
export function faceName([joist, side], joists) {
  const name = joistName(joist, joists);
  if (joist === 0 || name === "end wall") return name;
  return side === "centre" ? `${name} centre` : `${name} ${side} face`;
}
