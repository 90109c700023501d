/**
 * The limit of the deck, and features set out on the survey, as polygons in the plane [mm].
 * @module reconcile/outline
 */
import { along } from "./geometry.js";
import { SIDES } from "./network.js";
import { round } from "./rounding.js";

/** @typedef {import("./geometry.js").Geometry} Geometry */
/** @typedef {import("./solve.js").Solved} Solved */
/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Point} Point */

/** Features that are set out as a rectangle from a joist's face and a tape line. */
export const RECTANGLES = ["opening", "obstacle", "laid"];
/** What a rectangle must have to be placed. */
export const NEEDED = ["from", "line", "across", "along", "width", "length"];

/** @param {Point} point @returns {Point} */
const rounded = ([x, y]) => [round(x, 3), round(y, 3)];

/**
 * The deck's limit, anticlockwise from the start wall's near corner; null where a wall, or an edge at
 * fewer than two places, is not determined.
 * @param {Solved} solved
 * @param {Geometry} geometry
 * @returns {Point[] | null}
 */
export function outline({ run }, geometry) {
  const { lines, joists } = run;
  const walls = [0, joists + 1].map((joist) => lines.flatMap((line) => known(geometry.points.get(`${joist}|${line}`))));
  const edges = ["near_edge", "far_edge"].map((place) =>
    Array.from({ length: joists + 2 }, (_, joist) => along(geometry, lines[0], joist, place)).flatMap(known),
  );
  if (![...walls, ...edges].every((points) => points.length > 1)) return null;
  const [near, far] = edges.map((edge) => toWalls(edge, walls));
  return [...near, ...far.reverse()].map(rounded);
}

/** @param {Point | undefined} point @returns {Point[]} */
const known = (point) => (point ? [point] : []);

/**
 * Lengthens an edge at both ends until it meets the walls.
 * @param {Point[]} edge
 * @param {Point[][]} walls
 * @returns {Point[]}
 */
function toWalls(edge, [start, end]) {
  const first = meet([edge[0], edge[1]], start);
  const last = meet([edge[edge.length - 2], edge[edge.length - 1]], end);
  // A point read hard against a wall lies on it already; drop what would fold back.
  return [first, ...edge.filter(([x]) => first[0] + 1 < x && x < last[0] - 1), last];
}

/**
 * Where two lines meet, each given by its first and last point; the first's own end if parallel.
 * @param {Point[]} a
 * @param {Point[]} b
 * @returns {Point}
 */
function meet(a, b) {
  const [[x1, y1], [x2, y2]] = a,
    [x3, y3] = b[0],
    [x4, y4] = b[b.length - 1];
  const cross = (x2 - x1) * (y4 - y3) - (y2 - y1) * (x4 - x3);
  if (Math.abs(cross) < 1e-9) return a[0];
  const t = ((x3 - x1) * (y4 - y3) - (y3 - y1) * (x4 - x3)) / cross;
  return [x1 + t * (x2 - x1), y1 + t * (y2 - y1)];
}

/**
 * Every feature of the run that stands, rectangles with their polygon, by id.
 * @param {Solved} solved
 * @param {Geometry} geometry
 * @returns {Record<string, any>[]}
 */
export function features(solved, geometry) {
  const { survey, run } = solved;
  return survey.entries
    .filter((entry) => entry.kind === "feature" && entry.run === run.id && survey.standing.has(entry.id))
    .map((entry) => {
      const { at: _at, by: _by, n: _n, kind: _kind, run: _run, ...feature } = entry;
      return RECTANGLES.includes(entry.feature) ? { ...feature, polygon: rectangle(entry, solved, geometry) } : feature;
    })
    .sort((a, b) => (a.id < b.id ? -1 : 1));
}

/**
 * A rectangle's corners, set out from its joist's face along the joist's direction.
 * @param {Entry} entry
 * @param {Solved} solved
 * @param {Geometry} geometry
 * @returns {Point[] | null}
 */
function rectangle(entry, { run }, geometry) {
  if (NEEDED.some((name) => !(name in entry))) return null;
  const [joist, face] = entry.from,
    { line } = entry;
  const centre = geometry.points.get(`${joist}|${line}`);
  const wall = joist === 0 || joist === run.joists + 1,
    breadth = wall ? 0 : geometry.breadth.get(String(joist))?.value;
  if (!centre || breadth === undefined) return null;
  const shift = wall ? 0 : SIDES[face] * breadth;
  const [ux, uy] = direction(geometry, line, run.joists);
  const turn = ((geometry.angles.get(String(joist))?.value ?? 0) * Math.PI) / 180;
  const a0 = shift + entry.across,
    b0 = entry.along;
  const a1 = a0 + entry.width,
    b1 = b0 + entry.length;
  return [
    [a0, b0],
    [a1, b0],
    [a1, b1],
    [a0, b1],
  ].map(([a, b]) => rounded([centre[0] + a * ux + b * Math.sin(turn), centre[1] + a * uy + b * Math.cos(turn)]));
}

/**
 * The unit vector along a tape line, towards the end wall.
 * @param {Geometry} geometry
 * @param {string} line
 * @param {number} joists
 * @returns {Point}
 */
function direction({ points }, line, joists) {
  const all = Array.from({ length: joists + 2 }, (_, joist) => points.get(`${joist}|${line}`)).flatMap(known);
  const [[x0, y0], [x1, y1]] = [all[0], all[all.length - 1]];
  const length = Math.hypot(x1 - x0, y1 - y0);
  return length ? [(x1 - x0) / length, (y1 - y0) / length] : [1, 0];
}
