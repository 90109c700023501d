/**
 * Joists that are not straight: three tape lines or more show it.
 * @module reconcile/findings/bow
 */
import { greatest } from "../rounding.js";
import { millimetres } from "../words.js";
import { finding, range, significant } from "./common.js";

/** @typedef {import("./common.js").Finding} Finding */
/** @typedef {import("./common.js").View} View */

/**
 * Compares each joist at the lines between with the straight from the first to the last.
 * @param {View} view
 * @returns {Finding[]}
 */
export function bow(view) {
  const { run, pack } = view.solved,
    limit = pack["bow.tolerance"];
  return range(1, run.joists).flatMap((joist) => {
    // Where joists lap, each timber is held against its own straight.
    const offs = run.sides.flatMap((side) =>
      side.slice(1, -1).flatMap((line) => offStraight(view, joist, [side[0], line, ...side.slice(-1)])),
    );
    const worst = greatest(offs, ({ value }) => Math.abs(value));
    if (!worst || !significant(view, worst, limit)) return [];
    const { line, ...figure } = worst;
    const say =
      `J${joist} is bowed: at the ${line} line it stands ${millimetres(Math.abs(figure.value))} ` +
      `towards the ${figure.value > 0 ? "end" : "start"} wall off the straight.`;
    return [
      finding("joist.bowed", "note", say, { run: run.id, line, joist }, { figure, limit, rule: "bow.tolerance" }),
    ];
  });
}

/**
 * How far a joist stands off its straight at the middle one of three lines, and how surely.
 * @param {View} view
 * @param {number} joist
 * @param {string[]} lines
 */
function offStraight({ geometry }, joist, lines) {
  const keys = lines.map((name) => `${joist}|${name}`);
  const [a, middle, b] = keys.map((key) => geometry.points.get(key));
  const [first, own, last] = keys.map((key) => geometry.x.get(key)?.sd);
  // A line that is tied but not read across has points, and yet no place counted along it.
  if (first === undefined || own === undefined || last === undefined || !a || !middle || !b) return [];
  const share = b[1] === a[1] ? 0.5 : (middle[1] - a[1]) / (b[1] - a[1]);
  // The places along the lines are nearly independent of each other.
  const sd = Math.sqrt(own ** 2 + ((1 - share) * first) ** 2 + (share * last) ** 2);
  return [{ line: lines[1], value: middle[0] - (a[0] + share * (b[0] - a[0])), sd }];
}
