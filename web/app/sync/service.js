/**
 * The service's routes, as the phone asks them. An answer of another shape than expected is an error
 * that loses nothing: whoever asked keeps what it has and asks again later.
 * @module sync/service
 */

/** @typedef {import("../book/types.js").Entry} Entry */
/** @typedef {import("../book/types.js").Head} Head */
/** @typedef {{id: string, title: string, created: string, cursor?: number}} Listed */
/** @typedef {{there: Set<string>, refused: Map<string, string>}} Taken the ids the service has, and those it would not have */

/** How long an answer may take, and how long with a photo in it [ms]. */
const PATIENCE = 30_000;
const PATIENCE_PHOTO = 180_000;
/** A large deck is planned for as long as its time limit allows [ms]. */
const PATIENCE_PAPER = 180_000;

/** The service does not answer at all. */
export class NoAnswer extends Error {}

/** The service answered something that is not understood here: it may be older or newer than this page. */
export class Strange extends Error {}

/** The service answered, and said no. */
export class Refusal extends Error {
  /**
   * @param {number} status the HTTP status [-]
   * @param {string} why in the service's words
   * @param {string} [code] the service's name for it
   */
  constructor(status, why, code = "") {
    super(why);
    this.status = status;
    this.code = code;
  }

  /** @param {Response} answer @returns {Promise<Refusal>} what an answer refuses, and why */
  static async of(answer) {
    const problem = await answer.json().catch(() => null);
    const words = problem?.detail ?? problem?.title ?? `it answered ${answer.status}`;
    return new Refusal(answer.status, String(words), String(problem?.type ?? "").split("#")[1]);
  }
}

/** @param {any} value */
const isList = (value) => Array.isArray(value);

/** @param {boolean} fits */
function expect(fits) {
  if (!fits) throw new Strange("The service's answer is not understood. It may be older or newer than this page.");
}

/** @param {Response} answer @returns {Promise<any>} */
async function json(answer) {
  try {
    return await answer.json();
  } catch {
    return expect(false);
  }
}

/** How old an answer may be for who has nothing here that could have changed since [ms]. */
const MOMENT = 1_000;

/** The service that gave this page. */
export class Service {
  #fetch;
  /** The last question for the surveys. @type {Promise<Listed[]> | null} */
  #listing = null;
  /** When it was answered, as the page counts [ms]; Infinity while it is under way. */
  #answered = 0;
  /** How far this phone's clock is ahead of the service's [ms]; null while not known. @type {number | null} */
  skew = null;
  /** The mark of its store, another one after that was put back from a copy; null while not known. @type {string | null} */
  store = null;

  /** @param {typeof fetch} [ask] */
  constructor(ask = (...given) => fetch(...given)) {
    this.#fetch = ask;
  }

  /**
   * The surveys it has. Two who ask at once, such as a screen and the sending, share one answer.
   * @param {{lately?: boolean}} [how] `lately` takes an answer of the last moment too
   * @returns {Promise<Listed[]>}
   * @throws {NoAnswer | Refusal | Strange}
   */
  surveys({ lately = false } = {}) {
    if (this.#listing && performance.now() - this.#answered < (lately ? MOMENT : 0)) return this.#listing;
    this.#answered = Infinity;
    this.#listing = this.#surveys().finally(() => (this.#answered = performance.now()));
    return this.#listing;
  }

  /** @returns {Promise<Listed[]>} */
  async #surveys() {
    const answer = await this.#ask("/api/surveys");
    this.store = answer.headers.get("Baywalk-Store");
    const body = await json(answer);
    expect(isList(body?.surveys) && body.surveys.every((/** @type {any} */ one) => typeof one?.id === "string"));
    return body.surveys;
  }

  /**
   * Makes a survey known to it.
   * @param {Head} head
   * @throws {NoAnswer | Refusal | Strange}
   */
  async putHead(head) {
    await this.#ask(`/api/surveys/${head.id}`, { method: "PUT", json: head });
  }

