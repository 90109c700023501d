/**
 * Where an entry lies until the database has it: the browser's small store of texts, which takes it
 * within the touch itself. It is no promise, so nothing in it counts as saved; but a page that is
 * left or dies before its transaction ends takes the transaction along, and an entry is then found
 * again here.
 * @module book/lifeboat
 */

/** @typedef {import("./types.js").EntryRecord} EntryRecord */

const PREFIX = "baywalk.lifeboat.";
const KEPT = "baywalk.kept.";

/** What was held last under each name: the same text may be held twice, with others between. @type {Map<string, object>} */
const last = new Map();

/**
 * Puts an entry in.
 * @param {EntryRecord} record
 */
export function board(record) {
  put(PREFIX + record.id, JSON.stringify(record));
}

/**
 * Takes an entry out again, once the database has it.
 * @param {string} id
 */
export function leave(id) {
  take(PREFIX + id);
}

/**
 * The entries in it: those under way, and those left over from a page that died.
 * @returns {EntryRecord[]}
 */
export function aboard() {
  try {
    const names = Object.keys(localStorage).filter((name) => name.startsWith(PREFIX));
    return names.flatMap((name) => read(localStorage.getItem(name)));
  } catch {
    return [];
  }
}

/**
 * Holds something of the page's own until the database has it.
 * @param {string} name
 * @param {unknown} value JSON
 * @returns {() => void} lets it go again, unless something newer is held by then
 */
export function hold(name, value) {
  const [text, mine] = [JSON.stringify(value), {}];
  last.set(name, mine);
  put(KEPT + name, text);
  return () => last.get(name) === mine && got(KEPT + name) === text && take(KEPT + name);
}

/**
 * What is held under a name.
 * @param {string} name
 * @returns {any} undefined where nothing is
 */
export function held(name) {
  const text = got(KEPT + name);
  return text === null ? undefined : JSON.parse(text);
}

/** @param {string} name @param {string} text */
function put(name, text) {
  try {
    localStorage.setItem(name, text);
  } catch {
    // It is full or forbidden. What it would hold is in memory still, and tried again.
  }
}

/** @param {string} name */
function take(name) {
  try {
    localStorage.removeItem(name);
  } catch {
    // Left in, it does no harm: it is the same again.
  }
}

/** @param {string} name @returns {string | null} */
function got(name) {
  try {
    return localStorage.getItem(name);
  } catch {
    return null;
  }
}

/** @param {string | null} text @returns {EntryRecord[]} none where it is not one */
function read(text) {
  try {
    const record = JSON.parse(text ?? "");
    return typeof record?.id === "string" && record.entry?.id === record.id ? [record] : [];
  } catch {
    return [];
  }
}
