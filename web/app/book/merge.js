/**
 * What two heads of one survey amount to, as the service merges them.
 * @module book/merge
 */

/** @typedef {import("./types.js").Head} Head */
/** @typedef {import("./types.js").Run} Run */

/** @param {Partial<Run>} old @param {Run} fresh @returns {Run} */
function mergeRuns(old, fresh) {
  const merged = { ...old, ...fresh };
  if (merged.lines) merged.lines = [...new Set([...(old.lines ?? []), ...(fresh.lines ?? [])])];
  if (merged.joists !== undefined) merged.joists = Math.max(old.joists ?? 0, fresh.joists ?? 0);
  return merged;
}

/**
 * Merges a head into an older one: runs by id, tape lines by union, joists by the maximum, the rest
 * as in the newer. `created` stays, for a survey is made once.
 * @param {Head} old
 * @param {Head} fresh
 * @returns {Head}
 */
export function mergeHeads(old, fresh) {
  const before = new Map((old.runs ?? []).map((run) => [run.id, run]));
  const after = new Map((fresh.runs ?? []).map((run) => [run.id, run]));
  const ids = [...new Set([...before.keys(), ...after.keys()])];
  const runs = ids.map((id) => mergeRuns(before.get(id) ?? {}, after.get(id) ?? /** @type {Run} */ (before.get(id))));
  return { ...old, ...fresh, created: old.created, runs };
}
