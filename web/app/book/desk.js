/**
 * What an open survey writes with: the storing of its entries, its photos, its file.
 * @module book/desk
 */
import { writeFile } from "./file.js";
import { aboard, board, leave } from "./lifeboat.js";
import { toBase64, toPicture } from "./photos.js";
import { STORES, freshRecord, putEntry, putIfNew, putPhoto } from "./shelf.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Picture} Picture */
/** @typedef {import("./types.js").PhotoRecord} PhotoRecord */
/** @typedef {import("./survey.js").Survey} Survey */
/** @typedef {{survey: Survey, entry: Entry, error: Error}} Failing */

/** @param {Picture} picture @returns {PhotoRecord} */
const toGo = (picture) => ({ ...picture, unsent: 1 });

/** The tools. Fires `stored` and `rescued` with the record, and `failed` when `failing` has changed. */
export class Desk extends EventTarget {
  #database;
  #keeper;
  #service;
  #asked = false;
  /** @type {Map<string, string>} */
  #urls = new Map();
  /** The entries that could not be stored so far. @type {Map<string, Failing>} */
  failing = new Map();

  /**
   * @param {{database: import("./database.js").Database, keeper: import("./keeper.js").Keeper, device: string,
   *   service: import("../sync/service.js").Service}} parts
   */
  constructor({ database, keeper, device, service }) {
    super();
    this.#database = database;
    this.#keeper = keeper;
    this.#service = service;
    this.device = device;
  }

  /**
   * Stores an entry in a transaction of its own, with its photo where it has one.
   * @param {Survey} survey
   * @param {Entry} entry
   * @param {Picture} [picture]
   * @param {(error: Error) => void} [failed] told of each failure; it is tried again by itself
   * @returns {Promise<void>} settles only once it is stored
   */
  async store(survey, entry, picture, failed) {
    const record = freshRecord(survey.id, entry);
    const stores = picture ? ["entries", "photos"] : ["entries"];
    const note = (/** @type {Error} */ error) => {
      this.failing.set(entry.id, { survey, entry, error });
      if (picture) board(record);
      failed?.(error);
      this.dispatchEvent(new Event("failed"));
    };
    // A photo's entry waits for its photo: without it, it would speak of what is nowhere.
    if (!picture) board(record);
    await this.#keeper.store(stores, (tx) => putEntry(tx, record, picture && toGo(picture)), note);
    leave(entry.id);
    if (this.failing.delete(entry.id)) this.dispatchEvent(new Event("failed"));
    this.dispatchEvent(new CustomEvent("stored", { detail: record }));
    this.#askToKeep();
  }

  /**
   * Stores what was left over when a page was left or died before its entries were stored.
   * @returns {Promise<void>} settles once all of it is stored
   */
  async rescue() {
    for (const record of aboard()) {
      await this.#keeper.store(["entries"], (tx) => putIfNew(tx, record));
      leave(record.id);
      this.dispatchEvent(new CustomEvent("rescued", { detail: record }));
    }
  }

  /**
   * A photo made fit to be kept.
   * @param {Blob} photo
   * @returns {Promise<Picture>}
   */
  picture(photo) {
    return toPicture(photo);
  }

  /**
   * An address at which the page can show a photo.
   * @param {string} sha256
   * @returns {Promise<string | null>} null where it is neither here nor on the service
   */
  async photoUrl(sha256) {
    const known = this.#urls.get(sha256);
    if (known) return known;
    const photo = (await this.#photo(sha256)) ?? (await this.#fetched(sha256));
    if (!photo) return null;
    const url = URL.createObjectURL(new Blob([photo.bytes], { type: photo.type }));
    this.#urls.set(sha256, url);
    return url;
  }

  /**
   * A survey as a file.
   * @param {Survey} survey
   * @param {boolean} withPhotos puts the photos' bytes in
   * @returns {Promise<Blob>}
   */
  async file(survey, withPhotos) {
    const photos = withPhotos ? await this.#filed(survey) : undefined;
    return new Blob([writeFile(survey.plainHead, survey.entries, photos)], { type: "application/json" });
  }

  /** @param {Survey} survey @returns {Promise<Record<string, import("./file.js").FiledPhoto>>} */
  async #filed(survey) {
    const sums = new Set(survey.entries.filter(({ kind }) => kind === "photo").map((entry) => String(entry.sha256)));
    const found = await Promise.all([...sums].map((sum) => this.#photo(sum)));
    // A copy that the service made is not the bytes of that hash, and so is not filed under it.
    const own = found.flatMap((photo) => (photo && !photo.copy ? [photo] : []));
    return Object.fromEntries(own.map(({ sha256, type, bytes }) => [sha256, { type, data: toBase64(bytes) }]));
  }

  /** @param {string} sha256 @returns {Promise<PhotoRecord | undefined>} */
  #photo(sha256) {
    return this.#database.read("photos", (tx) => {
      const found = tx.objectStore("photos").get(sha256);
      return () => found.result;
    });
  }

  /** @param {string} sha256 @returns {Promise<PhotoRecord | null>} another phone's photo, kept for next time */
  async #fetched(sha256) {
    const got = await this.#service.photo(sha256).catch(() => null);
    if (!got) return null;
    const record = { sha256, ...got, copy: true };
    const keep = (/** @type {IDBTransaction} */ tx) => {
      putPhoto(tx, record);
      return () => undefined;
    };
    // It can be fetched again, so a failure to keep it is no loss.
    await this.#database.attempt(STORES, "readwrite", keep).catch(() => undefined);
    return record;
  }

  /** Asks the browser, once and after the first entry, not to clear what is stored. */
  #askToKeep() {
    if (this.#asked) return;
    this.#asked = true;
    void navigator.storage?.persist?.().catch(() => undefined);
  }
}
