/**
 * The field book on this phone: the surveys in it, and their sending. The screens use this module,
 * `survey.js` and `newHead` of `entry.js`, and nothing else of the book.
 * @module book/book
 */
import { Sync } from "../sync/sync.js";
import { onWake } from "../sync/wake.js";
import { headFault } from "./check.js";
import { Database } from "./database.js";
import { Desk } from "./desk.js";
import { importSurvey } from "./exchange.js";
import { readFile } from "./file.js";
import { Keeper } from "./keeper.js";
import { held, hold } from "./lifeboat.js";
import { Live } from "./live.js";
import { STORES, listSurveys, putHead } from "./shelf.js";

/** @typedef {import("./types.js").Head} Head */
/** @typedef {import("./types.js").SurveySummary} SurveySummary */
/** @typedef {import("./survey.js").Survey} Survey */

/** @param {number | null} when [ms since 1970] */
const asText = (when) => (when === null ? null : new Date(when).toISOString());

/**
 * Opens the field book. Asks the person nothing.
 * @returns {Promise<Book>}
 * @throws {Error} where the browser does not give us its storage
 */
export async function openBook() {
  const database = new Database();
  const device = await deviceId(database);
  const book = new Book(database, device);
  book.start();
  return book;
}

/**
 * This device's id, made once and kept.
 * @param {Database} database
 * @returns {Promise<string>}
 */
async function deviceId(database) {
  const known = await database.read("keep", (tx) => {
    const found = tx.objectStore("keep").get("device");
    return () => found.result;
  });
  return known ?? database.attempt("keep", "readwrite", makeDeviceId);
}

/** @param {IDBTransaction} tx @returns {() => string} the one that is there by now, where another tab was first */
function makeDeviceId(tx) {
  const fresh = crypto.randomUUID();
  const keep = tx.objectStore("keep");
  const known = keep.get("device");
  known.onsuccess = () => known.result ?? keep.put(fresh, "device");
  return () => known.result ?? fresh;
}

/**
 * The field book.
 *
 * Fires `change` when the list of surveys may look different, `state` when sending has got on,
 * `failed` when an entry could not be stored or was stored after all (see `failing`), and `outdated`
 * when another tab holds a newer page and this one can store nothing any more.
 */
export class Book extends EventTarget {
  #database;
  #keeper;
  #desk;
  #live;

  /**
   * @param {Database} database
   * @param {string} device
   */
  constructor(database, device) {
    super();
    this.#database = database;
    this.#keeper = new Keeper(database);
    /** This device's id. */
    this.device = device;
    /** The sending and fetching. */
    this.sync = new Sync(database, {
      changed: (id, records) => this.#live.spread(id, records),
      failing: () => this.failing.size,
    });
    this.#desk = new Desk({ database, keeper: this.#keeper, device, service: this.sync.service });
    this.#live = new Live(database, this.#desk);
    this.#wire();
  }

  /** The entries that could not be stored so far, by id. They are in memory and tried again. @returns {import("./desk.js").Desk["failing"]} */
  get failing() {
    return this.#desk.failing;
  }

  /** True once another tab holds a newer page: this one must be loaded again. @returns {boolean} */
  get outdated() {
    return this.#database.outdated;
  }

