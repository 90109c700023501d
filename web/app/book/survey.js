/**
 * One open survey: all its entries, what they amount to, and the ways to add to them.
 * @module book/survey
 */
import { entryFault } from "./check.js";
import { newEntry } from "./entry.js";
import { fold } from "./fold.js";
import { nextCounter } from "./order.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Head} Head */
/** @typedef {import("./types.js").Saving} Saving */
/** @typedef {import("./types.js").Picture} Picture */
/** @typedef {import("./types.js").EntryRecord} EntryRecord */
/** @typedef {import("./types.js").AsBuiltRecord} AsBuiltRecord */

/** @typedef {import("./desk.js").Desk} Desk */

/** An entry that is not sound; its text names the field. Nothing was added. */
class BadEntry extends Error {}

/**
 * An open survey.
 *
 * Fires `change` whenever anything below has changed, and `failed` when an entry could not be stored.
 */
export class Survey extends EventTarget {
  #desk;
  /** @type {Head} */
  #base;
  #folded;
  #counter;
  /** @type {AsBuiltRecord | null} */
  #asBuilt = null;
  /** The entries that are not stored yet; the error where storing has failed so far. @type {Map<string, Error | null>} */
  unsaved = new Map();
  /** The ids of the entries that the service has. @type {Set<string>} */
  sent = new Set();
  /** The entries that the service would not have, with its reason. @type {Map<string, string>} */
  refused = new Map();

