/**
 * Fields of a form, each with its label, its hint and its error bound to it.
 * @module form
 */
import { button, el, fill } from "./ui.js";

let serial = 0;

/**
 * A field and what the forms do with it.
 * @typedef {object} Field
 * @property {HTMLElement} node what goes on the page
 * @property {HTMLInputElement | HTMLTextAreaElement | HTMLSelectElement} input
 * @property {() => string} text what stands in it, without spaces at the ends
 * @property {(why: string) => void} wrong says what is wrong beside the field; "" takes it back
 */

/**
 * @typedef {object} FieldOptions
 * @property {string} [hint]
 * @property {string} [value]
 * @property {string | Node} [unit] what stands after the field, such as `mm`
 * @property {boolean} [whole] a whole number: the phone shows digits, the field is short
 * @property {boolean} [long] several lines
 * @property {number} [most] the longest text, in characters
 * @property {[string, string][]} [options] value and words of each choice, for a list
 */

/**
 * @param {FieldOptions} options
 * @param {string} id
 */
function inputFor({ value = "", whole, long, most, options }, id) {
  if (options) {
    const node = el("select", { id }, ...options.map(([key, words]) => el("option", { value: key }, words)));
    node.value = value;
    return node;
  }
  const shared = { id, value, maxlength: most, autocomplete: "off" };
  if (long) return el("textarea", { ...shared, rows: 3 });
  const digits = whole && { inputmode: "numeric", class: "short" };
  return el("input", { type: "text", ...shared, ...(digits || {}) });
}

/**
 * A labelled field.
 * @param {string} label
 * @param {FieldOptions} [options]
 * @returns {Field}
 */
export function field(label, options = {}) {
  const id = `f${++serial}`;
  const input = inputFor(options, id);
  const hint = options.hint && el("span", { class: "hint", id: `${id}h` }, options.hint);
  const error = el("span", { class: "wrong", id: `${id}e`, hidden: true });
  input.setAttribute("aria-describedby", `${hint ? `${id}h ` : ""}${id}e`);
  const body = options.unit ? el("span", { class: "unit" }, input, options.unit) : input;
  const node = el("div", { class: "field" }, el("label", { for: id }, label), hint, error, body);
  /** @param {string} why */
  const wrong = (why) => mark(input, error, why);
  return { node, input, text: () => input.value.trim(), wrong };
}

/**
 * Says beside a field what is wrong with it.
 * @param {HTMLElement} input
 * @param {HTMLElement} error
 * @param {string} why "" takes it back
 */
export function mark(input, error, why) {
  fill(error, why);
  error.hidden = why === "";
  if (why) input.setAttribute("aria-invalid", "true");
  else input.removeAttribute("aria-invalid");
}

/** Options whose words are their values. @param {string[]} words */
export const alike = (words) => words.map((one) => /** @type {[string, string]} */ ([one, one]));

/**
 * One of a few, as radio buttons.
 * @param {string} legend
 * @param {[string, string][]} options value and words
 * @param {string} value the one chosen at first
 * @param {{hint?: string, onpick?: (value: string) => void}} [more]
 * @returns {{node: HTMLFieldSetElement, value: () => string}}
 */
export function choice(legend, options, value, { hint, onpick } = {}) {
  const name = `f${++serial}`;
  const radios = options.map(([key]) => el("input", { type: "radio", name, value: key, checked: key === value }));
  const labels = options.map(([, words], at) => el("label", { class: "choice" }, radios[at], words));
  const node = el("fieldset", null, el("legend", null, legend), hint && el("span", { class: "hint" }, hint), ...labels);
  const chosen = () => radios.find((radio) => radio.checked)?.value ?? "";
  node.addEventListener("change", () => onpick?.(chosen()));
  return { node, value: chosen };
}

/**
 * A whole number of millimetres as it was typed, with or without the unit. A point or comma is not
 * taken: where whole millimetres are asked for, it is more often a slip than a wish.
 * @param {string} text
 * @returns {number | null} [mm] null where it is no such number
 */
export function whole(text) {
  const found = /^(\d{1,7})\s*(mm)?$/i.exec(text.trim());
  return found ? Number(found[1]) : null;
}

/**
 * Reads a field as a whole number within bounds, and says beside it what is wrong.
 * @param {Field} which
 * @param {{least?: number, most?: number, must?: boolean, what?: string}} [bounds] in the field's unit
 * @returns {number | null | undefined} undefined where it is wrong, null where it may be empty and is
 */
export function readWhole(
  which,
  { least = 0, most = 1_000_000, must = false, what = "a length in whole millimetres" } = {},
) {
  const text = which.text();
  which.wrong("");
  if (text === "" && !must) return null;
  const value = whole(text);
  if (value !== null && value >= least && value <= most) return value;
  which.wrong(value === null ? `Give ${what}.` : `Give a number from ${least} to ${most}.`);
  return undefined;
}

/**
 * Moves the focus to the first field that is wrong.
 * @param {Element} form
 * @returns {boolean} true where one is wrong
 */
export function focusWrong(form) {
  const first = /** @type {HTMLElement | null} */ (form.querySelector('[aria-invalid="true"]'));
  first?.focus();
  return first !== null;
}

/**
 * Asks in a dialog. Escape and the button that declines both leave things as they are.
 * @param {string} title
 * @param {Node[]} body
 * @param {string} yes the words on the button that does it
 * @param {{fits?: () => boolean, no?: string}} [more] `fits` is called at the touch of `yes` and
 *   keeps the dialog open where it gives false; `no` are the words on the button that declines
 * @returns {Promise<boolean>}
 */
export function ask(title, body, yes, { fits = () => true, no = "Leave it" } = {}) {
  const heading = el("h2", { id: `f${++serial}` }, title);
  const box = el("dialog", { "aria-labelledby": heading.id });
  const leave = button(no, () => box.close());
  const form = el("form", { method: "dialog", novalidate: true }, ...body);
  form.append(el("p", { class: "row" }, el("button", { class: "first", type: "submit" }, yes), leave));
  fill(box, heading, form);
  document.body.append(box);
  return new Promise((resolve) => {
    let done = false;
    form.addEventListener("submit", (event) => {
      done = fits();
      if (!done) event.preventDefault();
    });
    box.addEventListener("close", () => {
      box.remove();
      resolve(done);
    });
    box.showModal();
  });
}
