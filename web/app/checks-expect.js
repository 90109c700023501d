/**
 * About what a cross-check will read, so that a slip of ten can be questioned. No DOM.
 * @module checks-expect
 */
import { chain } from "./closure/chain.js";
import { rule } from "./closure/pack.js";
import { median, tally } from "./closure/tally.js";

/** @typedef {import("./checks-list.js").Check} Check */
/** @typedef {import("./closure/types.js").Pack} Pack */
/** @typedef {import("./closure/types.js").SurveyLike} SurveyLike */

/**
 * @param {Check} check
 * @param {SurveyLike} survey
 * @param {string} run
 * @param {Pack} pack
 * @returns {number | null} [mm]
 */
function sumOfParts({ fields }, survey, run, pack) {
  const line = String(fields.line);
  const way = chain(tally(survey, run), line, pack).between(
    /** @type {any} */ (fields.from),
    /** @type {any} */ (fields.to),
  );
  return way && Math.abs(way.value);
}

/** The places of a check, whichever joist it is on. @param {Record<string, unknown>} fields */
function places({ from, to, end, line }) {
  const ends = [from, to].filter((place) => typeof place === "string").sort();
  return JSON.stringify([ends, end, line]);
}

/**
 * About what this check will read: the sum of its parts, or the like reading elsewhere in the run.
 * @param {Check} check
 * @param {SurveyLike} survey
 * @param {string} run the run's id
 * @param {Pack} pack
 * @returns {number | null} [mm]; null where nothing tells yet
 */
export function expectCheck(check, survey, run, pack) {
  if (check.kind === "across") return sumOfParts(check, survey, run, pack);
  const like = survey.entries.filter((entry) => {
    const stands = survey.standing.has(entry.id) && entry.run === run && entry.kind === check.kind;
    return stands && (check.kind === "diagonal" || places(entry) === places(check.fields));
  });
  return median(like.map((entry) => entry.value));
}

/**
 * True where a reading is so far from what it should be about that a digit may have slipped.
 * @param {number} value [mm]
 * @param {number | null} about [mm]
 * @param {Pack} pack
 * @returns {boolean}
 */
export function isFar(value, about, pack) {
  const limit = rule(pack, "closure.tenfold");
  if (about === null || about <= 0) return false;
  return value <= 0 || value / about > limit || about / value > limit;
}
