/**
 * What each key of the walk does.
 * @module screens/walk/acts
 */
import { tally } from "../../closure/tally.js";
import { remarkSheet } from "./choices.js";
import { hereSheet } from "./noting.js";
import { readySound } from "./sound.js";
import { writeEnd, writeOpen } from "./write.js";

/** @typedef {import("./controller.js").Walk} Walk */

/**
 * The last reading of the kind that is asked for.
 * @param {Walk} walk
 * @returns {number | null} [mm] null where there is none, or none that could be the same
 */
export function lastLike({ survey, run, state }) {
  const step = state.step();
  if (!step || state.noting || state.called[0]?.again || step.hook) return null;
  const { across, breadths, depths } = tally(survey, run);
  if (step.kind === "across") return across.filter(({ gap, entry }) => gap && !entry.hook).at(-1)?.value ?? null;
  const read = [...(step.kind === "breadth" ? breadths : depths).values()].flat();
  // A map keeps the order of first reading, so the last is found by its place in the book.
  const order = new Map(survey.entries.map(({ id }, at) => [id, at]));
  const place = (/** @type {{id: string}} */ { id }) => Number(order.get(id));
  return read.sort((one, other) => place(one) - place(other)).at(-1)?.value ?? null;
}

/** @param {Walk} walk */
function same(walk) {
  readySound();
  const value = lastLike(walk);
  if (value === null) return walk.say("There is no last reading to repeat.");
  const step = walk.state.step();
  if (step) walk.put(step, value);
}

/**
 * The joist after which the end wall would come, if it came next.
 * @param {Walk} walk
 * @returns {number}
 */
function lastJoist({ state }) {
  const step = state.walkStep();
  return step?.kind === "across" ? step.bay : (step?.joist ?? 0);
}

/**
 * Why the end wall cannot come next.
 * @param {Walk} walk
 * @returns {string} empty where it can
 */
function whyNoEnd(walk) {
  const { survey, run } = walk;
  const last = lastJoist(walk);
  if (last < 1) return "A run has at least one joist. Read that first.";
  const { across, breadths } = tally(survey, run);
  const furthest = Math.max(
    0,
    ...breadths.keys(),
    ...across.filter(({ to }) => to[1] !== "face").map(({ to }) => to[0]),
  );
  return furthest > last ? `There are readings beyond J${last}. If the wall is here, undo those first.` : "";
}

/** @param {Walk} walk */
function end(walk) {
  if (walk.state.atEnd()) {
    walk.follow(writeOpen(walk.survey, walk.run).saved, "Not the wall: one more joist.");
    return walk.show();
  }
  const why = whyNoEnd(walk);
  if (why) return walk.say(why);
  const last = lastJoist(walk);
  walk.follow(writeEnd(walk.survey, walk.run, last).saved, `The end wall comes after J${last}.`);
  walk.show();
}

/** @param {Walk} walk */
function upper(walk) {
  if (walk.typed.text) return walk.typed.erase();
  if (walk.state.noting) return walk.answer(null);
  if (!walk.state.called.length) return walk.cannot();
  walk.passed();
  walk.show();
}

/** @param {Walk} walk */
function size(walk) {
  walk.state.callSize();
  walk.show();
}

/**
 * The acts of the keys.
 * @param {Walk} walk
 * @returns {import("./hands.js").Acts}
 */
export function handActs(walk) {
  const { state } = walk;
  return {
    digit: (digit) => walk.typed.digit(digit),
    save: () => walk.save(),
    upper: () => upper(walk),
    middle: () => (state.step()?.hook && !state.called.length ? walk.rehook() : same(walk)),
    size: () => size(walk),
    undo: () => walk.undo(),
    more: () => walk.more(),
    here: () => walk.lay(hereSheet(walk)),
    photo: () => walk.photo(),
    remark: () => walk.lay(remarkSheet(walk)),
    end: () => end(walk),
    running: () => walk.work(state.way === "running" ? "out-and-back" : "running"),
  };
}
