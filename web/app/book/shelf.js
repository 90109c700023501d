/**
 * What lies where in the database: each function is the inside of one transaction. They put their
 * requests and give back what reads the outcome; nothing in them waits for anything else.
 * @module book/shelf
 */
import { same } from "./file.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").EntryRecord} EntryRecord */
/** @typedef {import("./types.js").PhotoRecord} PhotoRecord */
/** @typedef {import("./types.js").SurveyRecord} SurveyRecord */
/** @typedef {import("./types.js").AsBuiltRecord} AsBuiltRecord */
/** @typedef {import("./types.js").Head} Head */

/** Every store of the field book that a survey has a part in. */
export const STORES = ["surveys", "entries", "photos", "asbuilt"];

/** @param {string} survey all that is still to go of one survey, oldest first */
const unsentOf = (survey) => IDBKeyRange.bound([survey], [survey, []]);

/**
 * @param {string} survey
 * @param {Entry} entry
 * @returns {EntryRecord} an entry made here and not yet sent
 */
export const freshRecord = (survey, entry) => ({ id: entry.id, survey, entry, kept: Date.now(), unsent: survey });

/**
 * Stores an entry, and the photo it speaks of with it.
 * @param {IDBTransaction} tx
 * @param {EntryRecord} record
 * @param {PhotoRecord} [photo]
 */
export function putEntry(tx, record, photo) {
  tx.objectStore("entries").put(record);
  if (photo) putPhoto(tx, photo);
  return () => undefined;
}

/**
 * Stores an entry unless it is there: what is known of its going over stays.
 * @param {IDBTransaction} tx
 * @param {EntryRecord} record
 */
export function putIfNew(tx, record) {
  const entries = tx.objectStore("entries");
  const known = entries.get(record.id);
  known.onsuccess = () => known.result ?? entries.put(record);
  return () => undefined;
}

/**
 * Stores a photo unless its very bytes are there already.
 * @param {IDBTransaction} tx
 * @param {PhotoRecord} photo
 */
export function putPhoto(tx, photo) {
  const photos = tx.objectStore("photos");
  const known = photos.get(photo.sha256);
  known.onsuccess = () => {
    // A copy from the service is not the original: the original, when it comes, takes its place.
    if (!known.result || known.result.copy) photos.put(photo);
  };
}

/**
 * Stores a head unless the survey is known.
 * @param {IDBTransaction} tx
 * @param {Head} head
 * @param {boolean} brought
 */
export function putHead(tx, head, brought) {
  const surveys = tx.objectStore("surveys");
  const known = surveys.get(head.id);
  known.onsuccess = () => {
    if (!known.result) surveys.put({ id: head.id, head, brought, cursor: 0, lastSync: null });
  };
  return () => undefined;
}

/**
 * Changes a survey's record, where there is one.
 * @param {IDBTransaction} tx
 * @param {string} id
 * @param {(old: SurveyRecord) => SurveyRecord} change
 */
export function changeSurvey(tx, id, change) {
  const surveys = tx.objectStore("surveys");
  const known = surveys.get(id);
  known.onsuccess = () => known.result && surveys.put(change(known.result));
  return () => undefined;
}

/**
 * Stores entries that came from elsewhere, where they are not known; marks the others as there.
 * @param {IDBTransaction} tx
 * @param {string} survey
 * @param {Entry[]} entries
 * @param {{there: boolean}} from whether the service has them
 * @returns {() => EntryRecord[]} the records that are new or changed
 */
export function takeEntries(tx, survey, entries, { there }) {
  const store = tx.objectStore("entries");
  /** @type {EntryRecord[]} */
  const changed = [];
  const put = (/** @type {EntryRecord} */ record) => {
    store.put(record);
    changed.push(record);
  };
  for (const entry of entries) {
    const known = store.get(entry.id);
    known.onsuccess = () => {
      const old = /** @type {EntryRecord | undefined} */ (known.result);
      if (!old) put({ id: entry.id, survey, entry, kept: Date.now(), ...(there ? {} : { unsent: survey }) });
      else if (there && (old.unsent || old.refused)) put(met(old, entry));
    };
  }
  return () => changed;
}

