/**
 * The page's way to the engine: it runs in a worker of its own, and the latest request wins.
 * @module reconcile/engine
 */

/** @typedef {import("./types.js").Folded} Folded */
/** @typedef {import("./types.js").Rules} Rules */
/** @typedef {Record<string, any>} AsBuilt */
/** @typedef {{resolve: (asBuilt: AsBuilt | null) => void, reject: (error: Error) => void}} Waiting */

/** Reconciles surveys without keeping the page waiting. */
export class Engine {
  #number = 0;
  /** @type {Map<number, Waiting>} */
  #waiting = new Map();

  /** @param {Rules} rules the rule pack */
  constructor(rules) {
    this.rules = rules;
    this.worker = new Worker(new URL("./worker.js", import.meta.url), { type: "module" });
    this.worker.addEventListener("message", ({ data }) => this.#take(data));
    this.worker.addEventListener("error", () => this.#fail("The check could not be started."));
  }

  /**
   * The as-built of a survey as it now stands.
   * @param {Folded} survey an open survey, or what the fold gives
   * @returns {Promise<AsBuilt | null>} null where a later request overtook this one
   * @throws {Error} where the engine itself failed
   */
  reconcile({ head, entries, standing, struck }) {
    const number = ++this.#number;
    return new Promise((resolve, reject) => {
      this.#waiting.set(number, { resolve, reject });
      this.worker.postMessage({ number, folded: { head, entries, standing, struck }, rules: this.rules });
    });
  }

  /** Ends the worker; what still waits is answered with null. */
  close() {
    this.worker.terminate();
    this.#settle(this.#number, ({ resolve }) => resolve(null));
  }

  /** @param {import("./worker.js").Answer} answer */
  #take({ number, asBuilt, error }) {
    this.#settle(number - 1, ({ resolve }) => resolve(null));
    this.#settle(number, ({ resolve, reject }) => (asBuilt ? resolve(asBuilt) : reject(new Error(error))));
  }

  /** @param {string} why */
  #fail(why) {
    this.#settle(this.#number, ({ reject }) => reject(new Error(why)));
  }

  /**
   * @param {number} last settles every request up to this one
   * @param {(waiting: Waiting) => void} how
   */
  #settle(last, how) {
    for (const [number, waiting] of this.#waiting) {
      if (number > last) continue;
      this.#waiting.delete(number);
      how(waiting);
    }
  }
}
