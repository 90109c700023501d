/**
 * Writing that does not give up. A write that fails is told at once and tried again, on a fresh
 * connection, until it is done; what it would store stays in memory meanwhile.
 * @module book/keeper
 */

/** @typedef {import("./database.js").Database} Database */

/** The wait after the first failure, and the longest [ms]. */
const FIRST = 250;
const LONGEST = 30_000;

/** Keeps things in the database, however often it takes. */
export class Keeper {
  #database;
  /** @type {Set<() => void>} */
  #resting = new Set();

  /** @param {Database} database */
  constructor(database) {
    this.#database = database;
  }

  /**
   * Stores something.
   * @template T
   * @param {string | string[]} stores
   * @param {(tx: IDBTransaction) => () => T} work may run more than once: the same again must do no harm
   * @param {(error: Error) => void} [failed] told of each failure
   * @returns {Promise<T>} settles only once it is stored
   */
  async store(stores, work, failed) {
    for (let attempt = 0; ; attempt += 1) {
      try {
        return await this.#database.attempt(stores, "readwrite", work);
      } catch (error) {
        failed?.(error instanceof Error ? error : new Error(String(error)));
        await this.#rest(Math.min(FIRST * 2 ** attempt, LONGEST));
      }
    }
  }

  /** Tries what failed again now, without waiting: the page has become visible, or room was made. */
  nudge() {
    for (const wake of [...this.#resting]) wake();
  }

  /** @param {number} time [ms] @returns {Promise<void>} */
  #rest(time) {
    return new Promise((resolve) => {
      const wake = () => {
        clearTimeout(timer);
        this.#resting.delete(wake);
        resolve();
      };
      const timer = setTimeout(wake, time);
      this.#resting.add(wake);
    });
  }
}
