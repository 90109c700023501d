/**
 * Which further readings would buy most: what settles a suspect, what is left open, what checks.
 * @module reconcile/advice/advice
 */
import { round, steady } from "../rounding.js";
import { reading } from "../words.js";
import { again, candidates, takeOf } from "./candidates.js";
import { checks, parting } from "./gain.js";
import { edges, positions, ties } from "./open.js";

/** @typedef {import("../findings/common.js").View} View */
/** @typedef {import("../solve.js").Solved} Solved */
/** @typedef {import("../types.js").Advice} Advice */
/** @typedef {import("../types.js").Entry} Entry */

const MOST = 8,
  MOST_CHECKS = 3,
  WORTH_PARTING = 0.05;

/**
 * Readings to take, the most useful first, each with why and what it buys.
 * @param {View} view
 * @returns {Advice[]}
 */
export function nextReadings(view) {
  const all = [settling, positions, checking, ties, edges].flatMap((step) => step(view));
  const takes = all.map(({ take }) => JSON.stringify(take));
  return all.filter((_, i) => takes.indexOf(takes[i]) === i).slice(0, MOST);
}

// --- suspects ---------------------------------------------------------------------------------

/**
 * For each disagreement: the reading that parts its suspects best, then the first, again.
 * @param {View} view
 * @returns {Advice[]}
 */
function settling({ solved, suspects }) {
  const cases = [...new Set(suspects.map((suspect) => suspect.case))].sort((a, b) => a - b);
  return cases.flatMap((number) => {
    const group = suspects.filter((suspect) => suspect.case === number),
      [first] = group;
    const entry = /** @type {Entry} */ (solved.network.entries.get(first.reading));
    const say = `${reading(entry, solved.run.joists)}, once more`,
      why = "It disagrees with the other readings.";
    const once = { take: takeOf(entry), say, why, gain: round(first.likelihood, 3), case: number };
    const ids = group.map((suspect) => suspect.reading);
    return [...(ids.length > 1 ? bestParting(solved, number, ids) : []), once];
  });
}

/**
 * @param {Solved} solved
 * @param {number} number of the disagreement
 * @param {string[]} ids of its suspects
 * @returns {Advice[]}
 */
function bestParting(solved, number, ids) {
  let most = 0;
  /** @type {Advice[]} */
  let best = [];
  for (const candidate of [...ids.flatMap((id) => again(solved, id)), ...candidates(solved)])
    for (const { nats, groups } of parting(solved, number, candidate)) {
      if (nats <= WORTH_PARTING || (best.length && nats <= most + 1e-9)) continue;
      most = nats;
      const [one, other] = groups.map(([row]) => named(solved, row));
      const why = other ? `It tells ${one} from ${other}.` : "It parts the suspects.";
      best = [{ take: candidate.take, say: candidate.say, why, gain: round(nats, 3), case: number, parts: true }];
    }
  return best;
}

/** @param {Solved} solved @param {number} row */
function named({ network, run }, row) {
  for (const [id, other] of network.rows)
    if (other === row) return reading(/** @type {Entry} */ (network.entries.get(id)), run.joists);
  return "";
}

// --- checks -----------------------------------------------------------------------------------

/**
 * The two or three readings that check most of what nothing checks.
 * @param {View} view
 * @returns {Advice[]}
 */
function checking({ solved }) {
  const { fit, network, pack } = solved,
    floor = pack["reading.unchecked"];
  if ([...network.rows.values()].every((row) => fit.redundancy[row] > floor)) return [];
  const ranked = candidates(solved)
    .flatMap((candidate) => checks(solved, candidate).map((bought) => ({ candidate, ...bought })))
    .filter(({ checked }) => checked.length)
    .sort((a, b) => steady(b.nats) - steady(a.nats));
  const covered = new Set();
  /** @type {Advice[]} */
  const out = [];
  for (const { candidate, nats, checked } of ranked) {
    if (out.length === MOST_CHECKS || checked.every((row) => covered.has(row))) continue;
    for (const row of checked) covered.add(row);
    const why = `It checks ${checked.length} reading${checked.length > 1 ? "s" : ""} that nothing checks yet.`;
    out.push({ take: candidate.take, say: candidate.say, why, gain: round(nats, 3) });
  }
  return out;
}