/** @param {EntryRecord} old @param {Entry} entry as the service has it @returns {EntryRecord} */
function met(old, entry) {
  const { unsent: _unsent, refused: _refused, ...rest } = old;
  return same(old.entry, entry) ? rest : { ...rest, refused: "the service has another entry of this id" };
}

/**
 * Notes what the service said of entries that were sent.
 * @param {IDBTransaction} tx
 * @param {Iterable<string>} there the ids it has
 * @param {Map<string, string>} refused the ids it would not have, with the reason
 * @returns {() => EntryRecord[]} the records that changed
 */
export function settle(tx, there, refused) {
  const store = tx.objectStore("entries");
  /** @type {EntryRecord[]} */
  const changed = [];
  for (const id of [...there, ...refused.keys()]) {
    const known = store.get(id);
    known.onsuccess = () => {
      if (!known.result) return;
      const { unsent: _unsent, refused: _refused, ...rest } = known.result;
      const why = refused.get(id);
      const record = why === undefined ? rest : { ...rest, refused: why };
      store.put(record);
      changed.push(record);
    };
  }
  return () => changed;
}

/**
 * Puts entries of a survey back among what is to go: all of them with their photos, or the refused
 * alone.
 * @param {IDBTransaction} tx
 * @param {string} survey
 * @param {boolean} all
 * @returns {() => EntryRecord[]} the records that changed
 */
export function sendAgain(tx, survey, all) {
  const store = tx.objectStore("entries");
  /** @type {EntryRecord[]} */
  const changed = [];
  const found = store.index("survey").getAll(survey);
  found.onsuccess = () => {
    for (const { refused, ...rest } of found.result) {
      if (all && rest.entry.kind === "photo") sendPhotoAgain(tx, rest.entry.sha256);
      if (rest.unsent || (!all && refused === undefined)) continue;
      const record = { ...rest, unsent: survey };
      store.put(record);
      changed.push(record);
    }
  };
  return () => changed;
}

/**
 * Puts a photo back among what is to go. A copy is the service's own, and does not go back.
 * @param {IDBTransaction} tx
 * @param {string} sha256
 */
export function sendPhotoAgain(tx, sha256) {
  const photos = tx.objectStore("photos");
  const known = photos.get(sha256);
  known.onsuccess = () => {
    const { refused: _refused, ...rest } = known.result ?? {};
    if (known.result && !rest.copy) photos.put({ ...rest, unsent: 1 });
  };
}

/**
 * Everything of one survey but its photos.
 * @param {IDBTransaction} tx
 * @param {string} id
 * @returns {() => {survey: SurveyRecord | undefined, records: EntryRecord[], asBuilt: AsBuiltRecord | undefined}}
 */
export function readSurvey(tx, id) {
  const survey = tx.objectStore("surveys").get(id);
  const records = tx.objectStore("entries").index("survey").getAll(id);
  const asBuilt = tx.objectStore("asbuilt").get(id);
  return () => ({ survey: survey.result, records: records.result, asBuilt: asBuilt.result });
}

/**
 * The surveys with what lies here of each.
 * @param {IDBTransaction} tx
 * @returns {() => (SurveyRecord & {entries: number, toGo: number, oldest: number | null})[]}
 */
export function listSurveys(tx) {
  /** @type {(() => any)[]} */
  const found = [];
  const surveys = tx.objectStore("surveys").getAll();
  surveys.onsuccess = () => found.push(...surveys.result.map((survey) => tally(tx, survey)));
  return () => found.map((one) => one());
}

/** @param {IDBTransaction} tx @param {SurveyRecord} survey */
function tally(tx, survey) {
  const entries = tx.objectStore("entries");
  const all = entries.index("survey").count(survey.id);
  const toGo = entries.index("unsent").count(unsentOf(survey.id));
  const oldest = entries.index("unsent").get(unsentOf(survey.id));
  return () => ({ ...survey, entries: all.result, toGo: toGo.result, oldest: oldest.result?.kept ?? null });
}

/**
 * What is still to go of one survey, oldest first.
 * @param {IDBTransaction} tx
 * @param {string} survey
 * @param {number} most how many at once
 * @returns {() => EntryRecord[]}
 */
export function readUnsent(tx, survey, most) {
  const found = tx.objectStore("entries").index("unsent").getAll(unsentOf(survey), most);
  return () => found.result;
}
