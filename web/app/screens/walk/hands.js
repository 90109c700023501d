/**
 * The lower part of the walk: everything that is touched, under one thumb.
 * @module screens/walk/hands
 */
import { key, keypad } from "../../parts/keypad.js";
import { button, el, fill } from "../../ui.js";
import { sheetNode } from "./sheet.js";

/**
 * What each key does.
 * @typedef {object} Acts
 * @property {(digit: string) => void} digit
 * @property {() => void} save
 * @property {() => void} upper erase, or say that it cannot be reached
 * @property {() => void} middle the same as the last, or re-hook
 * @property {() => void} size
 * @property {() => void} undo
 * @property {() => void} more
 * @property {() => void} here
 * @property {() => void} photo
 * @property {() => void} remark
 * @property {() => void} end
 * @property {() => void} running
 */

/**
 * What the keys say now.
 * @typedef {object} Words
 * @property {string} middle
 * @property {boolean} middleOff true where there is no last reading to repeat
 * @property {string} size
 * @property {boolean} undoOff
 * @property {string} more
 * @property {string} end
 * @property {boolean} running true where one works with running readings
 */

/** @param {HTMLElement} node @param {boolean} off */
function setOff(node, off) {
  if (off) node.setAttribute("aria-disabled", "true");
  else node.removeAttribute("aria-disabled");
}

/**
 * Writes words on a key, if they are others: to write the same again would lay the keys out anew.
 * @param {HTMLElement} node
 * @param {string} words
 */
function label(node, words) {
  if (node.textContent !== words) node.textContent = words;
}

/** What is touched. */
export class WalkHands {
  /** @param {Acts} acts */
  constructor(acts) {
    this.upper = key("", acts.upper);
    this.middle = key("", acts.middle);
    this.size = key("", acts.size);
    this.undo = key("Undo", acts.undo);
    this.more = key("", acts.more);
    this.end = button("", acts.end, { class: "key word" });
    this.running = button("Running", acts.running, { class: "key word" });
    const others = [button("What is here", acts.here), button("Photo", acts.photo), button("Remark", acts.remark)];
    others.forEach((one) => (one.className = "key word"));
    const row = el(
      "div",
      { class: "walk-row", role: "group", "aria-label": "Notes and ways of working" },
      ...others,
      this.end,
      this.running,
    );
    const save = key("Save", acts.save, "save");
    const places = { upper: this.upper, middle: this.middle, lower: this.size, save, far: this.undo, near: this.more };
    this.keys = el("div", { class: "walk-keys" }, row, keypad(acts.digit, places));
    this.sheet = el("div", { class: "walk-choices", hidden: true });
    this.node = el("div", { class: "walk-hands" }, this.keys, this.sheet);
  }

  /** @param {Words} words */
  show(words) {
    label(this.middle, words.middle);
    setOff(this.middle, words.middleOff);
    label(this.size, words.size);
    setOff(this.undo, words.undoOff);
    label(this.more, words.more);
    label(this.end, words.end);
    this.running.setAttribute("aria-pressed", String(words.running));
  }

  /** @param {string} words on the key that erases or passes on */
  showUpper(words) {
    label(this.upper, words);
  }

  /** @param {import("./sheet.js").Sheet | null} sheet null brings the keys back */
  lay(sheet) {
    this.keys.hidden = sheet !== null;
    this.sheet.hidden = sheet === null;
    fill(this.sheet, sheet && sheetNode(sheet));
    if (sheet) this.sheet.querySelector("h2")?.focus({ preventScroll: true });
  }
}
