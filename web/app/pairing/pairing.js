/**
 * The routes of pairing: a phone asks to be let in, the laptop's own page says who may.
 * @module pairing/pairing
 */
import { NoAnswer, Refusal } from "../sync/service.js";

/**
 * A paired phone.
 * @typedef {object} Device
 * @property {string} id
 * @property {string} name
 * @property {string | null} survey the one survey it is paired for; null for all
 * @property {string} seen RFC 3339
 * @property {string} ends when it is asked to pair again, RFC 3339
 */

/** @typedef {{needed: boolean, device: Device | null, main?: string | null, why?: string}} Standing `main` is the address to keep to */
/** @typedef {{on: boolean, urls: string[], handout: string | null, fingerprint: string | null, phones: Device[]}} Phones */
/** @typedef {{code: string, ends: string, ways: {url: string, rows: string[]}[]}} Offer */

/** How long an answer may take [ms]. */
const PATIENCE = 15_000;

/**
 * @param {string} path
 * @param {string} method
 * @param {unknown} [value]
 * @returns {Promise<any>}
 * @throws {NoAnswer | Refusal}
 */
async function ask(path, method, value) {
  const sent =
    value === undefined ? {} : { body: JSON.stringify(value), headers: { "Content-Type": "application/json" } };
  const how = { method, cache: /** @type {const} */ ("no-store"), signal: AbortSignal.timeout(PATIENCE), ...sent };
  const answer = await fetch(path, how).catch(() => {
    throw new NoAnswer("The service does not answer. Is this phone on the same network?");
  });
  if (!answer.ok) throw await Refusal.of(answer);
  return answer.status === 204 ? null : answer.json();
}

/**
 * Whether pairing is needed here, and whether this phone is paired.
 * @returns {Promise<Standing>}
 * @throws {NoAnswer | Refusal}
 */
export const standing = () => ask("/api/pairing", "GET");

/**
 * Whether this page is under another address than the one to keep to.
 * @param {Standing} now
 * @returns {boolean}
 */
export const elsewhere = ({ main }) => Boolean(main) && new URL(String(main)).origin !== location.origin;

/**
 * Has this phone let in.
 * @param {{name: string} & ({secret: string} | {code: string})} what
 * @returns {Promise<{device: Device}>}
 * @throws {NoAnswer | Refusal}
 */
export const pair = (what) => ask("/api/pairing", "POST", what);

/**
 * Ends this phone's pairing. What is stored on it stays.
 * @throws {NoAnswer | Refusal}
 */
export const leave = () => ask("/api/pairing", "DELETE");

/**
 * Where phones find the service, and which are paired. The laptop's own page may ask.
 * @returns {Promise<Phones>}
 * @throws {NoAnswer | Refusal}
 */
export const phones = () => ask("/api/phones", "GET");

/**
 * An offer to pair.
 * @param {string | null} survey the one survey it is for; null for all
 * @returns {Promise<Offer>}
 * @throws {NoAnswer | Refusal}
 */
export const offer = (survey) => ask("/api/phones", "POST", { survey });

/**
 * Puts a phone out.
 * @param {string} id
 * @throws {NoAnswer | Refusal}
 */
export const putOut = (id) => ask(`/api/phones/${encodeURIComponent(id)}`, "DELETE");
