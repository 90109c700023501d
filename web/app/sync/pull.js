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

/**
 * A plan of which pieces are laid, and that they are: it is never planned anew as if nothing lay.
 * @param {any} plan
 */
function asItLies(plan) {
  if (!plan?.changes?.laid) return undefined;
  const decks = plan.decks.map((/** @type {any} */ { id, pieces }) => ({
    id,
    pieces: pieces.filter((/** @type {any} */ one) => one.laid).map((/** @type {any} */ one) => ({ id: one.id })),
  }));
  return { plan, laid: { format: "baywalk.as-laid", version: 1, decks } };
}

/**
 * Has a paper worked out and keeps it. What the service says against it is kept beside the older one.
 * @param {Service} service
 * @param {Outbox} outbox
 * @param {string} survey
 * @param {PaperKind} kind
 * @param {Record<string, string>} choices
 * @param {unknown} [begun] the earlier plan and what is laid of it; a plan that was begun goes on
 * @returns {Promise<PaperRecord>}
 * @throws {Error} the one here stays then
 */
export async function pullPaper(service, outbox, survey, kind, choices, begun) {
  const known = await outbox.paper(survey, kind);
  const of = (await outbox.asBuilt(survey))?.etag ?? null;
  /** @param {Pick<PaperRecord, "body" | "refused">} outcome */
  const keep = async (outcome) => {
    const record = { of, fetchedAt: Date.now(), choices, ...outcome };
    await outbox.keepPaper(survey, kind, record);
    return record;
  };
  try {
    const from = begun ?? asItLies(known?.body);
    return await keep({ body: await service.paper(survey, kind, choices, from), refused: null });
  } catch (error) {
    if (!(error instanceof Refusal) || NOT_HERE.has(error.status)) throw error;
    return keep({ body: known?.body ?? null, refused: error.message });
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
