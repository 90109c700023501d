/**
 * A last place for entries that the database would not take: the browser's small store of texts. It
 * is no promise, so nothing in it counts as saved; but where the page dies before the database
 * recovers, it is where the entry is found again.
 * @module book/lifeboat
 */

/** @typedef {import("./types.js").EntryRecord} EntryRecord */

const PREFIX = "baywalk.lifeboat.";

/**
 * Puts an entry in.
 * @param {EntryRecord} record
 */
export function board(record) {
  try {
    localStorage.setItem(PREFIX + record.id, JSON.stringify(record));
  } catch {
    // It is full or forbidden. The entry is in memory still, and the person has been told.
  }
}

/**
 * Takes an entry out again, once the database has it.
 * @param {string} id
 */
export function leave(id) {
  try {
    localStorage.removeItem(PREFIX + id);
  } catch {
    // Left in, it does no harm: it is the same entry, of the same id.
  }
}

/**
 * The entries that were left in it when the page died.
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

/** @param {string | null} text @returns {EntryRecord[]} none where it is not one */
function read(text) {
  try {
    const record = JSON.parse(text ?? "");
    return typeof record?.id === "string" && record.entry?.id === record.id ? [record] : [];
  } catch {
    return [];
  }
}
