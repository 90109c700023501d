/**
 * Walls, joists and edges out of square, and joists that are not parallel with the others. Walls and the
 * joists as a whole are held against the first tape line, each joist against the direction that the
 * joists have in the middle, and the deck's edges against square to that.
 * @module reconcile/findings/square
 */
import { along, linesOf } from "../geometry.js";
import { median, round } from "../rounding.js";
import { joist as named, millimetres } from "../words.js";
import { finding, range, significant } from "./common.js";

/** @typedef {import("./common.js").Finding} Finding */
/** @typedef {import("./common.js").View} View */
/** @typedef {import("../questions.js").Figure} Figure */

const RADIANS = Math.PI / 180,
  SQUARE = "square.tolerance",
  PARALLEL = "parallel.tolerance";

/** A direction and its standard deviation [degrees] as mm in 1000 mm. @param {number} angle @param {number} sd */
const leanOf = (angle, sd) => ({ value: 1000 * Math.tan(angle * RADIANS), sd: 1000 * sd * RADIANS });

/** A run-out and twice its standard deviation over a length. @param {Figure} lean @param {number} length */
const runOut = ({ value, sd }, length) =>
  `${millimetres((Math.abs(value) * length) / 1000)} ± ${Math.max(1, round((2 * sd * length) / 1000))}`;

/** @param {Figure} lean */
const way = ({ value }) => (value > 0 ? "end wall" : "start wall");

/**
 * Reports what leans, with its run-out over its own length and how sure that is.
 * @param {View} view
 * @returns {Finding[]}
 */
export function square(view) {
  const { run } = view.solved,
    { angles } = view.geometry;
  const known = (/** @type {number[]} */ numbers) => numbers.filter((joist) => angles.has(String(joist)));
  const joists = known(range(1, run.joists)),
    walls = known([0, run.joists + 1]).flatMap((joist) => wall(view, joist));
  if (!joists.length) return walls;
  const each = joists.map((joist) => /** @type {Figure} */ (angles.get(String(joist))));
  const middle = { value: median(each.map(({ value }) => value)), sd: median(each.map(({ sd }) => sd)) };
  const alone = joists.length > 2 ? joists.flatMap((joist, i) => odd(view, joist, each[i].value - middle.value)) : [];
  const edges = ["near", "far"].flatMap((name) => edge(view, name, middle));
  return [...walls, ...together(view, middle, joists[0]), ...alone, ...edges];
}

/**
 * A finding, where the lean matters.
 * @param {View} view
 * @param {[code: string, rule: string, where: Record<string, any>]} what
 * @param {Figure} figure
 * @param {() => string} say
 */
function told(view, [code, rule, where], figure, say) {
  const { run, pack } = view.solved,
    limit = pack[rule];
  if (!significant(view, figure, limit)) return [];
  return [finding(code, "note", say(), { run: run.id, ...where }, { figure, limit, rule })];
}

/** @param {View} view @param {number} joist */
function wall(view, joist) {
  const { value, sd } = /** @type {Figure} */ (view.geometry.angles.get(String(joist)));
  const length = lengthOf(view, joist),
    lean = leanOf(value, sd),
    name = named(joist, view.solved.run.joists);
  if (length === null) return [];
  return told(
    view,
    ["wall.out_of_square", SQUARE, { joist }],
    lean,
    () =>
      `${name[0].toUpperCase()}${name.slice(1)} runs out by ${runOut(lean, length)} towards the ` +
      `${way(lean)} in ${millimetres(length)}.`,
  );
}

/** Tells once where the joists as a whole are not square. @param {View} view @param {Figure} middle @param {number} first */
function together(view, middle, first) {
  const length = lengthOf(view, first),
    lean = leanOf(middle.value, middle.sd);
  if (length === null) return [];
  return told(
    view,
    ["joists.out_of_square", SQUARE, {}],
    lean,
    () =>
      `The joists run out by ${runOut(lean, length)} towards the ${way(lean)} in ` +
      `${millimetres(length)}: they are not square to the ${view.solved.run.lines[0]} line.`,
  );
}

/** Tells of a joist that is not parallel with the others. @param {View} view @param {number} joist @param {number} off [degrees] */
function odd(view, joist, off) {
  const length = lengthOf(view, joist);
  const places = linesOf(view.solved.run, joist).flatMap((line) => view.geometry.x.get(`${joist}|${line}`) ?? []);
  if (length === null || places.length < 2) return [];
  // How the lines lie to each other moves all joists alike: only its own two places count.
  const sd = (1000 * Math.hypot(places[0].sd, places[places.length - 1].sd)) / length;
  const lean = { value: leanOf(off, 0).value, sd };
  return told(
    view,
    ["joist.not_parallel", PARALLEL, { joist }],
    lean,
    () =>
      `J${joist} is not parallel with the other joists: it runs out by ` +
      `${runOut(lean, length)} towards the ${way(lean)} in ${millimetres(length)}.`,
  );
}

/** Holds an edge, from the first joist to the last where it was read, against the joists. @param {View} view @param {string} name @param {Figure} middle */
function edge(view, name, middle) {
  const { run } = view.solved,
    place = `${name}_edge`;
  const found = range(1, run.joists).flatMap((joist) => {
    const point = along(view.geometry, run.lines[0], joist, place);
    return point ? [{ point, sd: /** @type {Figure} */ (view.geometry.along.get(`${joist}|${place}`)).sd }] : [];
  });
  if (found.length < 2) return [];
  const first = found[0],
    last = found[found.length - 1],
    turn = middle.value * RADIANS;
  const dx = last.point[0] - first.point[0],
    dy = last.point[1] - first.point[1];
  const out = dx * Math.sin(turn) + dy * Math.cos(turn),
    length = dx * Math.cos(turn) - dy * Math.sin(turn);
  const sd = Math.hypot(first.sd, last.sd, length * middle.sd * RADIANS);
  const lean = { value: (1000 * out) / length, sd: (1000 * sd) / length };
  return told(
    view,
    ["edge.out_of_square", SQUARE, { edge: name }],
    lean,
    () =>
      `The ${name} edge is out of square with the joists by ${runOut(lean, length)} in ` +
      `${millimetres(length)}: at the ${way(lean)} it lies further to the far side.`,
  );
}

/** The distance between the outermost tape lines on a joist, to its lap [mm]. @param {View} view @param {number} joist */
function lengthOf({ solved: { run }, geometry }, joist) {
  const points = linesOf(run, joist).flatMap((line) => {
    const point = geometry.points.get(`${joist}|${line}`);
    return point ? [point] : [];
  });
  if (points.length < 2) return null;
  const [[ax, ay], [bx, by]] = [points[0], points[points.length - 1]];
  return Math.hypot(bx - ax, by - ay);
}
