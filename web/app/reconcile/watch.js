/**
 * Keeps an open survey reckoned: after each change the engine is asked again, off the page's thread and
 * never before the page has shown what was touched.
 * @module reconcile/watch
 */
import { Engine } from "./engine.js";

/** @typedef {import("./engine.js").AsBuilt} AsBuilt */
/** @typedef {import("./types.js").Folded} Folded */
/** @typedef {import("./types.js").Rules} Rules */

// Long enough for the touch to be on the screen, short enough to be the same moment for a person [ms].
const SOON = 60;

/** One engine for all screens, for starting it costs more than a check. @type {Engine | null} */
let engine = null;

/** Watches one survey. */
export class Watch {
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  #timer;
  /** The entries that were asked about last. @type {unknown} */
  #asked = null;
  #closed = false;

  /**
   * @param {EventTarget & Folded} survey an open survey
   * @param {Rules} rules the rule pack
   * @param {(asBuilt: AsBuilt | null) => void} tell called with each as-built of the survey as it then
   *   stands; with null where this phone cannot reckon it
   */
  constructor(survey, rules, tell) {
    this.survey = survey;
    this.rules = rules;
    this.tell = tell;
    this.changed = () => this.#soon();
    survey.addEventListener("change", this.changed);
    this.#soon();
  }

  /** Watches no longer. */
  close() {
    this.#closed = true;
    clearTimeout(this.#timer);
    this.survey.removeEventListener("change", this.changed);
  }

  #soon() {
    if (this.#asked === this.survey.entries) return;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.#ask(), SOON);
  }

  async #ask() {
    const { survey, rules } = this,
      { entries } = survey;
    this.#asked = entries;
    const one = (engine ??= new Engine(rules));
    const found = await one.reconcile(survey).catch(() => undefined);
    // An engine that failed is not asked again; the next change starts another.
    if (found === undefined && engine === one) engine = null;
    if (this.#closed || found === null || survey.entries !== entries) return;
    this.tell(found ?? null);
  }
}
