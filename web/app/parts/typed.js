/**
 * What has been typed so far, by touch, by a keyboard, or by a laser that types like one.
 * @module parts/typed
 */

/** No length in a loft has more digits than this in millimetres. */
const LONGEST = 6;
/** A laser may send decimals and a unit as well. */
const LONGEST_TEXT = 16;

/**
 * @typedef {object} Typed
 * @property {string} text as typed
 * @property {(digit: string) => void} digit a touched key: digits only
 * @property {(char: string) => void} char a character from a keyboard
 * @property {() => void} erase takes the last character away
 * @property {() => void} clear
 */

/**
 * Starts with nothing typed.
 * @param {() => void} changed called after each change
 * @returns {Typed}
 */
export function typed(changed) {
  const put = (/** @type {string} */ text) => {
    state.text = text;
    changed();
  };
  const state = {
    text: "",
    digit: (/** @type {string} */ digit) => {
      // A zero in front says nothing, and hides how long the number is.
      const before = state.text === "0" ? "" : state.text;
      if (before.length < LONGEST) put(before + digit);
    },
    char: (/** @type {string} */ char) => {
      if (state.text.length < LONGEST_TEXT) put(state.text + char);
    },
    erase: () => put(state.text.slice(0, -1)),
    clear: () => put(""),
  };
  return state;
}
