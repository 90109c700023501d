/**
 * Small helpers to build the page. Text is always set as text, never as HTML, so nothing that a
 * person typed can become part of the page's own markup.
 * @module ui
 */

/** @typedef {Node | string | number | null | undefined | false} Child */
/** @typedef {Record<string, unknown>} Props */

const SVG = "http://www.w3.org/2000/svg";

/**
 * @param {Element} node
 * @param {string} name
 * @param {unknown} value
 */
function setProp(node, name, value) {
  if (value === null || value === undefined || value === false) return;
  if (name.startsWith("on")) {
    node.addEventListener(name.slice(2), /** @type {EventListener} */ (value));
  } else if (name === "style") {
    Object.entries(/** @type {Record<string, string>} */ (value)).forEach(([key, item]) =>
      /** @type {HTMLElement} */ (node).style.setProperty(key, item),
    );
  } else if (name === "value" && "value" in node) {
    node.value = value;
  } else {
    node.setAttribute(name, value === true ? "" : String(value));
  }
}

/**
 * @param {Element} node
 * @param {Props | null} props
 * @param {Child[]} children
 */
function dress(node, props, children) {
  Object.entries(props ?? {}).forEach(([name, value]) => setProp(node, name, value));
  node.append(...present(children));
}

/** What a line's end must not part: a figure from its unit, from the rest of it, from what goes with it. */
const BOUND = /([\d×±']) (?=([cm]?m|k?N|kg|%|[kM]B)(?![a-z])|[\d×±])/g;

/**
 * @param {Child[]} children
 * @returns {(Node | string)[]}
 */
function present(children) {
  const kept = children.filter((child) => child !== null && child !== undefined && child !== false);
  return kept.map((child) => (child instanceof Node ? child : String(child).replace(BOUND, "$1\u00a0")));
}

/**
 * Makes an HTML element. `onclick` and the like become listeners; `style` takes an object of CSS
 * properties; `true` sets an empty attribute; null, undefined and false set nothing.
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} tag
 * @param {Props | null} [props]
 * @param {...Child} children
 * @returns {HTMLElementTagNameMap[K]}
 */
export function el(tag, props = null, ...children) {
  const node = document.createElement(tag);
  dress(node, props, children);
  return node;
}

/**
 * Makes an SVG element, with the same rules as {@link el}.
 * @template {keyof SVGElementTagNameMap} K
 * @param {K} tag
 * @param {Props | null} [props]
 * @param {...Child} children
 * @returns {SVGElementTagNameMap[K]}
 */
export function svg(tag, props = null, ...children) {
  const node = /** @type {SVGElementTagNameMap[K]} */ (document.createElementNS(SVG, tag));
  dress(node, props, children);
  return node;
}

/**
 * Puts these children in place of whatever the host held.
 * @param {Element} host
 * @param {...Child} children
 */
export function fill(host, ...children) {
  host.replaceChildren(...present(children));
}

/**
 * A button with its own words.
 * @param {string} words
 * @param {(event: Event) => void} act what a touch does
 * @param {Props} [props]
 * @returns {HTMLButtonElement}
 */
export function button(words, act, props = {}) {
  return el("button", { type: "button", onclick: act, ...props }, words);
}

/**
 * A link to another screen, or to a file.
 * @param {string} words
 * @param {string} href
 * @param {Props} [props]
 * @returns {HTMLAnchorElement}
 */
export function link(words, href, props = {}) {
  return el("a", { href, ...props }, words);
}

/**
 * Named facts, each on a line of its own; on a narrow sheet the fact goes below its name.
 * @param {[string, Child][]} pairs
 * @returns {HTMLDListElement}
 */
export function facts(pairs) {
  const rows = pairs.map(([name, fact]) => el("div", null, el("dt", null, name), el("dd", null, fact)));
  return el("dl", { class: "facts" }, ...rows);
}

/**
 * How wide the sheet is, measured in sixteenths of the usual text: at its usual size the width in px,
 * and less where the person has made the text larger. Drawings are made to this width.
 * @returns {number}
 */
export const sheetWidth = () => Math.min(document.documentElement.clientWidth / unit() - 32, 576);

/** @returns {number} how high the window is, measured so */
export const sheetHeight = () => innerHeight / unit();

/** A sixteenth of the usual text [px]. */
const unit = () => parseFloat(getComputedStyle(document.documentElement).fontSize) / 16;

/**
 * Says a thing to a screen reader without moving the focus.
 * @param {string} words
 */
export function say(words) {
  const host = document.getElementById("said");
  // A reader speaks only a change, so the same words twice need a difference it does not speak.
  if (host) host.textContent = host.textContent === words ? `${words}\u00a0` : words;
}

/** @param {unknown} error @returns {string} what it says */
export const why = (error) => (error instanceof Error ? error.message : String(error));

/**
 * The host of a file the person keeps: touches a link that downloads it.
 * @param {Blob} blob
 * @param {string} name the file's name
 */
export function giveFile(blob, name) {
  const href = URL.createObjectURL(blob);
  const anchor = el("a", { href, download: name });
  document.body.append(anchor);
  anchor.click();
  anchor.remove();
  // The browser reads the blob after this turn; a minute is ample, and then the memory is given back.
  setTimeout(() => URL.revokeObjectURL(href), 60_000);
}
