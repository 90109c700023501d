/**
 * What is still to go and how far the service's entries have come, as the database has it.
 * @module sync/outbox
 */
import {
  STORES,
  changeSurvey,
  listSurveys,
  readSurvey,
  readUnsent,
  sendAgain,
  sendPhotoAgain,
  settle,
  takeEntries,
} from "../book/shelf.js";

/** @typedef {import("../book/types.js").Entry} Entry */
/** @typedef {import("../book/types.js").Head} Head */
/** @typedef {import("../book/types.js").EntryRecord} EntryRecord */
/** @typedef {import("../book/types.js").PhotoRecord} PhotoRecord */
/** @typedef {import("../book/types.js").AsBuiltRecord} AsBuiltRecord */
/** @typedef {import("../book/types.js").PaperKind} PaperKind */
/** @typedef {import("../book/types.js").PaperRecord} PaperRecord */
/** @typedef {import("../book/types.js").SurveyRecord & {entries: number, toGo: number, oldest: number | null}} Counted */

/** The outbox. Every change is one transaction, told to `changed` once it is done. */
export class Outbox {
  #database;
  #changed;

  /**
   * @param {import("../book/database.js").Database} database
   * @param {(survey: string, records: EntryRecord[] | null) => void} changed null for everything
   */
  constructor(database, changed) {
    this.#database = database;
    this.#changed = changed;
  }

  /**
   * The surveys here with their counts.
   * @returns {Promise<Counted[]>}
   */
  surveys() {
    return this.#database.read(STORES, listSurveys);
  }

  /**
   * Entries that the service has not got, oldest first.
   * @param {string} survey
   * @param {number} most how many at once
   * @returns {Promise<Entry[]>}
   */
  async unsent(survey, most) {
    const records = await this.#database.read(STORES, (tx) => readUnsent(tx, survey, most));
    return records.map(({ entry }) => entry);
  }

  /**
   * Notes what the service said of entries that were sent.
   * @param {string} survey
   * @param {import("./service.js").Taken} taken
   */
  async settle(survey, { there, refused }) {
    this.#changed(survey, await this.#write((tx) => settle(tx, there, refused)));
  }

  /**
   * Puts entries back among what is to go.
   * @param {string} survey
   * @param {{all: boolean}} which all of them, because the service has lost them; or the refused alone
   */
  async sendAgain(survey, { all }) {
    const records = await this.#write((tx) => {
      if (all) changeSurvey(tx, survey, (old) => ({ ...old, cursor: 0 }));
      return sendAgain(tx, survey, all);
    });
    this.#changed(survey, records);
  }

  /**
   * Notes the mark of the service's store. Where it is another one than before, the store was put back
   * from a copy or is a new one: everything is put among what is to go, for it may have lost some.
   * @param {string | null} mark null where the service has none
   */
  async meet(mark) {
    const known = await this.#database.read("keep", (tx) => {
      const found = tx.objectStore("keep").get("store");
      return () => found.result;
    });
    if (mark === null || mark === known) return;
    if (known) for (const { id } of await this.surveys()) await this.sendAgain(id, { all: true });
    // Last, so that a page that dies before this does it all once more.
    await this.#write((tx) => {
      tx.objectStore("keep").put(mark, "store");
      return () => undefined;
    });
  }

  /**
   * Takes in a page of the service's entries, and how far it reaches, in one transaction.
   * @param {string} survey
   * @param {Entry[]} entries
   * @param {number} cursor
   * @returns {Promise<Entry[]>} those that were new here, or whose going over was not known
   */
  async take(survey, entries, cursor) {
    const records = await this.#write((tx) => {
      changeSurvey(tx, survey, (old) => ({ ...old, cursor }));
      return takeEntries(tx, survey, entries, { there: true });
    });
    this.#changed(survey, records);
    return records.map(({ entry }) => entry);
  }

  /**
   * Puts another head in the place of the one the survey began with.
   * @param {Head} head
   */
  async rebase(head) {
    await this.#write((tx) => changeSurvey(tx, head.id, (old) => ({ ...old, head })));
    this.#changed(head.id, null);
  }

  /**
   * Notes that everything of a survey has gone over.
   * @param {string} survey
   */
  async done(survey) {
    await this.#write((tx) => changeSurvey(tx, survey, (old) => ({ ...old, lastSync: Date.now() })));
  }

  /**
   * The as-built kept of a survey.
   * @param {string} survey
   * @returns {Promise<AsBuiltRecord | undefined>}
   */
  async asBuilt(survey) {
    return (await this.#database.read(STORES, (tx) => readSurvey(tx, survey))).asBuilt;
  }

  /**
   * Keeps an as-built.
   * @param {Omit<AsBuiltRecord, "fetchedAt">} record
   */
  async keepAsBuilt(record) {
    await this.#write((tx) => {
      tx.objectStore("asbuilt").put({ ...record, fetchedAt: Date.now() });
      return () => undefined;
    });
    this.#changed(record.id, null);
  }

  /**
   * A paper kept of a survey, or how far its plan is laid, which the page keeps.
   * @template {PaperKind | "page.laid"} K
   * @param {string} survey
   * @param {K} kind
   * @returns {Promise<(K extends PaperKind ? PaperRecord : import("../laid.js").Kept) | undefined>}
   */
  paper(survey, kind) {
    return this.#database.read("keep", (tx) => {
      const found = tx.objectStore("keep").get(`${kind}.${survey}`);
      return () => found.result;
    });
  }

  /**
   * Keeps a paper.
   * @param {string} survey
   * @param {PaperKind} kind
   * @param {PaperRecord} record
   */
  async keepPaper(survey, kind, record) {
    await this.#database.attempt("keep", "readwrite", (tx) => {
      tx.objectStore("keep").put(record, `${kind}.${survey}`);
      return () => undefined;
    });
    this.#changed(survey, null);
  }

  /**
   * The names of the photos that are still to go.
   * @returns {Promise<string[]>}
   */
  photosToGo() {
    return this.#database.read("photos", (tx) => {
      const found = tx.objectStore("photos").index("unsent").getAllKeys();
      return () => found.result.map(String);
    });
  }

  /** Puts the photos that were refused back among what is to go. */
  async offerPhotos() {
    await this.#write((tx) => {
      const found = tx.objectStore("photos").index("refused").getAllKeys();
      found.onsuccess = () => found.result.forEach((sum) => sendPhotoAgain(tx, String(sum)));
      return () => undefined;
    });
  }

  /**
   * One photo.
   * @param {string} sha256
   * @returns {Promise<PhotoRecord | undefined>}
   */
  photo(sha256) {
    return this.#database.read("photos", (tx) => {
      const found = tx.objectStore("photos").get(sha256);
      return () => found.result;
    });
  }

  /**
   * Notes that a photo has gone over, or why it was refused.
   * @param {string} sha256
   * @param {string} [refused]
   */
  async photoDone(sha256, refused) {
    await this.#write((tx) => {
      const photos = tx.objectStore("photos");
      const known = photos.get(sha256);
      known.onsuccess = () => {
        const { unsent: _unsent, refused: _refused, ...rest } = known.result ?? {};
        if (known.result) photos.put(refused === undefined ? rest : { ...rest, refused });
      };
      return () => undefined;
    });
  }

  /**
   * @template T
   * @param {(tx: IDBTransaction) => () => T} work
   * @returns {Promise<T>}
   */
  #write(work) {
    return this.#database.attempt([...STORES, "keep"], "readwrite", work);
  }
}
