/**
 * Bays that are wider at one tape line than at another.
 * @module reconcile/findings/taper
 */
import { bay as named, millimetres } from "../words.js";
import { finding, range, significant } from "./common.js";

/** @typedef {import("./common.js").Finding} Finding */
/** @typedef {import("./common.js").View} View */

/**
 * Compares each bay's clear gap at the first line with that at the last.
 * @param {View} view
 * @returns {Finding[]}
 */
export function taper(view) {
  const { run, pack } = view.solved,
    limit = pack["taper.tolerance"];
  // Where joists lap, the gap may be another beyond the lap: each side is looked at by itself.
  const told = (/** @type {number} */ bay, /** @type {string[]} */ [first, ...others]) => {
    const last = others.at(-1);
    const [a, b] = [first, last].map((line) => view.geometry.bays.get(`${bay}|${line}`)?.gap);
    if (!a || !b) return [];
    const figure = { value: b.value - a.value, sd: Math.hypot(a.sd, b.sd) };
    if (!significant(view, figure, limit)) return [];
    const say =
      `${named(bay, run.joists)} is ${millimetres(a.value)} at the ${first} line and ` +
      `${millimetres(b.value)} at the ${last} line. Cut its noggins each to their own place.`;
    return [finding("bay.taper", "note", say, { run: run.id, bay }, { figure, limit, rule: "taper.tolerance" })];
  };
  return range(0, run.joists).flatMap((bay) => run.sides.flatMap((side) => told(bay, side)));
}
