/**
 * A sheet of choices in place of the keys, under the same thumb.
 * @module screens/walk/sheet
 */
import { button, el } from "../../ui.js";

/**
 * @typedef {object} Choice
 * @property {string} words
 * @property {() => void} act
 * @property {"main" | "back" | "wide"} [kind] how it stands out
 * @property {boolean} [chosen] true or false where it is one of several that may hold
 */

/**
 * @typedef {object} Sheet
 * @property {string} title
 * @property {string} [name] tells it from the others, where that matters
 * @property {string} [text]
 * @property {HTMLElement} [body] anything between the text and the choices
 * @property {Choice[]} choices
 */

/** @param {Choice} choice */
function choiceButton({ words, act, kind = "wide", chosen }) {
  const pressed = chosen === undefined ? null : String(chosen);
  return button(words, act, { class: `choice-key ${kind}`, "aria-pressed": pressed });
}

/**
 * Lays a sheet out. The way back, where there is one, always stands in the same corner.
 * @param {Sheet} sheet
 * @returns {HTMLElement}
 */
export function sheetNode({ title, text, body, choices }) {
  const heading = el("h2", { tabindex: "-1" }, title);
  const keys = el("div", { class: "choices" }, ...choices.map(choiceButton));
  return el(
    "div",
    { class: "sheet", role: "group", "aria-label": title },
    heading,
    text && el("p", null, text),
    body,
    keys,
  );
}