  /**
   * The surveys on this phone, the newest first.
   * @returns {Promise<SurveySummary[]>}
   */
  async surveys() {
    const found = await this.#database.read(STORES, listSurveys);
    const outcome = await Promise.all(found.map((one) => this.#summary(one)));
    return outcome.sort((a, b) => Date.parse(b.created) - Date.parse(a.created));
  }

  /**
   * The surveys that the service has and this phone has not.
   * @returns {Promise<{id: string, title: string, created: string}[]>}
   * @throws {Error} where the service does not answer
   */
  async surveysThere() {
    const [there, here] = await Promise.all([this.sync.service.surveys(), this.#database.read(STORES, listSurveys)]);
    const known = new Set(here.map(({ id }) => id));
    return there.filter(({ id }) => !known.has(id));
  }

  /**
   * Brings a survey from the service to this phone.
   * @param {string} id
   * @returns {Promise<string>} its id
   * @throws {Error} where it cannot be had; nothing is stored then
   */
  async bring(id) {
    const { head, entries } = await this.sync.service.survey(id);
    return this.#taken(await importSurvey(this.#database, { head, entries, photos: {} }, { there: true }));
  }

  /**
   * Stores a new survey.
   * @param {Head} head
   * @returns {Promise<string>} its id, once the head is stored
   * @throws {Error} where the head is not sound or could not be stored
   */
  async createSurvey(head) {
    const fault = headFault(head);
    if (fault) throw new Error(`The survey's head, field ${fault.field}: ${fault.why}.`);
    await this.#database.attempt(STORES, "readwrite", (tx) => putHead(tx, head, false));
    return this.#taken(head.id);
  }

  /**
   * Opens a survey: reads all its entries and folds them. A survey that is open is given again.
   * @param {string} id
   * @returns {Promise<Survey>}
   * @throws {Error} where it is not on this phone
   */
  openSurvey(id) {
    return this.#live.open(id);
  }

  /**
   * Takes a survey from a file. What is here already stays; what is new is added, all or nothing.
   * @param {Blob} file JSON of format `baywalk.survey` 1
   * @returns {Promise<string>} the survey's id, once it is stored
   * @throws {import("./file.js").BadFile} naming the entry and the field; nothing is stored then
   */
  async importFile(file) {
    const contents = readFile(await file.text());
    return this.#taken(await importSurvey(this.#database, contents, { there: false }));
  }

  /**
   * Keeps something of the page's own under a name, such as where one was in the walk.
   * @param {string} name
   * @param {any} value JSON
   * @returns {Promise<void>} once it is stored
   */
  async keep(name, value) {
    const letGo = hold(name, value);
    await this.#database.attempt("keep", "readwrite", (tx) => {
      tx.objectStore("keep").put(value, `page.${name}`);
      return () => undefined;
    });
    letGo();
  }

  /**
   * What was kept under a name.
   * @param {string} name
   * @returns {Promise<any>} undefined where nothing was
   */
  async kept(name) {
    const late = held(name);
    if (late !== undefined) return late;
    return this.#database.read("keep", (tx) => {
      const found = tx.objectStore("keep").get(`page.${name}`);
      return () => found.result;
    });
  }

  /** Begins to send, and stores what an earlier page could not. Called once, by `openBook`. */
  start() {
    void this.#desk.rescue();
    this.sync.start();
  }

  /** Tries again now what could not be stored. */
  tryAgain() {
    this.#keeper.nudge();
  }

  #wire() {
    const pass = (/** @type {EventTarget} */ from, /** @type {string} */ name) =>
      from.addEventListener(name, () => this.dispatchEvent(new Event(name)));
    pass(this.#database, "outdated");
    pass(this.#desk, "failed");
    pass(this.#live, "change");
    for (const name of ["stored", "rescued"]) this.#desk.addEventListener(name, () => this.sync.soon());
    this.sync.on(() => this.dispatchEvent(new Event("state")));
    onWake(() => this.#keeper.nudge());
    // Closing the page would lose what is in memory only; the browser asks first.
    addEventListener("beforeunload", (event) => this.failing.size && event.preventDefault());
  }

  /** @param {string} id a survey that is new here or has grown @returns {string} the same */
  #taken(id) {
    this.#live.spread(id, null);
    this.sync.soon();
    return id;
  }

  /**
   * The name of a survey may have been changed by its entries, so it is opened for it.
   * @param {ReturnType<ReturnType<typeof listSurveys>>[number]} one
   * @returns {Promise<SurveySummary>}
   */
  async #summary({ id, head, entries, toGo, oldest, lastSync }) {
    const { title } = (await this.#live.open(id)).plainHead;
    return {
      id,
      title,
      created: head.created,
      entries,
      toGo,
      oldestUnsent: asText(oldest),
      lastSync: asText(lastSync),
    };
  }
}
