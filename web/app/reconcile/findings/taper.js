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
  const first = run.lines[0],
    last = run.lines[run.lines.length - 1];
  if (run.lines.length < 2) return [];
  return range(0, run.joists).flatMap((bay) => {
    const [a, b] = [first, last].map((line) => view.geometry.bays.get(`${bay}|${line}`)?.gap);
    if (!a || !b) return [];
    const figure = { value: b.value - a.value, sd: Math.hypot(a.sd, b.sd) };
    if (!significant(view, figure, limit)) return [];
    const say =
      `${named(bay, run.joists)} is ${millimetres(a.value)} at the ${first} line and ` +
      `${millimetres(b.value)} at the ${last} line. Cut its noggins each to their own place.`;
    return [finding("bay.taper", "note", say, { run: run.id, bay }, { figure, limit, rule: "taper.tolerance" })];
  });
}
