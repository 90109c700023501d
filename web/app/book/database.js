/**
 * The phone's database: one connection that is opened again when the browser takes it away, and
 * transactions that count as done only when the database says so.
 *
 * Phones lose the connection when the page comes back from the background; a request may be granted
 * and its transaction still fail at the end, when the disk is full. So nothing here trusts a request:
 * only the transaction's own `complete` counts.
 * @module book/database
 */

/** How long an opening or a transaction may take before the connection is given up [ms]. */
const PATIENCE = 15_000;

/** How long to wait before each further attempt at reading [ms]. */
const AGAIN = [50, 250, 1_000];

/**
 * Step k brings a database of version k to version k + 1. A step is never changed once it is out.
 * @type {((db: IDBDatabase, tx: IDBTransaction) => void)[]}
 */
const STEPS = [
  (db) => {
    db.createObjectStore("surveys", { keyPath: "id" });
    const entries = db.createObjectStore("entries", { keyPath: "id" });
    entries.createIndex("survey", "survey");
    // An entry lies in these only while it carries the field: the index is the outbox itself.
    entries.createIndex("unsent", ["unsent", "kept"]);
    entries.createIndex("refused", "refused");
    const photos = db.createObjectStore("photos", { keyPath: "sha256" });
    photos.createIndex("unsent", "unsent");
    photos.createIndex("refused", "refused");
    db.createObjectStore("asbuilt", { keyPath: "id" });
    db.createObjectStore("keep");
  },
];

/** @param {number} time [ms] @returns {Promise<void>} */
export const pause = (time) => new Promise((resolve) => setTimeout(resolve, time));

/** The stores and their transactions. Fires `outdated` when another tab has moved the database on. */
export class Database extends EventTarget {
  /** @type {Promise<IDBDatabase> | null} */
  #connection = null;
  #name;
  #steps;

  /**
   * @param {string} [name]
   * @param {typeof STEPS} [steps] the way from an empty database to the present one
   */
  constructor(name = "baywalk", steps = STEPS) {
    super();
    this.#name = name;
    this.#steps = steps;
    this.outdated = false;
  }

  /**
   * Reads, opening the connection again where it was lost.
   * @template T
   * @param {string | string[]} stores
   * @param {(tx: IDBTransaction) => () => T} work puts its requests, and gives what reads their outcome
   * @returns {Promise<T>}
   * @throws {Error} the last error, where no attempt succeeds
   */
  async read(stores, work) {
    for (const wait of AGAIN) {
      try {
        return await this.attempt(stores, "readonly", work);
      } catch {
        await pause(wait);
      }
    }
    return this.attempt(stores, "readonly", work);
  }

  /**
   * Makes one transaction, once. Where it fails, the connection is given up: the next attempt gets a
   * fresh one.
   * @template T
   * @param {string | string[]} stores
   * @param {IDBTransactionMode} mode
   * @param {(tx: IDBTransaction) => () => T} work
   * @returns {Promise<T>} settles only with the transaction's own end
   * @throws {Error} why nothing of it was stored
   */
  async attempt(stores, mode, work) {
    const db = await this.#open();
    try {
      return await transact(db, stores, mode, work);
    } catch (error) {
      this.drop();
      throw error;
    }
  }

  /** Gives the connection up. */
  drop() {
    const old = this.#connection;
    this.#connection = null;
    old?.then((db) => db.close()).catch(() => undefined);
  }

  /** @returns {Promise<IDBDatabase>} */
  #open() {
    this.#connection ??= connect(this.#name, this.#steps).then(
      (db) => this.#watch(db),
      (error) => {
        this.#connection = null;
        this.#sayIfOutdated(error.name === "VersionError");
        throw error;
      },
    );
    return this.#connection;
  }

  /** @param {IDBDatabase} db */
  #watch(db) {
    db.onclose = () => this.drop();
    db.onversionchange = () => {
      // The newer page in the other tab waits for this one to let go.
      this.drop();
      this.#sayIfOutdated(true);
    };
    return db;
  }

  /** @param {boolean} outdated */
  #sayIfOutdated(outdated) {
    if (!outdated || this.outdated) return;
    this.outdated = true;
    this.dispatchEvent(new Event("outdated"));
  }
}

/**
 * @param {string} name
 * @param {typeof STEPS} steps
 * @returns {Promise<IDBDatabase>}
 */
function connect(name, steps) {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open(name, steps.length);
    let why = "The browser's storage does not answer.";
    const late = setTimeout(() => {
      // A connection that comes after all must not stand in the way of the next attempt.
      asked.onsuccess = () => asked.result.close();
      reject(new Error(why));
    }, PATIENCE);
    /** @param {() => void} settle */
    const end = (settle) => {
      clearTimeout(late);
      settle();
    };
    asked.onblocked = () => (why = "Another tab of this page is older and holds the storage. Close it.");
    asked.onupgradeneeded = ({ oldVersion }) => {
      const tx = /** @type {IDBTransaction} */ (asked.transaction);
      for (const step of steps.slice(oldVersion)) step(asked.result, tx);
    };
    asked.onsuccess = () => end(() => resolve(asked.result));
    asked.onerror = () => end(() => reject(asked.error));
  });
}

/**
 * @template T
 * @param {IDBDatabase} db
 * @param {string | string[]} stores
 * @param {IDBTransactionMode} mode
 * @param {(tx: IDBTransaction) => () => T} work
 * @returns {Promise<T>}
 */
function transact(db, stores, mode, work) {
  return new Promise((resolve, reject) => {
    const tx = db.transaction(stores, mode, { durability: "strict" });
    const fail = (/** @type {unknown} */ why) => {
      clearTimeout(late);
      reject(why ?? new Error("The browser's storage broke off."));
    };
    const late = setTimeout(() => fail(new Error("The browser's storage does not answer.")), PATIENCE);
    tx.onabort = () => fail(tx.error);
    try {
      const outcome = work(tx);
      tx.oncomplete = () => {
        clearTimeout(late);
        resolve(outcome());
      };
    } catch (error) {
      tx.abort();
      fail(error);
    }
  });
}
