/**
 * The surveys that are open in this tab, kept in step with the database and with other tabs.
 * @module book/live
 */
import { aboard } from "./lifeboat.js";
import { STORES, readSurvey } from "./shelf.js";
import { Survey } from "./survey.js";

/** @typedef {import("./types.js").EntryRecord} EntryRecord */
/** @typedef {import("./database.js").Database} Database */
/** @typedef {import("./desk.js").Desk} Desk */

/** Another tab's word that a survey has changed: these entries, or everything. @typedef {{id: string, ids: string[] | null}} Word */

/** The open surveys. Fires `change` when one has changed or a survey has come. */
export class Live extends EventTarget {
  #database;
  #desk;
  #channel = new BroadcastChannel("baywalk.book");
  /** @type {Map<string, Promise<Survey>>} */
  #open = new Map();

  /**
   * @param {Database} database
   * @param {Desk} desk
   */
  constructor(database, desk) {
    super();
    this.#database = database;
    this.#desk = desk;
    this.#channel.onmessage = ({ data }) => void this.#hear(data);
    const recordOf = (/** @type {Event} */ event) => /** @type {CustomEvent<EntryRecord>} */ (event).detail;
    desk.addEventListener("rescued", (event) => this.spread(recordOf(event).survey, [recordOf(event)]));
    desk.addEventListener("stored", (event) => {
      const record = recordOf(event);
      this.#channel.postMessage({ id: record.survey, ids: [record.id] });
      this.dispatchEvent(new Event("change"));
    });
  }

  /**
   * An open survey; opened now where it is not.
   * @param {string} id
   * @returns {Promise<Survey>}
   * @throws {Error} where it is not on this phone
   */
  open(id) {
    const known = this.#open.get(id);
    if (known) return known;
    const opening = this.#load(id);
    this.#open.set(id, opening);
    opening.catch(() => this.#open.delete(id));
    return opening;
  }

  /**
   * Tells the open survey here and the other tabs what has changed in the database.
   * @param {string} id the survey
   * @param {EntryRecord[] | null} records null for everything
   */
  spread(id, records) {
    if (records && !records.length) return;
    this.#channel.postMessage({ id, ids: records?.map((record) => record.id) ?? null });
    void this.#take(id, records);
  }

  /** @param {string} id @returns {Promise<Survey>} */
  async #load(id) {
    const { survey, records, asBuilt } = await this.#database.read(STORES, (tx) => readSurvey(tx, id));
    if (!survey) throw new Error("This survey is not on this phone.");
    const known = new Set(records.map((record) => record.id));
    const late = aboard().filter((record) => record.survey === id && !known.has(record.id));
    const opened = new Survey(this.#desk, survey.head, [...records, ...late]);
    if (asBuilt) opened.takeAsBuilt(asBuilt);
    return opened;
  }

  /** @param {string} id @param {EntryRecord[] | null} records */
  async #take(id, records) {
    const survey = await this.#open.get(id)?.catch(() => null);
    if (survey && records) survey.absorb(records);
    else if (survey) await this.#readAgain(survey);
    this.dispatchEvent(new Event("change"));
  }

  /** @param {Survey} open */
  async #readAgain(open) {
    const { survey, records, asBuilt } = await this.#database.read(STORES, (tx) => readSurvey(tx, open.id));
    if (survey) open.takeBase(survey.head);
    open.absorb(records);
    open.takeAsBuilt(asBuilt ?? null);
  }

  /** @param {Word} word */
  async #hear({ id, ids }) {
    if (!this.#open.has(id)) return this.dispatchEvent(new Event("change"));
    const { records } = await this.#database.read(STORES, (tx) => readSurvey(tx, id));
    const wanted = new Set(ids);
    await this.#take(id, ids && records.filter((record) => wanted.has(record.id)));
  }
}
