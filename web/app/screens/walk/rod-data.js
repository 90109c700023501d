/**
 * The run so far as a setting-out rod: what was read where it was read, what is to come in outline.
 * @module screens/walk/rod-data
 */
import { breadthOf, chain, gapWay } from "../../closure/chain.js";
import { innerGaps, usualBreadth } from "../../closure/expect.js";
import { rule } from "../../closure/pack.js";
import { median, tally } from "../../closure/tally.js";
import { joistName } from "../../words.js";

/** @typedef {import("../../closure/chain.js").Chain} Chain */
/** @typedef {import("../../closure/tally.js").Tally} Tally */
/** @typedef {import("../../closure/types.js").Pack} Pack */
/** @typedef {import("../../closure/types.js").SurveyLike} SurveyLike */
/** @typedef {import("../../parts/rod.js").Rod} Rod */

/**
 * How many bays the rod shows: all of a run that is fixed, else as far as the walk has come and the
 * bay in hand.
 * @param {Tally} sorted
 * @param {number} bay the bay now asked for
 */
function lastBay({ joists, run }, bay) {
  return joists ?? Math.max(run.joists, bay);
}

/**
 * What stands in where a gap was not read: the same bay at another line, else the usual bay.
 * @param {Tally} sorted
 * @param {Chain[]} chains
 * @param {Pack} pack
 * @returns {(bay: number) => number} [mm]
 */
function standIn(sorted, chains, pack) {
  const usual = median(innerGaps(sorted, chains)) ?? rule(pack, "closure.usual").centres - usualBreadth(sorted, pack);
  return (bay) => chains.flatMap((one) => gapWay(one, sorted, bay) ?? [])[0]?.value ?? usual;
}

/**
 * The rod of one tape line.
 * @param {SurveyLike} survey
 * @param {string} run the run's id
 * @param {{line: string, bay: number}} at the bay now asked for
 * @param {Set<number>} odd bays that something does not fit in
 * @param {Pack} pack
 * @returns {Rod}
 */
export function rodOf(survey, run, at, odd, pack) {
  const sorted = tally(survey, run);
  const chains = sorted.run.lines.map((line) => chain(sorted, line, pack));
  const own = chains.find(({ line }) => line === at.line) ?? chains[0];
  const other = standIn(sorted, chains, pack);
  /** @type {Rod} */
  const rod = { joists: [], figures: [], length: 0, open: sorted.open };
  let x = 0;
  for (let bay = 0; bay <= lastBay(sorted, at.bay); bay += 1) {
    const way = gapWay(own, sorted, bay);
    const gap = way?.value ?? other(bay);
    const asked = bay === at.bay;
    const text = way ? String(Math.round(way.value)) : asked ? "?" : "";
    if (text) rod.figures.push({ from: x, to: x + gap, text, asked, odd: odd.has(bay) });
    x += gap;
    if (bay === sorted.joists) break;
    const breadth = breadthOf(bay + 1, sorted, pack)?.value ?? usualBreadth(sorted, pack);
    rod.joists.push({ name: joistName(bay + 1), left: x, right: x + breadth, guess: !way });
    x += breadth;
  }
  // An open rod keeps some blank lath ahead, so that it does not change its scale at every bay.
  const blank = rule(pack, "closure.usual").centres;
  return { ...rod, length: sorted.open ? Math.ceil((x + blank) / (6 * blank)) * 6 * blank : x };
}

/**
 * The bays to bracket on the rod of a line: those that a notice names, and those whose reading is doubted.
 * @param {SurveyLike} survey
 * @param {import("../../closure/notices.js").Notice[]} notices
 * @param {string} line
 * @returns {Set<number>}
 */
export function oddBays({ entries }, notices, line) {
  const doubted = notices.flatMap(({ code, readings }) => (code === "suspect" ? readings : []));
  const gaps = entries.filter(
    ({ id, kind, line: own, from, to }) =>
      doubted.includes(id) && kind === "across" && own === line && Math.abs(from[0] - to[0]) === 1,
  );
  return new Set([...notices.flatMap(({ bay }) => bay ?? []), ...gaps.map(({ from, to }) => Math.min(from[0], to[0]))]);
}

/**
 * The rod in words, for a screen reader.
 * @param {Rod} rod
 * @param {string} line
 * @returns {string}
 */
export function rodWords(rod, line) {
  const read = rod.figures.filter(({ text }) => text !== "?").length;
  return `The rod of the ${line} line: ${read} bays read of ${rod.open ? "a run that is still growing" : rod.joists.length + 1}.`;
}
