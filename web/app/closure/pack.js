/**
 * Looks figures up in the rule pack. Every limit and tolerance comes from there.
 * @module closure/pack
 */

/** @typedef {import("./types.js").Pack} Pack */

/** @type {Promise<Pack> | null} */
let pending = null;

/**
 * The value of a rule.
 * @param {Pack} pack
 * @param {string} id
 * @returns {any} in the unit the rule states
 * @throws {Error} where the pack has no such rule
 */
export function rule(pack, id) {
  const found = pack.rules[id];
  if (!found) throw new Error(`The rule pack has no rule ${id}.`);
  return found.value;
}

/**
 * Fetches the rule pack, once. The service worker keeps it with the page, so it is there offline.
 * @returns {Promise<Pack>}
 * @throws {Error} where it cannot be had; the next call tries again
 */
export function loadPack() {
  pending ??= fetchPack().catch((error) => {
    pending = null;
    throw error;
  });
  return pending;
}

/** @returns {Promise<Pack>} */
async function fetchPack() {
  const answer = await fetch("/shared/rules/uk.json");
  if (!answer.ok) throw new Error(`The rule pack did not come: ${answer.status}.`);
  return answer.json();
}

/**
 * The standard deviation of one tape reading: the hand, the tape's own class, the reading's
 * resolution, as independent errors.
 * @param {Pack} pack
 * @param {number} value [mm]
 * @param {string} [tape] the tape's class: I, II or III
 * @returns {number} [mm]
 */
export function readingSd(pack, value, tape) {
  const { a, b } = rule(pack, `tape.class.${tape ?? rule(pack, "tape.class.default")}`);
  // A class limit and a rounding are the bounds of a uniform error, hence the 3 and the 12.
  const limit = a + (b * value) / 1000;
  const hand = rule(pack, "reading.hand");
  return Math.sqrt(hand ** 2 + limit ** 2 / 3 + rule(pack, "tape.resolution") ** 2 / 12);
}
