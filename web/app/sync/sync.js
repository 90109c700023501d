/**
 * When sending happens, and how it stands. It starts with the page, when the network comes, when the
 * page becomes visible, after each entry, and now and then while the page is seen.
 * @module sync/sync
 */
import { drain } from "./drain.js";
import { Outbox } from "./outbox.js";
import { sendPhotos } from "./photo-send.js";
import { pull, pullAsBuilt, pullPaper, pullPapers, rebase } from "./pull.js";
import { NoAnswer, Refusal, Service } from "./service.js";
import { isSeen, onWake } from "./wake.js";

/** @typedef {import("./outbox.js").Counted} Counted */
/** @typedef {import("./service.js").Listed} Listed */
/** @typedef {import("../book/types.js").EntryRecord} EntryRecord */

/**
 * How sending stands.
 * @typedef {object} SyncState
 * @property {boolean} online false where the browser knows of no network, or the service did not answer
 * @property {boolean} sending
 * @property {{entries: number, photos: number}} toGo what the service has not got
 * @property {number} failed how many entries could not be stored on this phone so far
 * @property {number} refused how many the service would not have
 * @property {number} refusedPhotos how many photos the service would not have
 * @property {string | null} lastOk when everything last went over, RFC 3339
 * @property {string | null} unpaired why the service does not let this phone in, by its name for it; null where it does
 * @property {string | null} lastError what went wrong the last time, in words; null where nothing did
 * @property {number} stored how many entries are on this phone
 * @property {number} there how many of them the service has
 * @property {string | null} oldestUnsent when the oldest of what is to go was stored, RFC 3339
 */

/** The status of a phone that is not paired, or not any more. */
const NOT_LET_IN = 401;

/** After an entry, a moment for those that follow it [ms]. */
const SOON = 150;
/** After the page's start [ms]. */
const AFTER_START = 400;
/** Between rounds while the page is seen [ms]: one small question to a service close by. */
const EVERY = 5_000;
/** The same where it did not answer [ms]. */
const LATER = 15_000;

/** Nothing has been looked at yet. @type {SyncState} */
const UNKNOWN = {
  online: true,
  sending: false,
  toGo: { entries: 0, photos: 0 },
  failed: 0,
  refused: 0,
  refusedPhotos: 0,
  lastOk: null,
  lastError: null,
  unpaired: null,
  stored: 0,
  there: 0,
  oldestUnsent: null,
};

/** The sending and fetching of everything in the book. */
export class Sync {
  #database;
  #outbox;
  #failing;
  #timer = 0;
  #due = Infinity;
  /** @type {Promise<void> | null} */
  #round = null;
  #again = false;
  #drawing = false;
  /** @type {Set<(state: SyncState) => void>} */
  #watchers = new Set();
  /** How it stands. @type {SyncState} */
  state = { ...UNKNOWN };

  /**
   * @param {import("../book/database.js").Database} database
   * @param {{changed: (survey: string, records: EntryRecord[] | null) => void, failing: () => number}} told
   * @param {Service} [service]
   */
  constructor(database, { changed, failing }, service = new Service()) {
    this.#database = database;
    this.#outbox = new Outbox(database, changed);
    this.#failing = failing;
    this.service = service;
  }

  /**
   * Calls back whenever the state has changed.
   * @param {(state: SyncState) => void} watcher
   * @returns {() => void} ends it
   */
  on(watcher) {
    this.#watchers.add(watcher);
    return () => void this.#watchers.delete(watcher);
  }

