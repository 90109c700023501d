/**
 * What one further reading buys, in figures.
 * @module reconcile/advice/gain
 */
import { UNDETERMINED } from "../normal.js";
import { steady } from "../rounding.js";
import { times } from "../sparse.js";

/** @typedef {import("./candidates.js").Candidate} Candidate */
/** @typedef {import("../fit.js").Fit} Fit */
/** @typedef {import("../solve.js").Solved} Solved */

// Two predictions this many standard deviations apart are told apart by the reading.
const APART = 3;

/**
 * What a reading does for the checking of the others: half the sum of the logs by which redundancies
 * grow, and the rows that had nothing to check them and would have. None where it has no place.
 * @param {Solved} solved
 * @param {Candidate} candidate
 * @returns {{nats: number, checked: number[]}[]}
 */
export function checks({ fit, network, pack }, candidate) {
  const rows = [...network.rows.values()].filter((row) => fit.used[row]).sort((a, b) => a - b);
  const [answer, reach] = response(fit, candidate),
    floor = pack["reading.unchecked"];
  if (reach > UNDETERMINED ** 2 || !rows.length) return [];
  /** @type {number[]} */
  const checked = [];
  let nats = 0;
  for (const row of rows) {
    const before = fit.redundancy[row],
      sigma = network.equations.sigmas[row];
    const after = before + answer[row] ** 2 / ((candidate.sigma ** 2 + reach) * sigma ** 2);
    nats += Math.log(Math.max(after, floor) / Math.max(before, floor)) / 2;
    if (before <= floor && after > 0.01) checked.push(row);
  }
  return [{ nats, checked }];
}

/**
 * Each row's covariance with the candidate [mm²], and the candidate's variance.
 * @param {Fit} fit
 * @param {Candidate} candidate
 * @returns {[Float64Array, number]}
 */
function response(fit, { terms }) {
  const right = new Float64Array(fit.values.length);
  for (const [u, k] of terms) right[u] += k;
  const shift = fit.normal.solve(right);
  return [times(fit.design, shift), terms.reduce((sum, [u, k]) => sum + k * shift[u], 0)];
}

/**
 * How a reading would part the suspects of one disagreement: by how much it is expected to lower the
 * doubt, and the rows that stay together, likeliest first. Each suspect, taken as the one at fault,
 * predicts another length; lengths close together cannot be told apart.
 * @param {Solved} solved
 * @param {number} number of the disagreement
 * @param {Candidate} candidate
 * @returns {{nats: number, groups: number[][]}[]}
 */
export function parting({ network, guesses: all, disagreements, pack }, number, candidate) {
  const guesses = all[number].filter(
    ({ likelihood, wouldRead }) => likelihood >= pack["suspect.least"] && wouldRead !== null,
  );
  const [answer, reach] = response(disagreements[number].before, candidate);
  if (guesses.length < 2 || reach > UNDETERMINED ** 2) return [];
  const { read, sigmas } = network.equations;
  const lengths = guesses.map(
    ({ row, wouldRead }) => (-answer[row] * (read[row] - (wouldRead ?? 0))) / sigmas[row] ** 2,
  );
  const order = [...lengths.keys()].sort((a, b) => steady(lengths[a]) - steady(lengths[b]));
  /** @type {number[][]} */
  const groups = [];
  order.forEach((i, k) => {
    if (!k || lengths[i] - lengths[order[k - 1]] > APART * candidate.sigma) groups.push([]);
    groups[groups.length - 1].push(i);
  });
  // Guesses come likeliest first, and so do those of a group.
  const sorted = groups.map((group) => group.sort((a, b) => a - b));
  const shares = (/** @type {number[]} */ group) => group.map((i) => guesses[i].likelihood);
  const weight = (/** @type {number[]} */ group) => steady(shares(group).reduce((sum, share) => sum + share, 0));
  const nats = sorted.reduce((left, group) => left - doubt(shares(group)), doubt(shares([...guesses.keys()])));
  return [
    { nats, groups: sorted.sort((a, b) => weight(b) - weight(a)).map((group) => group.map((i) => guesses[i].row)) },
  ];
}

/** The entropy of a group's shares, weighed by the group's own share [nats]. @param {number[]} shares */
function doubt(shares) {
  const total = shares.reduce((sum, share) => sum + share, 0);
  return -shares.reduce((sum, share) => (share > 0 ? sum + share * Math.log(share / total) : sum), 0);
}
