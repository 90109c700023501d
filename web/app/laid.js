/**
 * How far a plan is laid: the steps that are ticked, what was noted of them, and both as the file that
 * the service plans on from. No DOM.
 * @module laid
 */

/**
 * What was noted of one course.
 * @typedef {object} Landed
 * @property {number} pieces how many of it are laid, from the start wall
 * @property {number} [edge] how far its leading edge lies beyond its place [mm]
 * @property {Record<string, number>} joints how far the end joint behind a piece lies towards the end wall [mm]
 * @property {Record<string, number>} sizes how much longer a piece is than planned [mm]
 * @property {string[]} spoilt boards of no more use
 */

/** @typedef {Record<string, Landed>} Noted by deck and course */
/** @typedef {{deck: any, step: any}} Task a step of the work, of its deck */
/** @typedef {{plan: string, done: number, noted?: Noted}} Kept how many tasks are done, of which plan, and what was noted */
/** @typedef {{tasks: Task[], name: string, done: number, noted: Noted}} Progress */

/** @param {any} plan @returns {Task[]} */
const tasksOf = (plan) =>
  plan?.decks.flatMap((/** @type {any} */ deck) => deck.sequence.map((/** @type {any} */ step) => ({ deck, step }))) ??
  [];

/**
 * What tells one plan from another, so that ticks are never taken over to a plan they are not of.
 * @param {any} plan
 */
function nameOf(plan) {
  const parts = plan?.decks.map((/** @type {any} */ { id, pieces, sequence, openings }) => [
    id,
    sequence.length,
    ...openings.flatMap((/** @type {any} */ { polygon }) => polygon.flat().map(Math.round)),
    ...pieces.map((/** @type {any} */ one) => `${one.id} ${one.board} ${Math.round(one.length)}`),
  ]);
  return JSON.stringify(parts) ?? "";
}

/**
 * What is to be said where readings have come since the as-built that a plan is of.
 * @param {import("./book/types.js").PaperRecord} paper
 * @param {import("./book/survey.js").Survey} survey
 */
export const oldWords = (paper, { asBuiltState: { etag, stale } }) =>
  stale || (paper.made ?? paper).of !== etag ? "Readings have come since: plan it again before you cut." : "";

/**
 * The next step that the plan does not say is done already.
 * @param {Task[]} tasks
 * @param {number} from
 */
export function nextOpen(tasks, from) {
  const at = tasks.findIndex(({ step }, index) => index >= from && !step.done);
  return at < 0 ? tasks.length : at;
}

/**
 * @param {any} plan
 * @param {Kept | undefined} kept
 * @returns {Progress}
 */
export function progressOf(plan, kept) {
  const [tasks, name] = [tasksOf(plan), nameOf(plan)];
  return { tasks, name, done: nextOpen(tasks, 0), noted: {}, ...(kept?.plan === name && kept) };
}

/**
 * The tasks that are done.
 * @param {Progress} progress
 * @param {string} [of] the deck that is asked about alone
 */
export const pastOf = ({ tasks, done }, of) =>
  tasks.filter(({ deck, step }, index) => (index < done || step.done) && deck.id === (of ?? deck.id));

/** @param {Task[]} tasks @param {"pieces" | "noggins"} what @returns {string[]} their ids */
const idsOf = (tasks, what) => tasks.flatMap(({ step }) => step[what]);

/** @param {any} deck @param {Progress} progress @returns {string[]} ids of its pieces that lie */
export const laidOf = (deck, progress) => [
  ...deck.pieces.flatMap((/** @type {any} */ { id, laid }) => (laid ? id : [])),
  ...idsOf(pastOf(progress, deck.id), "pieces"),
];

/** @param {any} deck @param {string} id */
export const courseOf = (deck, id) => deck.pieces.find((/** @type {any} */ one) => one.id === id).course;

/** @param {Task} task that lays a course @returns {string} */
export const keyOf = ({ deck, step }) => `${deck.id} ${courseOf(deck, step.pieces[0])}`;

/**
 * The laid pieces of a course: where one landed elsewhere, it says where its right-hand end is.
 * @param {any} deck
 * @param {any[]} laid from the start wall
 * @param {Landed | undefined} told
 */
function landed({ joints }, laid, told) {
  let off = 0;
  return laid.map(({ id, polygon }) => {
    const meets = joints.some((/** @type {any} */ { right }) => right === id);
    const [joint, longer = 0] = [told?.joints[id], told?.sizes[id]];
    off = joint ?? (meets ? off : 0) + longer;
    const right = Math.max(...polygon.map((/** @type {number[]} */ [x]) => x)) + off;
    return joint === undefined && !longer ? { id } : { id, right };
  });
}

/** @param {any} deck @param {Progress} progress */
function deckFile(deck, progress) {
  /** @type {any[]} */
  const [pieces, courses] = [[], []];
  /** @type {string[]} */
  const spoilt = [];
  const done = laidOf(deck, progress);
  const forth = deck.laid_from === "near" ? 1 : -1;
  for (const { index, y0, y1 } of deck.courses) {
    const told = progress.noted[`${deck.id} ${index}`];
    const row = deck.pieces.filter((/** @type {any} */ { course }) => course === index);
    const laid = told ? row.slice(0, told.pieces) : row.filter((/** @type {any} */ { id }) => done.includes(id));
    pieces.push(...landed(deck, laid, told));
    spoilt.push(...(told?.spoilt ?? []));
    if (told?.edge && laid.length) courses.push({ course: index + 1, edge: (forth > 0 ? y1 : y0) + forth * told.edge });
  }
  const timbers = [...deck.noggins, ...deck.cleats].map((/** @type {any} */ { id }) => id);
  const fixed = idsOf(pastOf(progress, deck.id), "noggins").filter((id) => timbers.includes(id));
  return { id: deck.id, pieces, courses, spoilt: [...new Set(spoilt)], fixed };
}

/**
 * The plan and what is laid of it, as the service goes on from them.
 * @param {any} plan
 * @param {Kept | undefined} kept
 * @returns {{plan: any, laid: any} | undefined} nothing where no work is done on it
 */
export function begunWith(plan, kept) {
  const progress = progressOf(plan, kept);
  const ticked = pastOf(progress).some(({ step }) => step.pieces.length || step.noggins.length);
  if (!ticked && !Object.keys(progress.noted).length && !plan.changes?.laid) return undefined;
  const decks = plan.decks.map((/** @type {any} */ deck) => deckFile(deck, progress));
  return { plan, laid: { format: "baywalk.as-laid", version: 1, survey: plan.survey, decks } };
}

/**
 * How far it has come, in words.
 * @param {Progress} progress
 */
export function progressWords(progress) {
  const decks = [...new Set(progress.tasks.map(({ deck }) => deck))];
  const laid = decks.flatMap((deck) => [...new Set(laidOf(deck, progress))]).length;
  const pieces = idsOf(progress.tasks, "pieces").length;
  const [fixed, timbers] = [pastOf(progress), progress.tasks].map((some) => idsOf(some, "noggins").length);
  return `Pieces laid ${laid} of ${pieces}. Noggins, frames and cleats fixed ${fixed} of ${timbers}.`;
}
