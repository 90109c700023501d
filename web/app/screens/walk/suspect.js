/**
 * The sheet about a reading that the others stand against: take it again, strike it out or keep it, each
 * at one touch, and the one reading more that would settle it.
 * @module screens/walk/suspect
 */
import { at } from "../../router.js";
import { whereRead } from "./write.js";

/** @typedef {import("../../judged.js").Judged} Judged */
/** @typedef {import("../../closure/types.js").Entry} Entry */
/** @typedef {import("./controller.js").Walk} Walk */
/** @typedef {import("./sheet.js").Choice} Choice */
/** @typedef {import("./sheet.js").Sheet} Sheet */

/**
 * What to do about it.
 * @param {Walk} walk
 * @param {Judged} notice
 * @returns {Sheet | null} without its title; null where the reading is there no more
 */
export function suspectSheet(walk, notice) {
  const { survey } = walk;
  const entry = survey.entries.find(({ id }) => id === notice.readings[0]);
  if (!entry) return null;
  const strike = () => decide(walk, survey.strike(entry.id, notice.reason), `${entry.value} struck out.`);
  const keep = () => {
    const fields = { run: walk.run, target: entry.id, reason: "looked at again" };
    decide(walk, survey.add("keep", fields), `${entry.value} kept.`);
  };
  /** @type {Choice[]} */
  const choices = [
    againKey(walk, entry, "main"),
    ...settling(walk, notice, entry),
    { words: `Strike out ${entry.value}`, act: strike },
    { words: `Keep ${entry.value}`, act: keep },
  ];
  return { title: "", text: notice.say, choices };
}

/**
 * The choice that takes a reading again: here where the walk takes such readings, else among the cross-checks.
 * @param {Walk} walk
 * @param {Entry} entry
 * @param {Choice["kind"]} kind
 * @returns {Choice}
 */
export function againKey(walk, entry, kind) {
  const here = ["across", "breadth", "depth"].includes(entry.kind);
  return {
    words: `Take again ${whereRead(walk, entry)}: ${entry.value}`,
    kind,
    act: () => {
      if (!here) return walk.go(at(walk.survey.id, "checks", walk.run));
      walk.state.callAgain(entry);
      walk.lay(null);
    },
  };
}

/**
 * @param {Walk} walk
 * @param {{saved: Promise<void>}} written
 * @param {string} words
 */
function decide(walk, { saved }, words) {
  walk.lay(null);
  walk.follow(saved, words);
}

/**
 * The reading that would settle it, where it is another one.
 * @param {Walk} walk
 * @param {Judged} notice
 * @param {Entry} entry the reading in question
 * @returns {Choice[]}
 */
function settling(walk, { settle, settleSay }, entry) {
  if (!settle || whereRead(walk, /** @type {Entry} */ (settle)) === whereRead(walk, entry)) return [];
  const act = () => {
    if (settle.kind !== "across" && settle.kind !== "breadth") return walk.go(at(walk.survey.id, "checks", walk.run));
    walk.state.callFor(settle);
    walk.lay(null);
  };
  return [{ words: `To settle it, read ${settleSay}`, act }];
}
