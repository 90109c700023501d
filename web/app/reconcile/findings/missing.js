/**
 * What the readings leave open, gathered so that one gap in the field book is told once.
 * @module reconcile/findings/missing
 */
import { general, joist as named } from "../words.js";
import { finding, range } from "./common.js";

/** @typedef {import("./common.js").Finding} Finding */
/** @typedef {import("./common.js").View} View */

/**
 * Tells which positions, which lines' places and which breadths are not determined.
 * @param {View} view
 * @returns {Finding[]}
 */
export const missing = (view) => [...lines(view), ...positions(view), ...plane(view), ...breadths(view)];

/** Numbers as "J4, J7 to J9". @param {number[]} numbers @param {number} joists */
function spans(numbers, joists) {
  const starts = numbers.filter((number, i) => numbers[i - 1] !== number - 1);
  const ends = numbers.filter((number, i) => numbers[i + 1] !== number + 1);
  const parts = starts.map((start, i) => [...new Set([start, ends[i]].map((number) => named(number, joists)))]);
  return parts.map((part) => part.join(" to ")).join(", ");
}

/** @param {View} view */
function lines({ solved: { run } }) {
  const say = "This run has no tape line yet. Add one, and readings can be taken along it.";
  return run.lines.length ? [] : [finding("run.no_line", "settle", say, { run: run.id })];
}

/** @param {View} view */
function positions({ solved: { run }, geometry }) {
  return run.lines.flatMap((line) => {
    const joists = range(1, run.joists + 1).filter((joist) => !geometry.x.has(`${joist}|${line}`));
    if (!joists.length) return [];
    const stand = joists.length === 1 ? "stands" : "stand";
    const say = `${line} line: the readings do not say where ${spans(joists, run.joists)} ${stand}.`;
    return [finding("position.undetermined", "settle", say, { run: run.id, line, joists })];
  });
}

/** @param {View} view */
function plane({ solved: { run }, geometry }) {
  const loose = run.lines
    .slice(1)
    .filter((line) => range(1, run.joists + 1).every((joist) => !geometry.points.has(`${joist}|${line}`)));
  return loose.map((line) => {
    const say = `The readings do not tie the ${line} line to the ${run.lines[0]} line: square or not cannot be told.`;
    return finding("line.undetermined", "settle", say, { run: run.id, line });
  });
}

/** @param {View} view */
function breadths({ solved: { run, assumed }, geometry }) {
  const out = [],
    { breadth } = run.member;
  const joists = range(1, run.joists).filter((joist) => !geometry.breadth.has(String(joist)));
  if (joists.length && !breadth) {
    const say = `No breadth is known for ${spans(joists, run.joists)}.`;
    out.push(finding("breadth.undetermined", "look", say, { run: run.id, joists }));
  }
  if (assumed.length) {
    const sorted = [...assumed].sort((a, b) => a - b);
    const say =
      `No breadth was read for ${spans(sorted, run.joists)}: ` +
      `the usual timber's ${general(Number(breadth))} stands in, and is less sure.`;
    out.push(finding("breadth.usual", "note", say, { run: run.id, joists: sorted }, { rule: "usual.breadth.each" }));
  }
  return out;
}
