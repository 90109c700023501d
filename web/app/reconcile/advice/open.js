/**
 * Readings that would settle what is left open.
 * @module reconcile/advice/open
 */
import { range } from "../findings/common.js";
import { between } from "../settle.js";
import { bay, joist as named, place as said } from "../words.js";

/** @typedef {import("../findings/common.js").View} View */
/** @typedef {import("../types.js").Advice} Advice */

/** @param {Record<string, any>} take @param {string} say @param {string} why @returns {Advice} */
const advice = (take, say, why) => ({ take, say, why, gain: 1 });

/**
 * Reads to the first joist on each line that has no place yet.
 * @param {View} view
 * @returns {Advice[]}
 */
export function positions({ solved: { run }, geometry }) {
  return run.lines.flatMap((line) => {
    const joist = range(1, run.joists + 1).find((number) => !geometry.x.has(`${number}|${line}`));
    if (joist === undefined) return [];
    const from = [joist - 1, joist === 1 ? "face" : "right"],
      to = [joist, joist > run.joists ? "face" : "left"];
    const why = `Nothing says yet where ${named(joist, run.joists)} stands there.`;
    return [
      advice({ kind: "across", run: run.id, line, from, to }, `${bay(joist - 1, run.joists)}, ${line} line`, why),
    ];
  });
}

/**
 * Ties each further line to the first: two lengths along joists and one diagonal.
 * @param {View} view
 * @returns {Advice[]}
 */
export function ties({ solved: { run, network }, geometry }) {
  const [near, ...others] = run.lines,
    last = run.joists;
  return others.flatMap((line) => {
    const known = [...geometry.points.keys()].some((key) => key.slice(key.indexOf("|") + 1) === line);
    if (known || last < 1) return [];
    const why = `It ties the ${line} line to the ${near} line.`;
    const have = new Set(between(network, near, line).map(({ joist }) => joist)),
      out = [];
    for (const joist of new Set([1, last]))
      if (!have.has(joist) && have.size < 2) {
        const take = { kind: "along", run: run.id, joist, from: near, to: line };
        out.push(advice(take, `${named(joist, last)} from ${near} to ${line}`, why));
      }
    if (last > 1) {
      const take = { kind: "diagonal", run: run.id, from: [1, near], to: [last, line] };
      out.push(advice(take, `the diagonal J1 ${near} to J${last} ${line}`, why));
    }
    return out;
  });
}

/**
 * Reads to the deck's edge on the first and the last joist, where it is not known at two places.
 * A run of one joist has its other place along a wall.
 * @param {View} view
 * @returns {Advice[]}
 */
export function edges({ solved: { run }, geometry }) {
  if (!run.lines.length) return [];
  const ends = [
    ["near_edge", run.lines[0]],
    ["far_edge", run.lines[run.lines.length - 1]],
  ];
  return ends.flatMap(([place, line]) => {
    const have = range(0, run.joists + 1).filter((joist) => geometry.along.has(`${joist}|${place}`));
    const places = [...new Set([1, run.joists, 0])];
    const wanted = places.filter((joist) => !have.includes(joist));
    return wanted.slice(0, Math.max(0, 2 - have.length)).map((joist) => {
      const say = `${named(joist, run.joists)} from the ${line} line to the ${said(place)}`;
      return advice(
        { kind: "along", run: run.id, joist, from: line, to: place },
        say,
        "It says where the deck must stop.",
      );
    });
  });
}