  /** Begins, once, with the page; but first the page gets a moment to show itself. */
  start() {
    onWake(() => void this.#run());
    setTimeout(() => void this.now(), AFTER_START);
  }

  /** Sends within a moment; entries that follow closely go together. */
  soon() {
    void this.#count();
    this.#in(SOON);
  }

  /**
   * Sends now. What the service refused is offered to it once more, for it may be newer by now.
   * @returns {Promise<void>} settles when the round is over, whether or not it got through
   */
  async now() {
    await this.#offerAgain().catch(() => undefined);
    await this.#run();
  }

  /**
   * What the service last worked out from the as-built, as it is kept here.
   * @param {string} survey
   * @param {import("../book/types.js").PaperKind} kind
   * @returns {Promise<import("../book/types.js").PaperRecord | undefined>}
   */
  paper(survey, kind) {
    return this.#outbox.paper(survey, kind);
  }

  /**
   * Has it worked out anew, and keeps it.
   * @param {string} survey
   * @param {import("../book/types.js").PaperKind} kind
   * @param {Record<string, string>} choices
   * @returns {Promise<import("../book/types.js").PaperRecord>} `refused` where the service would not
   * @throws {Error} where it cannot be asked; what is kept stays
   */
  async askPaper(survey, kind, choices) {
    // The as-built that it is of comes first, else it would seem to be of another.
    await pullAsBuilt(this.service, this.#outbox, survey);
    return pullPaper(this.service, this.#outbox, survey, kind, choices);
  }

  async #offerAgain() {
    await this.#outbox.offerPhotos();
    for (const { id } of await this.#outbox.surveys()) await this.#outbox.sendAgain(id, { all: false });
  }

  /** @param {number} wait [ms]; a round that is due sooner stays as it is */
  #in(wait) {
    const due = performance.now() + wait;
    if (due >= this.#due) return;
    clearTimeout(this.#timer);
    this.#due = due;
    this.#timer = Number(setTimeout(() => void this.#run(), wait));
  }

  /** @returns {Promise<void>} one round at a time; a call during a round has another one follow */
  #run() {
    clearTimeout(this.#timer);
    this.#due = Infinity;
    this.#again = Boolean(this.#round);
    this.#round ??= this.#alone().finally(() => {
      this.#round = null;
      if (this.#again) this.#in(0);
      else if (isSeen()) this.#in(this.state.online ? EVERY : LATER);
    });
    return this.#round;
  }

  /** Of all tabs, one sends at a time. */
  async #alone() {
    if (!navigator.locks) return this.#tell();
    await navigator.locks.request("baywalk.sync", { ifAvailable: true }, (lock) =>
      lock ? this.#tell() : this.#count(),
    );
  }

  async #tell() {
    await this.#count({ sending: true });
    const error = navigator.onLine === false ? null : await this.#everything().catch((/** @type {Error} */ why) => why);
    const online = navigator.onLine !== false && !(error instanceof NoAnswer);
    const unpaired = error instanceof Refusal && error.status === NOT_LET_IN ? error.code : null;
    await this.#count({ sending: false, online, unpaired, lastError: error ? error.message : null });
  }

  /** @returns {Promise<Error | null>} the first thing that went wrong with one survey; it stops no other */
  async #everything() {
    const lately = !(await this.#outbox.surveys()).length;
    const there = new Map((await this.service.surveys({ lately })).map((one) => [one.id, one]));
    await this.#outbox.meet(this.service.store);
    let first = null;
    for (const survey of await this.#outbox.surveys()) {
      const error = await this.#survey(survey, there.get(survey.id)).catch((/** @type {Error} */ why) => why);
      if (error instanceof NoAnswer) throw error;
      first ??= error ?? null;
    }
    await sendPhotos(this.service, this.#outbox, () => void this.#count());
    return first;
  }

  /** @param {Counted} survey @param {Listed | undefined} there */
  async #survey(survey, there) {
    const [service, outbox] = [this.service, this.#outbox];
    const sent = await drain(service, outbox, survey, there);
    const same = there && !sent.length && there.cursor === survey.cursor;
    const moved = same ? [] : [...sent, ...(await pull(service, outbox, survey))];
    await rebase(service, outbox, survey, moved);
    if (moved.length || !(await outbox.asBuilt(survey.id))) await pullAsBuilt(service, outbox, survey.id);
    await this.#outbox.done(survey.id);
    // While readings still come, each would have a plan made that the next one makes old.
    if (same) void this.#papers(survey.id);
  }

  /** A plan may take its time; readings do not wait for it. @param {string} survey */
  async #papers(survey) {
    if (this.#drawing) return;
    this.#drawing = true;
    await pullPapers(this.service, this.#outbox, survey).catch(() => undefined);
    this.#drawing = false;
  }

  /** @param {Partial<SyncState>} [change] counts what lies here, and tells it */
  async #count(change = {}) {
    const surveys = await this.#outbox.surveys();
    const photos = await this.#outbox.photosToGo();
    const [refused, refusedPhotos] = await Promise.all([this.#refused("entries"), this.#refused("photos")]);
    const sum = (/** @type {"entries" | "toGo"} */ name) => surveys.reduce((total, one) => total + one[name], 0);
    const oldest = Math.min(...surveys.map((one) => one.oldest ?? Infinity));
    const last = Math.min(...surveys.map((one) => one.lastSync ?? 0));
    this.state = {
      ...this.state,
      ...change,
      toGo: { entries: sum("toGo"), photos: photos.length },
      failed: this.#failing(),
      refused,
      refusedPhotos,
      stored: sum("entries"),
      there: sum("entries") - sum("toGo") - refused,
      oldestUnsent: Number.isFinite(oldest) ? new Date(oldest).toISOString() : null,
      lastOk: Number.isFinite(last) && last ? new Date(last).toISOString() : null,
    };
    for (const watcher of this.#watchers) watcher(this.state);
  }

  /** @param {"entries" | "photos"} store @returns {Promise<number>} */
  #refused(store) {
    return this.#database.read(store, (tx) => {
      const found = tx.objectStore(store).index("refused").count();
      return () => found.result;
    });
  }
}
