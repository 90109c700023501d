/**
 * A survey as one file: JSON of format `baywalk.survey` 1, with its photos where they are wanted.
 * @module book/file
 */
import { entryFault, headFault } from "./check.js";
import { hash, isObject } from "./values.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Head} Head */

/** A file that cannot be taken; its text says why, and names the entry and the field. */
export class BadFile extends Error {}

/**
 * A photo as a file carries it.
 * @typedef {object} FiledPhoto
 * @property {string} type such as `image/jpeg`
 * @property {string} data the bytes in base64
 */

/**
 * What a file holds.
 * @typedef {object} Contents
 * @property {Head} head
 * @property {Entry[]} entries
 * @property {Record<string, FiledPhoto>} photos by the SHA-256 of their bytes
 */

/** @param {string} text @returns {any} */
function parse(text) {
  try {
    return JSON.parse(text);
  } catch {
    throw new BadFile("This file cannot be read: it is not JSON.");
  }
}

/**
 * Whether two values are equal as JSON; the order of an object's fields means nothing.
 * @param {any} one
 * @param {any} other
 * @returns {boolean}
 */
export function same(one, other) {
  if (Array.isArray(one) !== Array.isArray(other)) return false;
  if (typeof one !== "object" || typeof other !== "object" || !one || !other) return one === other;
  const names = Object.keys(one);
  return (
    names.length === Object.keys(other).length &&
    names.every((name) => Object.hasOwn(other, name) && same(one[name], other[name]))
  );
}

/** @param {any} entries @returns {Entry[]} once each */
function readEntries(entries) {
  if (!Array.isArray(entries)) throw new BadFile("The survey, field entries: must be a list.");
  /** @type {Map<string, Entry>} */
  const known = new Map();
  entries.forEach((entry, index) => {
    const fault = entryFault(entry);
    const named = `Entry ${index + 1} (id ${String(entry?.id ?? "none").slice(0, 40)})`;
    if (fault) throw new BadFile(`${named}, field ${fault.field}: ${fault.why}.`);
    const first = known.get(entry.id);
    if (first && !same(first, entry)) throw new BadFile(`${named}, field id: comes twice and differs.`);
    known.set(entry.id, entry);
  });
  return [...known.values()];
}

/** @param {any} photos @returns {Record<string, FiledPhoto>} */
function readPhotos(photos) {
  if (!isObject(photos)) throw new BadFile("The survey, field photos: must be an object.");
  for (const [sum, photo] of Object.entries(photos)) {
    const fits = !hash(sum) && typeof photo?.type === "string" && typeof photo?.data === "string";
    if (!fits) throw new BadFile(`The survey, field photos: ${sum.slice(0, 64)} is not a photo.`);
  }
  return photos;
}

/**
 * Reads a survey file.
 * @param {string} text
 * @returns {Contents}
 * @throws {BadFile} for the first thing wrong, naming the entry and the field
 */
export function readFile(text) {
  const document = parse(text);
  const { entries = [], photos = {}, ...head } = isObject(document) ? document : {};
  const fault = headFault(isObject(document) ? head : document);
  if (fault) throw new BadFile(`The survey's head, field ${fault.field || "(whole)"}: ${fault.why}.`);
  return { head: /** @type {Head} */ (head), entries: readEntries(entries), photos: readPhotos(photos) };
}

/**
 * Writes a survey file.
 * @param {Head} head
 * @param {Entry[]} entries
 * @param {Record<string, FiledPhoto>} [photos]
 * @returns {string}
 */
export function writeFile(head, entries, photos) {
  return JSON.stringify({ ...head, entries, ...(photos ? { photos } : {}) }, null, 1);
}
