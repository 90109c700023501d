/**
 * Sending what is to go of one survey. Every entry carries an id that was made and stored before the
 * first sending, so a batch may go twice, or its answer be lost, without harm.
 * @module sync/drain
 */
import { Refusal, Strange } from "./service.js";

/** @typedef {import("../book/types.js").Entry} Entry */
/** @typedef {import("./service.js").Listed} Listed */
/** @typedef {import("./service.js").Taken} Taken */
/** @typedef {import("./outbox.js").Counted} Counted */
/** @typedef {import("./outbox.js").Outbox} Outbox */
/** @typedef {import("./service.js").Service} Service */

/** How many entries go at once [-], and how long their text may be [characters]. */
const MOST = 200;
const LONGEST = 1_000_000;

/** The statuses that lie with what was sent, not with the service or the way there. */
const ITS_OWN = new Set([400, 413, 422]);

/** @param {Entry[]} entries @returns {Entry[]} as many of the first as fit in one batch, one at least */
function batch(entries) {
  let length = 0;
  const over = entries.findIndex((entry) => (length += JSON.stringify(entry).length) > LONGEST);
  return over < 0 ? entries : entries.slice(0, Math.max(1, over));
}

/**
 * A service may refuse a batch whole for one entry in it; then it is halved until that one is found.
 * @param {Service} service
 * @param {string} survey
 * @param {Entry[]} entries
 * @returns {Promise<Taken>}
 */
async function post(service, survey, entries) {
  try {
    return await service.post(survey, entries);
  } catch (error) {
    if (!(error instanceof Refusal) || !ITS_OWN.has(error.status)) throw error;
    if (entries.length === 1) return { there: new Set(), refused: new Map([[entries[0].id, error.message]]) };
    const half = Math.ceil(entries.length / 2);
    const one = await post(service, survey, entries.slice(0, half));
    const other = await post(service, survey, entries.slice(half));
    return { there: new Set([...one.there, ...other.there]), refused: new Map([...one.refused, ...other.refused]) };
  }
}

/**
 * Sees to it that the service knows the survey, and sends again what it has lost: its store may have
 * been put back to an older day, or be another one.
 * @param {Service} service
 * @param {Outbox} outbox
 * @param {Counted} survey
 * @param {Listed | undefined} there how the service lists it
 */
async function introduce(service, outbox, survey, there) {
  if (!there) await service.putHead(survey.head);
  const lost = there ? Number(there.cursor) < survey.cursor : survey.entries > survey.toGo;
  if (lost) await outbox.sendAgain(survey.id, { all: true });
}

/**
 * Sends everything that is to go of one survey.
 * @param {Service} service
 * @param {Outbox} outbox
 * @param {Counted} survey
 * @param {Listed | undefined} there how the service lists it
 * @returns {Promise<Entry[]>} what was sent
 * @throws {import("./service.js").NoAnswer | Refusal | Strange} what went is noted; the rest stays to go
 */
export async function drain(service, outbox, survey, there) {
  await introduce(service, outbox, survey, there);
  /** @type {Entry[]} */
  const sent = [];
  for (;;) {
    const entries = batch(await outbox.unsent(survey.id, MOST));
    if (!entries.length) return sent;
    const taken = await post(service, survey.id, entries);
    const named = entries.filter(({ id }) => taken.there.has(id) || taken.refused.has(id));
    await outbox.settle(survey.id, taken);
    sent.push(...named);
    // An answer that passes over an entry must not have the batch sent round and round.
    if (named.length < entries.length)
      throw new Strange("The service's answer passes over some entries. They stay to go.");
  }
}
