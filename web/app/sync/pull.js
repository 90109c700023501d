/**
 * Fetching what others have put into a survey, and the as-built.
 * @module sync/pull
 */

import { Refusal } from "./service.js";

/** @typedef {import("../book/types.js").Entry} Entry */
/** @typedef {import("../book/types.js").PaperKind} PaperKind */
/** @typedef {import("../book/types.js").PaperRecord} PaperRecord */
/** @typedef {import("./outbox.js").Counted} Counted */
/** @typedef {import("./outbox.js").Outbox} Outbox */
/** @typedef {import("./service.js").Service} Service */

/**
 * Fetches the entries past the survey's cursor until there are no more.
 * @param {Service} service
 * @param {Outbox} outbox
 * @param {Counted} survey
 * @returns {Promise<Entry[]>} those that were new here
 * @throws {Error} what was fetched is stored; the rest is fetched next time
 */
export async function pull(service, outbox, survey) {
  let cursor = (await outbox.surveys()).find(({ id }) => id === survey.id)?.cursor ?? 0;
  /** @type {Entry[]} */
  const fresh = [];
  for (;;) {
    const page = await service.page(survey.id, cursor);
    if (!page.entries.length) return fresh;
    fresh.push(...(await outbox.take(survey.id, page.entries, page.cursor)));
    cursor = page.cursor;
  }
}

/**
 * A survey that was brought here began with the outcome of its head on that day. Where a change has
 * been struck out since, only the service can say what the head was before it.
 * @param {Service} service
 * @param {Outbox} outbox
 * @param {Counted} survey
 * @param {Entry[]} moved what has just gone over or come
 * @returns {Promise<void>}
 * @throws {Error} the head here stays then
 */
export async function rebase(service, outbox, survey, moved) {
  if (!survey.brought || !moved.some(({ kind }) => kind === "strike" || kind === "restore")) return;
  const { head } = await service.survey(survey.id);
  await outbox.rebase(head);
}

/**
 * Fetches the as-built, unless the one here is the same.
 * @param {Service} service
 * @param {Outbox} outbox
 * @param {string} survey
 * @returns {Promise<void>}
 * @throws {Error} the one here stays then
 */
export async function pullAsBuilt(service, outbox, survey) {
  const known = await outbox.asBuilt(survey);
  const got = await service.asBuilt(survey, known?.etag ?? null);
  const counted = (await outbox.surveys()).find(({ id }) => id === survey);
  const count = (counted?.entries ?? 0) - (counted?.toGo ?? 0);
  if (got) await outbox.keepAsBuilt({ id: survey, count, ...got });
  else if (known) await outbox.keepAsBuilt({ ...known, count });
}

/** @type {PaperKind[]} */
const PAPERS = ["plan", "capacity"];

/** An older service has no such paper: it says so with one of these. */
const NOT_HERE = new Set([404, 405]);

/** What a refusal leaves as it was: the body before, and what that is of. @param {PaperRecord | undefined} known */
const left = (known) => known && { body: known.body, made: known.made ?? { of: known.of, fetchedAt: known.fetchedAt } };

/**
 * Has a paper worked out and keeps it. What the service says against it is kept beside the older one.
 * A plan by which work is done already goes on from that: it is never planned anew as if nothing lay.
 * @param {Service} service
 * @param {Outbox} outbox
 * @param {string} survey
 * @param {PaperKind} kind
 * @param {Record<string, string>} choices
 * @returns {Promise<PaperRecord>}
 * @throws {Error} the one here stays then
 */
export async function pullPaper(service, outbox, survey, kind, choices) {
  const of = (await outbox.asBuilt(survey))?.etag ?? null;
  // Not among what the page starts with: only a plan asks for it.
  const laid = kind === "plan" ? await import("../laid.js") : null;
  const stand = async () => {
    const known = await outbox.paper(survey, kind);
    const begun = known?.body && laid?.begunWith(known.body, await outbox.paper(survey, "page.laid"));
    return { known, begun, of: JSON.stringify([known?.fetchedAt, begun?.laid]) };
  };
  for (let now = await stand(); ;) {
    const { known, begun, of: before } = now;
    /** @type {Pick<PaperRecord, "body" | "refused" | "made">} */
    let outcome;
    try {
      outcome = { body: await service.paper(survey, kind, choices, begun), refused: null };
    } catch (error) {
      if (!(error instanceof Refusal) || NOT_HERE.has(error.status)) throw error;
      outcome = { body: null, ...left(known), refused: error.message };
    }
    // What was ticked while it was worked out counts as well, and so does another plan that came.
    now = await stand();
    if (now.of !== before) continue;
    const record = { of, fetchedAt: Date.now(), choices, ...outcome };
    await outbox.keepPaper(survey, kind, record);
    return record;
  }
}

/**
 * Brings the papers up to the as-built, with the choices made last, so that they are here on the day
 * the boards are laid. Nothing is asked while a reading is in doubt.
 * @param {Service} service
 * @param {Outbox} outbox
 * @param {string} survey
 * @returns {Promise<void>}
 * @throws {Error} where the service does not answer
 */
export async function pullPapers(service, outbox, survey) {
  const asBuilt = await outbox.asBuilt(survey);
  if (!asBuilt?.body.settled) return;
  for (const kind of PAPERS) {
    const known = await outbox.paper(survey, kind);
    if (known?.of === asBuilt.etag) continue;
    try {
      await pullPaper(service, outbox, survey, kind, known?.choices ?? {});
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
    }
  }
}
