/**
 * Centres against the spacing that the joists were set out to.
 * @module reconcile/findings/spacing
 */
import { greatest } from "../rounding.js";
import { bay as named, general, millimetres } from "../words.js";
import { finding, significant } from "./common.js";

/** @typedef {import("./common.js").Finding} Finding */
/** @typedef {import("./common.js").View} View */
/** @typedef {import("../geometry.js").Bay & {centres: import("../questions.js").Figure}} Known */

/**
 * Names the bays off the spacing, and the widest centres, which decide the board.
 * @param {View} view
 * @returns {Finding[]}
 */
export function spacing(view) {
  const known = /** @type {Known[]} */ ([...view.geometry.bays.values()].filter(({ centres }) => centres));
  return [...irregular(view, known), ...widest(view, known)];
}

/** @param {View} view @param {Known[]} known */
function irregular(view, known) {
  const { nominal, solved } = view,
    limit = solved.pack["centres.tolerance"];
  if (!nominal) return [];
  const sorted = [...known].sort((a, b) => a.bay - b.bay || byText(a.line, b.line));
  return sorted.flatMap(({ bay, line, centres }) => {
    const figure = { value: centres.value - nominal.centres, sd: centres.sd };
    if (!significant(view, figure, limit)) return [];
    const say =
      `${named(bay, solved.run.joists)}, ${line} line: centres ${millimetres(centres.value)}, ` +
      `${millimetres(Math.abs(figure.value))} ${figure.value > 0 ? "wider" : "narrower"} than ${general(nominal.centres)}.`;
    const where = { run: solved.run.id, line, bay };
    return [finding("centres.irregular", "note", say, where, { figure, limit, rule: "centres.tolerance" })];
  });
}

/** Compares texts by their characters' numbers, as the service does. @param {string} a @param {string} b */
function byText(a, b) {
  const [one, other] = [a, b].map((text) => Array.from(text, (c) => String(c.codePointAt(0)).padStart(7, "0")).join());
  return Number(one > other) - Number(one < other);
}

/** @param {View} view @param {Known[]} known */
function widest({ solved: { run } }, known) {
  const most = greatest(known, ({ centres }) => centres.value);
  if (!most) return [];
  const say =
    `The widest centres are ${millimetres(most.centres.value)}, at ${named(most.bay, run.joists)} on the ` +
    `${most.line} line. They decide how thick the boards must be.`;
  return [
    finding("centres.widest", "note", say, { run: run.id, line: most.line, bay: most.bay }, { figure: most.centres }),
  ];
}
