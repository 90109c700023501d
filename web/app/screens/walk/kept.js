/**
 * Keeps how a run is being walked, so that a page that was closed goes on as it was.
 * @module screens/walk/kept
 */

/** @typedef {import("../../book/book.js").Book} Book */
/** @typedef {import("../../closure/steps.js").Hook} Hook */
/** @typedef {import("../../closure/steps.js").WayOfWork} WayOfWork */

/**
 * @typedef {object} Kept
 * @property {WayOfWork} way
 * @property {Hook | null} hook where the tape is hooked for running readings
 * @property {string[]} left keys of the notices the person has answered with "it is so"
 */

/** @param {string} survey @param {string} run */
const name = (survey, run) => `walk ${survey} ${run}`;

/**
 * What was kept of a run's walk.
 * @param {Book} book
 * @param {string} survey the survey's id
 * @param {string} run the run's id
 * @returns {Promise<Kept>} how a walk begins, where nothing was kept
 */
export async function kept(book, survey, run) {
  return { way: "out-and-back", hook: null, left: [], ...(await book.kept(name(survey, run))) };
}

/**
 * Keeps it. Nothing of the survey hangs on it: the readings are in the field book, and running
 * readings carry their zero. So a walk does not wait for it.
 * @param {Book} book
 * @param {string} survey the survey's id
 * @param {string} run the run's id
 * @param {Kept} what
 */
export function keep(book, survey, run, what) {
  book.keep(name(survey, run), what).catch(() => undefined);
}