  /**
   * A whole survey.
   * @param {string} id
   * @returns {Promise<{head: Head, entries: Entry[]}>}
   * @throws {NoAnswer | Refusal | Strange}
   */
  async survey(id) {
    const body = await json(await this.#ask(`/api/surveys/${id}`));
    const { entries, ...head } = body ?? {};
    expect(head.id === id && isList(head.runs) && isList(entries));
    return { head, entries };
  }

  /**
   * Sends entries.
   * @param {string} id the survey
   * @param {Entry[]} entries
   * @returns {Promise<Taken>}
   * @throws {NoAnswer | Refusal | Strange}
   */
  async post(id, entries) {
    const body = await json(await this.#ask(`/api/surveys/${id}/entries`, { method: "POST", json: { entries } }));
    expect(isList(body?.stored) && isList(body.known) && isList(body.refused));
    const named = body.refused.map((/** @type {any} */ one) => [
      one?.id ?? entries[one?.index]?.id,
      [one?.field, one?.why].filter(Boolean).join(": "),
    ]);
    return { there: new Set([...body.stored, ...body.known]), refused: new Map(named) };
  }

  /**
   * Entries past a cursor, in the service's own order.
   * @param {string} id the survey
   * @param {number} after the cursor
   * @returns {Promise<{entries: Entry[], cursor: number}>} no entries at the end
   * @throws {NoAnswer | Refusal | Strange}
   */
  async page(id, after) {
    const body = await json(await this.#ask(`/api/surveys/${id}/entries?after=${after}`));
    expect(isList(body?.entries) && body.entries.every((/** @type {any} */ entry) => typeof entry?.id === "string"));
    // A cursor that stands still over entries would have the same page fetched for ever.
    expect(Number.isSafeInteger(body.cursor) && (!body.entries.length || body.cursor > after));
    return body;
  }

  /**
   * The as-built, unless it is the one already here.
   * @param {string} id the survey
   * @param {string | null} etag of the one here
   * @returns {Promise<{etag: string | null, body: Record<string, any>} | null>} null where it is the same
   * @throws {NoAnswer | Refusal | Strange}
   */
  async asBuilt(id, etag) {
    const answer = await this.#ask(`/api/surveys/${id}/as-built`, {
      headers: etag ? { "If-None-Match": etag } : {},
      also: [304],
    });
    if (answer.status === 304) return null;
    const body = await json(answer);
    expect(body?.format === "baywalk.as-built");
    return { etag: answer.headers.get("ETag"), body };
  }

  /**
   * What it works out from the as-built: the plan, or the load check.
   * @param {string} id the survey
   * @param {"plan" | "capacity"} kind
   * @param {Record<string, string>} choices a choice of several lines is asked line by line
   * @param {unknown} [begun] the earlier plan and what is laid of it, where it is to go on from there
   * @returns {Promise<Record<string, any>>}
   * @throws {NoAnswer | Refusal | Strange}
   */
  async paper(id, kind, choices, begun) {
    const pairs = Object.entries(choices).flatMap(([key, text]) => text.split("\n").map((one) => [key, one]));
    const query = new URLSearchParams(pairs).toString();
    const path = `/api/surveys/${id}/${kind}${query && "?"}${query}`;
    const asked = { patience: PATIENCE_PAPER, ...(begun ? { method: "POST", json: begun } : {}) };
    const body = await json(await this.#ask(path, asked));
    expect(body?.format === `baywalk.${kind}`);
    return body;
  }

  /**
   * How many of a photo's bytes it has.
   * @param {string} sha256
   * @param {number} size the photo's [bytes]
   * @returns {Promise<number>} [bytes]; below 0 where what it has cannot be gone on with
   * @throws {NoAnswer | Refusal}
   */
  async photoOffset(sha256, size) {
    const answer = await this.#ask(`/api/photos/${sha256}`, { method: "HEAD", also: [404] });
    if (answer.headers.get("Content-Type")?.startsWith("image/")) return size;
    // As long as the photo, and yet not taken for it: a fallen disk left other bytes there.
    const has = Number(answer.headers.get("Upload-Offset"));
    return has < size ? has : -1;
  }

  /**
   * Sends a photo's bytes, from the start or from where they were cut off; below 0 in place of all there is.
   * @param {string} sha256
   * @param {{bytes: ArrayBuffer, type: string}} photo
   * @param {number} from [bytes]
   * @throws {NoAnswer | Refusal}
   */
  async putPhoto(sha256, { bytes, type }, from) {
    const size = bytes.byteLength;
    // With its range from the start on: a browser sends by itself again what was cut, and without one
    // that drops what had come.
    /** @type {Record<string, string>} */
    const headers = { "Content-Type": type };
    if (from >= 0) headers["Content-Range"] = `bytes ${from}-${size - 1}/${size}`;
    await this.#ask(`/api/photos/${sha256}`, {
      method: "PUT",
      body: bytes.slice(Math.max(from, 0)),
      headers,
      patience: PATIENCE_PHOTO,
    });
  }

  /**
   * A photo without its metadata.
   * @param {string} sha256
   * @returns {Promise<{type: string, bytes: ArrayBuffer} | null>} null where it has none
   * @throws {NoAnswer | Refusal}
   */
  async photo(sha256) {
    const answer = await this.#ask(`/api/photos/${sha256}`, { also: [404], patience: PATIENCE_PHOTO });
    if (!answer.ok) return null;
    return { type: answer.headers.get("Content-Type") ?? "image/jpeg", bytes: await answer.arrayBuffer() };
  }

  /**
   * @param {string} path
   * @param {{method?: string, json?: unknown, body?: BodyInit, headers?: Record<string, string>, also?: number[], patience?: number}} [how]
   * @returns {Promise<Response>} an answer that is well, or one of `also`
   */
  async #ask(path, { method = "GET", json: value, body, headers = {}, also = [], patience = PATIENCE } = {}) {
    const sent =
      value === undefined
        ? { body, headers }
        : { body: JSON.stringify(value), headers: { "Content-Type": "application/json" } };
    let answer;
    try {
      answer = await this.#fetch(path, { method, cache: "no-store", signal: AbortSignal.timeout(patience), ...sent });
    } catch {
      throw new NoAnswer("The service does not answer.");
    }
    this.#noteClock(answer);
    if (!answer.ok && !also.includes(answer.status)) throw await Refusal.of(answer);
    return answer;
  }

  /** @param {Response} answer */
  #noteClock(answer) {
    const there = Date.parse(answer.headers.get("Date") ?? "");
    if (!Number.isNaN(there)) this.skew = Date.now() - there;
  }
}
