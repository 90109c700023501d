/**
 * Joist tops against the published floor tolerance: out of level, humps and hollows.
 * @module reconcile/findings/levels
 */
import { greatest, round, steady } from "../rounding.js";
import { general, joist as named, millimetres } from "../words.js";
import { finding, range, significant } from "./common.js";

/** @typedef {import("./common.js").Finding} Finding */
/** @typedef {import("./common.js").View} View */
/** @typedef {import("../questions.js").Figure} Figure */

/** Place along the line [mm], distance down from the level line [mm]. @typedef {{at: number, down: Figure, joist: number}} Top */

/**
 * Holds each tape line's joist tops against level and against a straightedge.
 * @param {View} view
 * @returns {Finding[]}
 */
export function levels(view) {
  const { run } = view.solved,
    { x, level: down } = view.geometry;
  return run.lines.flatMap((line) => {
    const tops = range(1, run.joists).flatMap((joist) => {
      const at = x.get(`${joist}|${line}`),
        top = down.get(`${joist}|${line}`);
      return at && top ? [{ at: at.value, down: top, joist }] : [];
    });
    return tops.length > 1 ? [...level(view, line, tops), ...straight(view, line, tops)] : [];
  });
}

/**
 * Compares the highest and the lowest top with what a floor may be out over that distance.
 * @param {View} view
 * @param {string} line
 * @param {Top[]} tops
 */
function level(view, line, tops) {
  const { run, pack } = view.solved;
  const high = /** @type {Top} */ (greatest(tops, ({ down }) => -down.value));
  const low = /** @type {Top} */ (greatest(tops, ({ down }) => down.value));
  const figure = { value: low.down.value - high.down.value, sd: Math.hypot(high.down.sd, low.down.sd) };
  const metres = Math.max(Math.abs(low.at - high.at) / 1000, 1);
  const limit = Math.min(pack["floor.level.per_metre"] * metres, pack["floor.level.most"]);
  if (!significant(view, figure, limit)) return [];
  const say =
    `${line} line: ${named(low.joist, run.joists)} lies ${millimetres(figure.value)} lower than ` +
    `${named(high.joist, run.joists)}; a floor may be ${millimetres(limit)} out over that distance. Pack it up.`;
  const more = { figure, limit: round(steady(limit), 1), rule: "floor.level.per_metre" };
  return [finding("tops.out_of_level", "look", say, { run: run.id, line, joist: low.joist }, more)];
}

/**
 * Lays a straightedge over every pair of tops within its length and looks between them.
 * @param {View} view
 * @param {string} line
 * @param {Top[]} tops
 */
function straight(view, line, tops) {
  const { run, pack } = view.solved;
  const reach = pack["floor.straightedge.length"],
    limit = pack["floor.straightedge.gap"];
  return tops.flatMap((middle, i) => {
    const dips = tops
      .slice(0, i)
      .flatMap((a) => tops.slice(i + 1).flatMap((b) => (steady(b.at - a.at) <= reach ? [dip(a, middle, b)] : [])));
    const figure = greatest(dips, ({ value }) => Math.abs(value));
    if (!figure || !significant(view, figure, limit)) return [];
    const what = figure.value > 0 ? "hollow" : "hump";
    const say =
      `${named(middle.joist, run.joists)}, ${line} line, is a ${what} of ${millimetres(Math.abs(figure.value))} ` +
      `under a ${general(reach / 1000)} m straightedge.`;
    const where = { run: run.id, line, joist: middle.joist };
    return [finding(`tops.${what}`, "look", say, where, { figure, limit, rule: "floor.straightedge.gap" })];
  });
}

/** How far the middle top lies below the line from a to b [mm]. @param {Top} a @param {Top} middle @param {Top} b */
function dip(a, middle, b) {
  const share = b.at === a.at ? 0.5 : (middle.at - a.at) / (b.at - a.at);
  const chord = (1 - share) * a.down.value + share * b.down.value;
  const sd = Math.sqrt(middle.down.sd ** 2 + ((1 - share) * a.down.sd) ** 2 + (share * b.down.sd) ** 2);
  return { value: middle.down.value - chord, sd };
}
