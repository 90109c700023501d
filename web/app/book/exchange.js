/**
 * Taking a whole survey in, from a file or from the service: all of it or nothing.
 * @module book/exchange
 */
import { BadFile, same } from "./file.js";
import { mergeHeads } from "./merge.js";
import { fromBase64, sha256 } from "./photos.js";
import { STORES, changeSurvey, putHead, putPhoto, readSurvey, takeEntries } from "./shelf.js";

/** @typedef {import("./file.js").Contents} Contents */
/** @typedef {import("./types.js").PhotoRecord} PhotoRecord */
/** @typedef {import("./database.js").Database} Database */

/**
 * @param {[string, import("./file.js").FiledPhoto]} filed
 * @returns {Promise<PhotoRecord>}
 */
async function unpack([sum, { type, data }]) {
  let bytes;
  try {
    bytes = fromBase64(data);
  } catch {
    throw new BadFile(`The survey, field photos: ${sum} is not in base64.`);
  }
  if ((await sha256(bytes)) !== sum)
    throw new BadFile(`The survey, field photos: ${sum} has other bytes than its name says.`);
  return { sha256: sum, type, bytes, unsent: 1 };
}

/**
 * What is here already wins nothing over what comes: an id that means two things is refused.
 * @param {Database} database
 * @param {Contents} contents
 */
async function refuseClash(database, { head, entries }) {
  const { records } = await database.read(STORES, (tx) => readSurvey(tx, head.id));
  const here = new Map(records.map(({ id, entry }) => [id, entry]));
  const clash = entries.find((entry) => here.has(entry.id) && !same(here.get(entry.id), entry));
  if (clash) throw new BadFile(`Entry ${clash.id}, field id: this phone has another entry of this id.`);
}

/**
 * Stores a survey's head, entries and photos where they are not here yet.
 * @param {Database} database
 * @param {Contents} contents
 * @param {{there: boolean}} from whether it came from the service
 * @returns {Promise<string>} the survey's id, once everything is stored
 * @throws {Error} why nothing was stored
 */
export async function importSurvey(database, contents, { there }) {
  const { head, entries } = contents;
  const photos = await Promise.all(Object.entries(contents.photos).map(unpack));
  await refuseClash(database, contents);
  await database.attempt(STORES, "readwrite", (tx) => {
    putHead(tx, head, there);
    // A file's head shows the outcome of its entries; what this phone began with has precedence.
    changeSurvey(tx, head.id, (old) => ({ ...old, head: mergeHeads(head, old.head) }));
    photos.forEach((photo) => putPhoto(tx, photo));
    return takeEntries(tx, head.id, entries, { there });
  });
  return head.id;
}
