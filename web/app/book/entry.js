/**
 * Making entries and heads. Nothing here stores anything.
 * @module book/entry
 */

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Head} Head */
/** @typedef {import("./types.js").Run} Run */

export const FORMAT = "baywalk.survey";
export const VERSION = 1;

/** @param {number} figure @param {number} [places] */
const pad = (figure, places = 2) => String(Math.abs(figure)).padStart(places, "0");

/**
 * A moment as RFC 3339 writes it, in the phone's own time with its offset.
 * @param {Date} [when]
 * @returns {string} such as `2026-03-14T09:26:53.589+01:00`
 */
export function moment(when = new Date()) {
  const offset = -when.getTimezoneOffset();
  const date = `${pad(when.getFullYear(), 4)}-${pad(when.getMonth() + 1)}-${pad(when.getDate())}`;
  const time = `${pad(when.getHours())}:${pad(when.getMinutes())}:${pad(when.getSeconds())}.${pad(when.getMilliseconds(), 3)}`;
  const zone = `${offset < 0 ? "-" : "+"}${pad(Math.trunc(offset / 60))}:${pad(offset % 60)}`;
  return `${date}T${time}${zone}`;
}

/**
 * A new entry. Its id is made here, before it is stored and long before it is sent, so that sending
 * it twice is harmless.
 * @param {string} kind
 * @param {Record<string, any>} fields
 * @param {{by: string, n: number}} stamp the device and the logical counter
 * @returns {Entry}
 */
export function newEntry(kind, fields, { by, n }) {
  return { ...fields, id: crypto.randomUUID(), at: moment(), by, n, kind };
}

/**
 * The head of a new survey.
 * @param {string} title
 * @param {{class?: string}} tape
 * @param {Run[]} runs
 * @returns {Head}
 */
export function newHead(title, tape, runs) {
  return { format: FORMAT, version: VERSION, id: crypto.randomUUID(), title, created: moment(), tape, runs };
}
