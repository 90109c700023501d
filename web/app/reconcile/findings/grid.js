/**
 * The grid the joists were set out on: whether it creeps along the run, and where it restarts.
 * @module reconcile/findings/grid
 */
import { round, steady } from "../rounding.js";
import { general, millimetres } from "../words.js";
import { finding, range, significant } from "./common.js";

/** @typedef {import("./common.js").Finding} Finding */
/** @typedef {import("./common.js").View} View */

const RUN_OF_REGULAR = 2;

/**
 * Reports drift and restarts along the first tape line.
 * @param {View} view
 * @returns {Finding[]}
 */
export function grid(view) {
  if (!view.nominal) return [];
  const found = stretches(view, view.nominal.centres),
    spacing = view.nominal.centres;
  return [
    ...found.flatMap(([first, last]) => drift(view, spacing, first, last)),
    ...found
      .slice(1)
      .flatMap(([after, last], i) =>
        last - after >= RUN_OF_REGULAR ? restart(view, spacing, found[i][1], after) : [],
      ),
  ];
}

/**
 * Joists first to last of each stretch whose bays all follow the spacing.
 * @param {View} view
 * @param {number} spacing [mm]
 * @returns {[number, number][]}
 */
function stretches({ solved: { run, pack }, geometry }, spacing) {
  /** @type {[number, number][]} */
  const out = [];
  let start = 0;
  for (const bay of range(1, run.joists)) {
    const centres = geometry.bays.get(`${bay}|${run.lines[0]}`)?.centres;
    const follows = centres && steady(Math.abs(centres.value - spacing)) <= pack["centres.tolerance"];
    if (follows) start ||= bay;
    else if (start) {
      out.push([start, bay]);
      start = 0;
    }
  }
  return out;
}

/**
 * How far apart two joists stand along the first line.
 * @param {View} view
 * @param {number} first
 * @param {number} last
 */
function apart({ solved: { run }, geometry }, first, last) {
  const [a, b] = [first, last].map((joist) => geometry.x.get(`${joist}|${run.lines[0]}`));
  return a && b ? { value: b.value - a.value, sd: Math.sqrt(a.sd ** 2 + b.sd ** 2) } : null;
}

/**
 * Compares a stretch's whole length with its bays at the spacing.
 * @param {View} view
 * @param {number} spacing [mm]
 * @param {number} first
 * @param {number} last
 */
function drift(view, spacing, first, last) {
  const { run, pack } = view.solved,
    whole = apart(view, first, last),
    bays = last - first;
  if (!whole) return [];
  const limit = pack["grid.drift"],
    figure = { value: whole.value - bays * spacing, sd: whole.sd };
  if (!significant(view, figure, limit)) return [];
  const say =
    `From J${first} to J${last} the joists creep: every bay is a little ${figure.value > 0 ? "wide" : "tight"}, ` +
    `together ${millimetres(Math.abs(figure.value))} over ${bays} bays of ${general(spacing)}. Board ends will miss them.`;
  const where = { run: run.id, line: run.lines[0], joists: [first, last] };
  return [finding("grid.drift", "note", say, where, { figure, limit, rule: "grid.drift" })];
}

/**
 * Tells that the spacing begins anew after bays that do not follow it.
 * @param {View} view
 * @param {number} spacing [mm]
 * @param {number} before
 * @param {number} after
 */
function restart(view, spacing, before, after) {
  const { run, pack } = view.solved,
    whole = apart(view, before, after);
  if (!whole) return [];
  const limit = pack["centres.tolerance"],
    over = steady(whole.value / spacing);
  const figure = { value: (over - round(over)) * spacing, sd: whole.sd };
  if (!significant(view, figure, limit)) return [];
  const say =
    `The spacing starts anew at J${after}: the joists after it are ` +
    `${millimetres(Math.abs(figure.value))} off the grid of those before J${before}.`;
  const where = { run: run.id, line: run.lines[0], joists: [before, after] };
  return [finding("grid.restart", "note", say, where, { figure, limit, rule: "centres.tolerance" })];
}
