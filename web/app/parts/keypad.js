/**
 * A keypad for whole millimetres: ten digits, and six places about them for what the screen needs.
 * @module parts/keypad
 */
import { button, el } from "../ui.js";

/**
 * The places beside the digits. `upper`, `middle`, `lower` and `save` stand in the column under the
 * thumb, from the top down; `far` and `near` stand left and right of the nought. All are mirrored
 * for the left hand. A place left out stays empty.
 * @typedef {{[place in "upper" | "middle" | "lower" | "save" | "far" | "near"]?: HTMLElement}} Places
 */

const DIGITS = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "0"];

/**
 * A key beside the digits.
 * @param {string} words
 * @param {() => void} act
 * @param {string} [kind] a class of its own, such as `save`
 * @returns {HTMLButtonElement}
 */
export function key(words, act, kind = "") {
  return button(words, act, { class: `key word ${kind}`.trim() });
}

/**
 * Makes the keypad. The focus stays where it was when a key is touched, so that a keyboard or a
 * laser goes on typing; by keyboard each key can still be reached and pressed.
 * @param {(digit: string) => void} digit called with the digit of a touched key
 * @param {Places} places
 * @returns {HTMLDivElement}
 */
export function keypad(digit, places) {
  const digits = DIGITS.map((sign) =>
    button(sign, () => digit(sign), { class: "key digit", style: { "grid-area": `d${sign}` } }),
  );
  const others = Object.entries(places).map(([place, node]) => {
    node.classList.add("key");
    node.style.gridArea = place;
    return node;
  });
  const keepFocus = (/** @type {Event} */ event) => event.preventDefault();
  return el(
    "div",
    { class: "keypad", role: "group", "aria-label": "Keypad", onmousedown: keepFocus },
    ...digits,
    ...others,
  );
}
