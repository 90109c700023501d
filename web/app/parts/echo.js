/**
 * The large echo of what is typed, with its unit. People watch the keys and not the figure, so the
 * figure stands right above the keys and is the largest thing on the screen.
 * @module parts/echo
 */
import { el } from "../ui.js";

/**
 * @typedef {object} Echo
 * @property {HTMLOutputElement} node
 * @property {(text: string) => void} show what is typed; empty shows that it is asked
 */

/**
 * Makes an echo. It is a live output, so that a screen reader says the figure as it grows.
 * @param {string} label what the figure is
 * @returns {Echo}
 */
export function echo(label) {
  const figure = el("span", { class: "echo-figure" });
  const unit = el("span", { class: "echo-unit" });
  const node = el("output", { class: "echo", "aria-live": "polite", "aria-label": label }, figure, " ", unit);
  const show = (/** @type {string} */ text) => {
    const digits = /^\d*$/.test(text);
    figure.textContent = text || "?";
    // A keyboard may have brought its own unit; then ours would be a second one.
    const shown = digits ? "mm" : "";
    if (unit.textContent !== shown) unit.textContent = shown;
    node.classList.toggle("is-empty", text === "");
  };
  show("");
  return { node, show };
}