  /**
   * @param {Desk} desk
   * @param {Head} base the head as first stored
   * @param {EntryRecord[]} records
   */
  constructor(desk, base, records) {
    super();
    this.#desk = desk;
    this.#base = base;
    for (const record of records) this.#mark(record);
    this.#folded = fold(
      base,
      records.map(({ entry }) => entry),
    );
    this.#counter = nextCounter(this.#folded.entries);
  }

  /** The survey's id. @returns {string} */
  get id() {
    return this.#base.id;
  }

  /** This device's id, which its own entries carry as `by`. @returns {string} */
  get device() {
    return this.#desk.device;
  }

  /** The head as it now stands. A run without tape lines or a count has an empty list and 0. @returns {Head} */
  get head() {
    const runs = this.#folded.head.runs.map((run) => ({ ...run, joists: run.joists ?? 0, lines: run.lines ?? [] }));
    return { ...this.#folded.head, runs };
  }

  /** The head as it is exported, without anything filled in. @returns {Head} */
  get plainHead() {
    return this.#folded.head;
  }

  /** Every entry, struck ones too, in order. @returns {Entry[]} */
  get entries() {
    return this.#folded.entries;
  }

  /** The ids of the entries that count. @returns {Set<string>} */
  get standing() {
    return this.#folded.standing;
  }

  /** The ids of the entries that are struck out, with the reason. @returns {Map<string, string>} */
  get struck() {
    return this.#folded.struck;
  }

  /** The as-built last fetched, or null. @returns {Record<string, any> | null} */
  get asBuilt() {
    return this.#asBuilt?.body ?? null;
  }

  /** What is known of the kept as-built. @returns {import("./types.js").AsBuiltState} */
  get asBuiltState() {
    const kept = this.#asBuilt;
    if (!kept) return { etag: null, fetchedAt: null, stale: false };
    const stale = kept.count !== this.entries.length - this.refused.size;
    return { etag: kept.etag, fetchedAt: new Date(kept.fetchedAt).toISOString(), stale };
  }

  /**
   * Adds an entry. It counts at once; it is stored when `saved` settles.
   * @param {string} kind
   * @param {Record<string, any>} fields lengths in [mm]
   * @returns {Saving}
   * @throws {BadEntry} where the entry is not sound; nothing was added then
   */
  add(kind, fields) {
    return this.#add(kind, fields);
  }

  /**
   * Strikes an entry out.
   * @param {string} id
   * @param {string} reason
   * @returns {Saving}
   */
  strike(id, reason) {
    return this.add("strike", { target: id, reason });
  }

  /**
   * Takes a struck entry back in.
   * @param {string} id of the struck entry, or of its strike
   * @returns {Saving}
   */
  restore(id) {
    return this.add("restore", { target: id });
  }

  /**
   * Changes the head.
   * @param {string} path such as `/title` or `/runs/A/joists`
   * @param {unknown} value
   * @returns {Saving}
   */
  set(path, value) {
    return this.add("set", { path, value });
  }

  /**
   * Adds a photo, made smaller on the phone. Photo and entry are stored together.
   * @param {Blob} photo
   * @param {{run?: string, bay?: number, joist?: number, caption?: string}} [fields]
   * @returns {Promise<Saving>}
   * @throws {Error} where the photo cannot be read, or there is no room for it
   */
  async addPhoto(photo, fields = {}) {
    const picture = await this.#desk.picture(photo);
    const { sha256, width, height } = picture;
    return this.#add("photo", { ...fields, sha256, ...(width && height ? { width, height } : {}) }, picture);
  }

  /**
   * An address at which the page can show a photo.
   * @param {string} sha256
   * @returns {Promise<string | null>} null where the photo is not on this phone and cannot be fetched
   */
  photoUrl(sha256) {
    return this.#desk.photoUrl(sha256);
  }

  /**
   * The whole survey as a file, with no service at all. What is not stored yet is in it too.
   * @param {{photos?: boolean}} [options] `photos` puts the photos' bytes in
   * @returns {Promise<Blob>} JSON of format `baywalk.survey` 1
   */
  exportFile({ photos = false } = {}) {
    return this.#desk.file(this, photos);
  }

  /**
   * Takes in what came from the database: new entries, or new word on how far known ones got.
   * @param {EntryRecord[]} records
   */
  absorb(records) {
    if (!records.length) return;
    for (const record of records) this.#mark(record);
    this.#refold([...this.entries, ...records.map(({ entry }) => entry)]);
  }

  /**
   * Takes in another as-built.
   * @param {AsBuiltRecord | null} record
   */
  takeAsBuilt(record) {
    this.#asBuilt = record;
    this.#say("change");
  }

  /**
   * Takes in another head to start from.
   * @param {Head} base
   */
  takeBase(base) {
    this.#base = base;
    this.#refold(this.entries);
  }

  /**
   * @param {string} kind
   * @param {Record<string, any>} fields
   * @param {Picture} [picture]
   * @returns {Saving}
   */
  #add(kind, fields, picture) {
    const entry = newEntry(kind, fields, { by: this.#desk.device, n: this.#counter });
    const fault = entryFault(entry);
    if (fault) throw new BadEntry(`This ${kind} cannot be kept: field ${fault.field} ${fault.why}.`);
    this.unsaved.set(entry.id, null);
    this.#refold([...this.entries, entry]);
    const saved = this.#desk
      .store(this, entry, picture, (error) => this.#failed(entry, error))
      .then(() => {
        this.unsaved.delete(entry.id);
        this.#say("change");
      });
    return { entry, saved };
  }

  /** @param {Entry} entry @param {Error} error */
  #failed(entry, error) {
    this.unsaved.set(entry.id, error);
    this.#say("failed");
    this.#say("change");
  }

  /** @param {EntryRecord} record */
  #mark({ id, unsent, refused }) {
    this.sent.delete(id);
    this.refused.delete(id);
    if (refused !== undefined) this.refused.set(id, refused);
    else if (!unsent) this.sent.add(id);
  }

  /** @param {Entry[]} entries */
  #refold(entries) {
    this.#folded = fold(this.#base, entries);
    this.#counter = nextCounter(this.#folded.entries);
    this.#say("change");
  }

  /** @param {string} name */
  #say(name) {
    this.dispatchEvent(new Event(name));
  }
}
