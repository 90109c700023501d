/**
 * The fold: a head and a set of entries in, the survey out, whatever order they came in.
 * @module book/fold
 */
import { inOrder } from "./order.js";
import { apply } from "./pointer.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Head} Head */

/**
 * What a head and its entries amount to.
 * @typedef {object} Folded
 * @property {Head} head the outcome of the head
 * @property {Entry[]} entries all of them, struck ones too, in order
 * @property {Set<string>} standing the ids of those that count
 * @property {Map<string, string>} struck the others, with the reason
 */

/** @param {Entry} entry */
const isMark = (entry) => entry.kind === "strike" || entry.kind === "restore";

/**
 * The id of the entry that a strike or restore bears on. Neither bears on another of its sort.
 * @param {Entry} mark
 * @param {Map<string, Entry>} entries
 * @returns {string | null}
 */
function targetOf(mark, entries) {
  let target = entries.get(mark.target);
  // A restore may name the strike that it takes back instead of the entry that was struck.
  if (mark.kind === "restore" && target?.kind === "strike") target = entries.get(target.target);
  return target && !isMark(target) ? target.id : null;
}

/**
 * The entries that are struck out, each with the reason. The last mark of an entry decides.
 * @param {Entry[]} ordered
 * @returns {Map<string, string>}
 */
export function strikes(ordered) {
  const entries = new Map(ordered.map((entry) => [entry.id, entry]));
  const struck = new Map();
  for (const mark of ordered) {
    const target = isMark(mark) ? targetOf(mark, entries) : null;
    if (target === null) continue;
    if (mark.kind === "strike") struck.set(target, String(mark.reason || ""));
    else struck.delete(target);
  }
  return struck;
}

/**
 * @param {Head} head
 * @param {Entry[]} entries
 * @param {Map<string, string>} struck
 * @returns {Head} the head after every standing `set`, in order
 */
function settle(head, entries, struck) {
  const { entries: _, ...base } = head;
  const sets = entries.filter(({ kind, id, path }) => kind === "set" && typeof path === "string" && !struck.has(id));
  return sets.reduce((outcome, { path, value }) => apply(outcome, path, value), /** @type {Head} */ (base));
}

/**
 * The survey that a head and a set of entries amount to. Both must be sound (`check.js`).
 * @param {Head} head
 * @param {Iterable<Entry>} entries told apart by id
 * @returns {Folded}
 */
export function fold(head, entries) {
  const ordered = inOrder(entries);
  const struck = strikes(ordered);
  const standing = new Set(ordered.map(({ id }) => id).filter((id) => !struck.has(id)));
  return { head: settle(head, ordered, struck), entries: ordered, standing, struck };
}
