/**
 * One cause behind many disagreements: each stretch of readings that a person takes in one go is
 * tried with one mistake undone for all of it.
 * @module reconcile/common
 */
import { Adjuster } from "./adjust.js";
import { Network } from "./network.js";
import { settler } from "./settle.js";

/** @typedef {import("./fit.js").Fit} Fit */
/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Survey} Survey */

/**
 * A mistake shared by many readings: their ids, and what each would read [mm] where that changes.
 * @typedef {{cause: string, readings: string[], wouldRead: Map<string, number>}} Common
 */

/** @typedef {{common: Common, network: Network, adjuster: Adjuster, fit: Fit}} Trial a mistake undone */
/** @typedef {(entry: Entry) => Entry | null} Undo from a reading to what it should have been */
/** @typedef {{cause: string, group: Entry[], undo: Undo}} Guess */

const FEWEST = 3,
  MOST_TRIES = 60;
// A sum of squares below another by less than this is the same but for rounding.
const CLEARLY = 1 - 1e-9;

/**
 * The shared mistake that, undone, leaves the smallest sum of squares. Curved rows can only add to what the
 * straight ones leave, so those that leave least are tried first and the rest mostly not at all.
 * @param {Survey} survey
 * @param {Network} network
 * @param {Adjuster} adjuster the network's
 * @param {number} limit a sum of squares that is too large already
 * @returns {Trial | null}
 */
export function bestTrial(survey, network, adjuster, limit) {
  /** @type {Map<Entry[], number>} */
  const known = new Map();
  // Whatever befell a group, all others must agree among themselves.
  const others = (/** @type {Entry[]} */ group) => {
    const least = known.get(group) ?? straight(adjuster, rowsOf(network, group));
    known.set(group, least);
    return least;
  };
  const undone = hypotheses(network)
    .slice(0, MOST_TRIES)
    .flatMap((guess) => (others(guess.group) < limit ? attempt(survey, network, guess) : []))
    .map((trial, order) => ({ ...trial, order, least: straight(trial.adjuster) }));
  /** @type {(Trial & {order: number}) | null} */
  let best = null;
  for (const trial of undone.sort((a, b) => a.least - b.least)) {
    if (trial.least > (best ? best.fit.chi2 : limit) / CLEARLY) break;
    const fit = trial.adjuster.fit();
    const most = best ? best.fit.chi2 * (trial.order < best.order ? 1 / CLEARLY : CLEARLY) : limit;
    if (fit.chi2 < most) best = { ...trial, fit };
  }
  return best;
}

/** @param {Network} network @param {Entry[]} group @returns {number[]} */
const rowsOf = ({ rows }, group) => group.map(({ id }) => /** @type {number} */ (rows.get(id)));

/**
 * The sum of squares that the straight rows leave by themselves.
 * @param {Adjuster} adjuster
 * @param {number[]} [aside]
 */
const straight = (adjuster, aside = []) => adjuster.fit([...aside, ...adjuster.equations.curves.keys()]).chi2;

/**
 * @param {Survey} survey
 * @param {Network} before
 * @param {Guess} guess
 * @returns {{common: Common, network: Network, adjuster: Adjuster}[]} none where it does not fit
 */
function attempt(survey, before, { cause, group, undo }) {
  /** @type {Map<string, Entry>} */
  const undone = new Map();
  for (const entry of group) {
    const changed = undo(entry);
    if (changed) undone.set(entry.id, changed);
  }
  if (undone.size < FEWEST) return [];
  const entries = survey.entries.map((entry) => undone.get(entry.id) ?? entry);
  const network = new Network({ ...survey, entries }, before.run, before.pack);
  const readings = [...undone.keys()].sort();
  if (readings.some((id) => network.misplaced.has(id))) return [];
  const changed = group.filter(({ id, value }) => undone.has(id) && undone.get(id)?.value !== value);
  const wouldRead = new Map(changed.map(({ id }) => [id, undone.get(id)?.value]));
  const adjuster = new Adjuster(network.equations, settler(network));
  return [{ common: { cause, readings, wouldRead }, network, adjuster }];
}

// --- stretches and mistakes -------------------------------------------------------------------

/**
 * Each stretch with each mistake that could have befallen all of it.
 * @param {Network} network
 * @returns {Guess[]}
 */
function hypotheses({ rows, entries, run, end }) {
  const placed = [...rows.keys()].sort().map((id) => /** @type {Entry} */ (entries.get(id)));
  const across = placed.filter(({ kind }) => kind === "across");
  const passes = groups(across, ({ hook, by, line, from }) => hook || [by, line, from]);
  const lines = groups(across, ({ by, line }) => [by, line]);
  const devices = groups(placed, ({ by }) => [by]);
  /** @type {Guess[]} */
  const out = [];
  for (const group of [...passes, ...lines]) {
    out.push({ cause: "hooked_at_100", group, undo: hooked });
    for (const line of run.lines)
      out.push({ cause: "wrong_line", group, undo: (entry) => (entry.line === line ? null : { ...entry, line }) });
  }
  for (const group of [...passes, ...lines, ...devices])
    for (const step of [-1, 1]) out.push({ cause: "wrong_numbers", group, undo: renumbered(end, step) });
  for (const group of [...devices, ...lines])
    out.push({
      cause: "numbered_from_other_wall",
      group,
      undo: (entry) => withJoists(entry, (j) => end - j, mirrored),
    });
  return out;
}

/**
 * @param {Entry[]} entries
 * @param {(entry: Entry) => unknown} key
 * @returns {Entry[][]} those of one key, where they are enough
 */
function groups(entries, key) {
  /** @type {Map<string, Entry[]>} */
  const found = new Map();
  for (const entry of entries) {
    const name = JSON.stringify(key(entry));
    found.set(name, [...(found.get(name) ?? []), entry]);
  }
  return [...found.values()].filter((group) => group.length >= FEWEST);
}

/** @type {Undo} */
const hooked = (entry) => (entry.value < 100 ? null : { ...entry, value: entry.value - 100 });

/**
 * Shifts joist numbers; a wall keeps its number.
 * @param {number} end
 * @param {number} step
 * @returns {Undo}
 */
const renumbered = (end, step) => (entry) => {
  const changed = withJoists(
    entry,
    (j) => (j === 0 || j === end ? j : j + step),
    (face) => face,
  );
  const joists = "joist" in changed ? [changed.joist] : [changed.from[0], changed.to[0]];
  const same = JSON.stringify(changed) === JSON.stringify(entry);
  return !same && joists.every((j) => j >= 0 && j <= end) ? changed : null;
};

/** @param {string} face */
const mirrored = (face) => ({ left: "right", right: "left" })[face] ?? face;

/**
 * @param {Entry} entry
 * @param {(joist: number) => number} joist
 * @param {(face: string) => string} face
 * @returns {Entry}
 */
function withJoists(entry, joist, face) {
  if ("joist" in entry) return { ...entry, joist: joist(entry.joist) };
  const turn = entry.kind === "diagonal" ? (/** @type {string} */ line) => line : face;
  const [from, to] = [entry.from, entry.to].map(([j, f]) => [joist(j), turn(f)]);
  return { ...entry, from, to };
}
