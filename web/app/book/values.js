/**
 * What a field may hold, as the service reads it. Each rule gives what is wrong, or "".
 * @module book/values
 */

/** Greatest value of a reading [mm]. */
export const MAX_LENGTH = 1_000_000;
/** Greatest joist number [-]. */
export const MAX_JOIST = 10_000;
/** Greatest length of a title or a name [characters]. */
export const MAX_TITLE = 200;
/** Greatest length of a remark, reason, note or caption [characters]. */
const MAX_TEXT = 10_000;
/** Greatest depth of objects and lists within one another [-]. */
export const MAX_NESTING = 32;

/** @typedef {(value: any) => string} Rule gives what is wrong with a value, or "" */

const UUID = /^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/;
const SHA256 = /^[0-9a-f]{64}$/;
const TIME = /^(\d{4}-\d\d-\d\d)[Tt](\d\d:\d\d:\d\d)(\.\d+)?([Zz]|[+-]([01]\d|2[0-3]):[0-5]\d)$/;

/** @param {any} value */
export const isObject = (value) => typeof value === "object" && value !== null && !Array.isArray(value);

/**
 * A length [mm].
 * @param {number} [least]
 * @param {number} [most]
 * @returns {Rule}
 */
export function length(least = 0, most = MAX_LENGTH) {
  return (value) => {
    if (typeof value !== "number") return "must be a number";
    if (!Number.isFinite(value)) return "must be a finite number";
    return value >= least && value <= most ? "" : `must be from ${least} to ${most}`;
  };
}

/**
 * A whole number from 0.
 * @param {number} most
 * @returns {Rule}
 */
export function whole(most) {
  return (value) => {
    if (!Number.isInteger(value)) return "must be a whole number";
    return value >= 0 && value <= most ? "" : `must be from 0 to ${most}`;
  };
}

/**
 * A text.
 * @param {number} [most] [characters]
 * @param {RegExp} [pattern]
 * @param {string} [say] the pattern in words
 * @returns {Rule}
 */
export function text(most = MAX_TEXT, pattern, say = "") {
  return (value) => {
    if (typeof value !== "string") return "must be a text";
    // A text's length is counted in characters, not in halves of them.
    if (value.length > most && [...value].length > most) return `must be at most ${most} characters`;
    return !pattern || pattern.test(value) ? "" : `must be ${say}`;
  };
}

/** A UUID in its canonical form, in lower case. */
export const id = text(36, UUID, "a UUID in lower case");

/** The SHA-256 of a photo's bytes. */
export const hash = text(64, SHA256, "a SHA-256 in lower case");

/** @type {Rule} A short name that is not empty. */
export const name = (value) => (value === "" ? "must not be empty" : text(MAX_TITLE)(value));

/** @type {Rule} A moment with its offset. */
export function time(value) {
  if (typeof value !== "string") return "must be a text";
  const [, day, clock] = TIME.exec(value) ?? [];
  const wrong = "must be a date and time with an offset (RFC 3339)";
  if (!day || value.length > 64) return wrong;
  // RFC 3339 allows a leap second, which the calendar here does not know.
  const moment = new Date(`${day}T${clock.replace(/:60$/, ":59")}Z`);
  return !Number.isNaN(moment.getTime()) && moment.toISOString().startsWith(day) ? "" : wrong;
}

/**
 * One of a few words.
 * @param {...string} words
 * @returns {Rule}
 */
export const choice =
  (...words) =>
  (value) => {
    if (typeof value !== "string") return "must be a text";
    return words.includes(value) ? "" : `must be one of ${words.join(", ")}`;
  };

/**
 * A list of two: a joist, and its face or a tape line.
 * @param {Rule} second
 * @returns {Rule}
 */
export function pair(second) {
  return (value) => {
    if (!Array.isArray(value) || value.length !== 2) return "must be a list of two: a joist, and its face or tape line";
    const first = whole(MAX_JOIST)(value[0]);
    if (first) return `its first part ${first}`;
    const other = second(value[1]);
    return other && `its second part ${other}`;
  };
}
