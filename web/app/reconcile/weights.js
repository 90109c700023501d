/**
 * How much a reading is worth: the tape, its resolution and the hand, from the rule pack.
 * @module reconcile/weights
 */

/** @typedef {import("./types.js").Pack} Pack */

/**
 * One tape or device: what tells it from another, and its class.
 * @typedef {{name: string, grade: string}} Tape
 */

/** @param {unknown} name @param {Pack} pack @returns {string | null} */
const known = (name, pack) =>
  typeof name === "string" && name !== "default" && `tape.class.${name}` in pack ? name : null;

/**
 * The tape that a reading was taken with; a text that is no class names a device of the usual class.
 * @param {Record<string, any>} entry
 * @param {Record<string, any>} usual the survey's tape
 * @param {Pack} pack
 * @returns {Tape}
 */
export function tapeOf({ tape: own }, usual, pack) {
  const other = known(usual.class, pack) ?? pack["tape.class.default"];
  if (own === undefined || own === null) return { name: "", grade: other };
  if (typeof own === "object") {
    const grade = known(own.class, pack) ?? other;
    return { name: String(own.id || own.name || grade), grade };
  }
  const grade = known(own, pack);
  // The usual class named again is the usual tape, not a second one.
  return { name: grade === other ? "" : String(own), grade: grade ?? other };
}

/**
 * A reading's standard deviation before adjustment. What grows with length stands in the tape's scale.
 * @param {Record<string, any>} entry
 * @param {Tape} tape
 * @param {Pack} pack
 * @param {boolean} hooked true where one end is a surface taken with the hook or tip
 * @returns {number} [mm]
 */
export function sigma(entry, tape, pack, hooked) {
  const { a, c } = pack[`tape.class.${tape.grade}`];
  const limit = a + (hooked ? c : 0),
    step = entry.resolution || pack["tape.resolution"];
  // Limits and steps of a uniform error: its standard deviation is half its width over root 3.
  return Math.sqrt(limit ** 2 / 3 + step ** 2 / 12 + pack["reading.hand"] ** 2);
}

/**
 * The standard deviation of a tape's scale, uniform within its class.
 * @param {Tape} tape
 * @param {Pack} pack
 * @returns {number} [mm per m]
 */
export const scaleSigma = (tape, pack) => pack[`tape.class.${tape.grade}`].b / Math.sqrt(3);
