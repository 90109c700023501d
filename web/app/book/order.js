/**
 * The order of entries, where order matters: the logical counter, then the device, then the id.
 * A phone's clock has no say in it.
 * @module book/order
 */

/** @typedef {import("./types.js").Entry} Entry */

/** Half of a character that takes two. */
const HALF = /[\ud800-\udfff]/;

/**
 * Compares two texts by their characters' numbers, as every other reader of the format does.
 * JavaScript's own `<` compares halves of characters, and so puts a few of them elsewhere.
 * @param {string} a
 * @param {string} b
 * @returns {number} below, at or above 0
 */
export function compareText(a, b) {
  if (a === b) return 0;
  // Ids and devices hardly ever have such characters, and are compared very often.
  if (!HALF.test(a) && !HALF.test(b)) return a < b ? -1 : 1;
  const [one, other] = [[...a], [...b]];
  const at = one.findIndex((sign, index) => sign !== other[index]);
  if (at < 0) return -1;
  if (at >= other.length) return 1;
  return Number(one[at].codePointAt(0)) - Number(other[at].codePointAt(0));
}

/**
 * Compares two entries.
 * @param {Entry} a
 * @param {Entry} b
 * @returns {number} below, at or above 0
 */
export function compareEntries(a, b) {
  return (a.n || 0) - (b.n || 0) || compareText(String(a.by || ""), String(b.by || "")) || compareText(a.id, b.id);
}

/**
 * The entries once each, in order.
 * @param {Iterable<Entry>} entries
 * @returns {Entry[]}
 */
export function inOrder(entries) {
  const known = new Map([...entries].map((entry) => [entry.id, entry]));
  return [...known.values()].sort(compareEntries);
}

/**
 * The counter for the next entry: one more than any that was seen.
 * @param {Iterable<Entry>} entries
 * @returns {number} [-]
 */
export function nextCounter(entries) {
  let most = 0;
  for (const { n } of entries) if (Number.isSafeInteger(n) && Number(n) > most) most = Number(n);
  return most + 1;
}
