/**
 * What is said of each reading: agrees, suspect, unchecked, struck; and the suspects in order.
 * @module reconcile/verdicts
 */
import { round, steady } from "./rounding.js";

/** @typedef {import("./solve.js").Solved} Solved */

/**
 * A reading that may be wrong: how far it is off (read minus what it would be) and what it would read
 * [mm]; the likeliest slip; its likelihood among those that explain the same disagreement; which one
 * that is, from 0; how many readings explain it.
 * @typedef {object} Suspect
 * @property {string} reading
 * @property {number | null} slip null, as would_read, where no other reading tells
 * @property {string} cause
 * @property {string[]} causes the likeliest and those nearly as likely
 * @property {number | null} would_read
 * @property {number} likelihood
 * @property {number} case
 * @property {number} alike
 */

/**
 * The readings that may be wrong, most likely first, each with its best cause.
 * @param {Solved} solved
 * @returns {Suspect[]}
 */
export function suspects({ network, guesses, pack }) {
  const ids = new Map([...network.rows].map(([id, row]) => [row, id]));
  /** @type {Map<string, Suspect>} */
  const found = new Map();
  guesses.forEach((all, number) => {
    const likely = all.filter(({ likelihood }, i) => i === 0 || likelihood >= pack["suspect.least"]);
    for (const { row, wouldRead, causes, likelihood } of likely) {
      const reading = /** @type {string} */ (ids.get(row)),
        read = network.equations.read[row];
      const slip = wouldRead === null ? null : read - wouldRead;
      if (steady(found.get(reading)?.likelihood ?? -1) < steady(likelihood))
        found.set(reading, {
          reading,
          slip,
          cause: causes[0],
          causes,
          would_read: wouldRead,
          likelihood,
          case: number,
          alike: likely.length,
        });
    }
  });
  const rank = (/** @type {Suspect} */ a, /** @type {Suspect} */ b) =>
    steady(b.likelihood) - steady(a.likelihood) ||
    steady(Math.abs(b.slip ?? 0)) - steady(Math.abs(a.slip ?? 0)) ||
    (a.reading < b.reading ? -1 : 1);
  return [...found.values()].sort(rank);
}

/**
 * A suspect for a file.
 * @param {Suspect} suspect
 * @returns {Suspect}
 */
export const suspectJson = (suspect) => ({
  ...suspect,
  slip: suspect.slip && round(suspect.slip, 3),
  would_read: suspect.would_read && round(suspect.would_read, 3),
  likelihood: round(suspect.likelihood, 4),
});

/**
 * The one mistake behind many disagreements, for a file, or null.
 * @param {Solved} solved
 * @returns {{cause: string, readings: string[], would_read: Record<string, number>} | null}
 */
export function common({ common: found }) {
  if (!found) return null;
  const { cause, readings, wouldRead } = found;
  return { cause, readings, would_read: Object.fromEntries([...wouldRead].map(([id, v]) => [id, round(v, 3)])) };
}

/**
 * One record for each reading of the run, ordered by id.
 * @param {Solved} solved
 * @param {Set<string>} doubtful
 * @returns {Record<string, any>[]}
 */
export function readings(solved, doubtful) {
  const { network, survey } = solved;
  return [...network.entries.keys()].sort().map((id) => {
    if (network.rows.has(id)) return placed(solved, id, doubtful.has(id));
    const empty = { computed: null, residual: null, sd: null, redundancy: null, w: null, mdb: null };
    if (survey.struck.has(id)) return { id, ...empty, verdict: "struck" };
    return { id, ...empty, verdict: "unchecked", why: network.misplaced.get(id) };
  });
}

/** @param {Solved} solved @param {string} id @param {boolean} suspect */
function placed({ fit, network, pack }, id, suspect) {
  const row = /** @type {number} */ (network.rows.get(id)),
    redundancy = fit.redundancy[row];
  const checked = redundancy > pack["reading.unchecked"],
    sigma = network.equations.sigmas[row];
  // Set aside, and no other reading tells of it: what the figure makes of it means nothing.
  const untold = !fit.used[row] && redundancy === 0;
  const agrees = checked ? "agrees" : "unchecked";
  return {
    id,
    computed: untold ? null : round(fit.computed[row], 3),
    residual: untold ? null : round(fit.residuals[row], 3),
    sd: round(sigma, 4),
    redundancy: checked ? round(redundancy, 4) : 0,
    w: checked ? round(fit.w[row], 3) : null,
    mdb: checked ? round((pack["reading.mdb.delta0"] * sigma) / Math.sqrt(redundancy), 3) : null,
    verdict: suspect ? "suspect" : agrees,
    ...(network.kept.has(id) ? { kept: true } : {}),
  };
}
