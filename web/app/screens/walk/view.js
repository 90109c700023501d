/**
 * The upper part of the walk, to look at and not to touch: the rod, what was said, what is asked,
 * its drawing and the echo.
 * @module screens/walk/view
 */
import { bayDrawing } from "../../parts/bay-drawing.js";
import { echo } from "../../parts/echo.js";
import { rodDrawing } from "../../parts/rod.js";
import { el, fill } from "../../ui.js";
import { rodWords } from "./rod-data.js";

/** @typedef {import("../../parts/bay-drawing.js").Asked} Asked */
/** @typedef {import("../../parts/bay-drawing.js").BayDrawing} BayDrawing */
/** @typedef {import("../../parts/rod.js").Rod} Rod */

/**
 * How the last thing written stands. Each state has its own mark before the words.
 * @typedef {object} Saved
 * @property {"none" | "saving" | "saved" | "failed"} state
 * @property {string} words
 */

const MARKS = { none: "", saving: "…", saved: "✓", failed: "[ not saved yet ]" };

/** The small type of the rod, in parts of the page's own type. */
const SMALL = 0.75;

/** @typedef {{width: number, height: number, em: number}} Size [px] */

/** @param {Element} host @returns {Size} */
function measured(host) {
  const { width, height } = host.getBoundingClientRect();
  const root = Number.parseFloat(getComputedStyle(document.documentElement).fontSize);
  return { width: Math.max(width, 200), height: Math.max(height, 40), em: root * SMALL };
}

/** @param {Size} one @param {Size} other */
function isSame(one, other) {
  return one.width === other.width && one.height === other.height && one.em === other.em;
}

/** What is looked at. */
export class WalkView {
  /** @param {string} title */
  constructor(title) {
    this.rod = el("div", { class: "walk-rod" });
    this.saved = el("p", { class: "walk-saved", "aria-live": "polite" });
    this.notice = el("p", { class: "walk-notice", "aria-live": "polite", hidden: true });
    this.awake = el("span", { class: "walk-awake", hidden: true }, "screen stays on");
    this.where = el("strong");
    this.what = el("span", { class: "walk-what" });
    this.drawing = el("div", { class: "walk-drawing" });
    this.echo = echo("The reading");
    /** @type {BayDrawing | null} */
    this.drawn = null;
    /** @type {Map<Element, Size>} */
    this.sizes = new Map();
    const ask = el("p", { class: "walk-ask", "aria-live": "polite" }, this.where, " ", this.what);
    const said = el("div", { class: "walk-said" }, this.saved, this.awake, this.notice);
    this.over = el("div", { class: "walk-echo" }, this.echo.node);
    const sheet = el("div", { class: "walk-sheet" }, this.drawing, this.over);
    this.node = el("div", { class: "walk-view" }, el("h1", { class: "walk-title" }, title), this.rod, said, ask, sheet);
  }

  /**
   * The room for a drawing. It is measured once and again only after a resize, for to measure is to
   * make the browser lay the page out there and then.
   * @param {Element} host
   * @returns {Size}
   */
  size(host) {
    const known = this.sizes.get(host) ?? measured(host);
    this.sizes.set(host, known);
    return known;
  }

  /**
   * Calls back when the room for a drawing has changed.
   * @param {() => void} act
   * @returns {() => void} stops watching
   */
  onResize(act) {
    const watch = new ResizeObserver(() => {
      const changed = [this.rod, this.drawing].filter((host) => !isSame(this.size(host), measured(host)));
      changed.forEach((host) => this.sizes.delete(host));
      if (changed.length) act();
    });
    [this.rod, this.drawing].forEach((host) => watch.observe(host));
    return () => watch.disconnect();
  }

  /**
   * Shows the rod.
   * @param {Rod} rod
   * @param {string} line
   */
  showRod(rod, line) {
    fill(this.rod, rodDrawing(rod, { ...this.size(this.rod), words: rodWords(rod, line) }));
  }

  /**
   * Shows what is asked.
   * @param {{where: string, what: string}} words
   * @param {Asked | null} asked null where there is nothing to draw
   */
  showAsk({ where, what }, asked) {
    fill(this.where, where);
    fill(this.what, what);
    this.drawn = asked && bayDrawing(asked, this.size(this.drawing));
    fill(this.drawing, this.drawn?.node);
    this.echo.node.hidden = !asked;
    // With nothing to draw, a notice has room to be read whole.
    this.node.classList.toggle("walked", !asked);
    // A joist alone stands at the side, and the figure beside it.
    this.over.classList.toggle("beside", asked?.what === "breadth" || asked?.what === "depth");
    this.over.classList.toggle("above", asked?.what === "length");
  }

  /**
   * Shows what is typed, as a figure and as a length.
   * @param {string} text
   * @param {number | null} value [mm]
   */
  showTyped(text, value) {
    this.echo.show(text);
    this.drawn?.type(value);
  }

  /** @param {Saved} saved */
  showSaved({ state, words }) {
    this.saved.dataset.state = state;
    const mark = el("span", { class: "walk-mark" }, MARKS[state]);
    fill(this.saved, MARKS[state] && mark, MARKS[state] ? " " : "", words);
  }

  /** @param {string} words empty where all that can be checked agrees */
  showNotice(words) {
    fill(this.notice, words);
    this.notice.hidden = !words;
  }

  /** Moves the focus to the heading, after what held it went away. */
  focus() {
    const heading = /** @type {HTMLElement} */ (this.node.querySelector("h1"));
    heading.tabIndex = -1;
    heading.focus({ preventScroll: true });
  }

  /** @param {boolean} awake */
  showAwake(awake) {
    this.awake.hidden = !awake;
  }
}
