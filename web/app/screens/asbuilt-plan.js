/**
 * From the as-built of one run to what is to be drawn, in the as-built's own millimetres. No DOM.
 * @module screens/asbuilt-plan
 */
import { parted } from "../lines.js";

/** @typedef {[number, number]} Point [mm] x along the near line, y towards the far edge */

/**
 * @typedef {object} PlanBay
 * @property {number} bay
 * @property {string} line
 * @property {Point} mid middle of the bay on its tape line
 * @property {number | null} centres [mm]
 * @property {number | null} sd of the centres [mm]
 * @property {number | null} gap the clear gap [mm]
 * @property {number} off how far the centres are from the spacing, where a finding says so [mm]; else 0
 * @property {boolean} doubtful a reading of this bay on this line disagrees with the others
 * @property {Point[]} area the part of the bay that belongs to this line
 */

/**
 * @typedef {object} Plan
 * @property {{index: number, strips: Point[][], sure: boolean}[]} joists a strip for each timber; `sure` false where only one line places it
 * @property {{index: number, from: Point, to: Point}[]} walls
 * @property {{line: string, from: Point, to: Point, faces: Point[], overall: number | null, sd: number | null}[]} rods
 * @property {string[]} below the lines whose figures lie below them: the last, and the one before each lap
 * @property {PlanBay[]} bays
 * @property {Point[] | null} outline
 * @property {{feature: string, polygon: Point[]}[]} features
 * @property {{x0: number, x1: number, y0: number, y1: number}} box
 * @property {boolean} tied false where the lines' own places are not determined, and are drawn at a guess
 * @property {number[]} missing joists that nothing places
 */

/** How far a joist is drawn beyond its outer tape lines where no edge was read [mm]. */
const BEYOND = 200;
/** Breadth to draw where none is known [mm]; a matter of drawing, no figure is taken from it. */
const DRAWN_BREADTH = 45;

/** @typedef {(index: number, line: string) => Point | null} Place */

/**
 * Where each joist and wall is drawn: its own point, or its x at a guessed distance.
 * @param {any} run
 * @returns {{place: Place, tied: boolean}}
 */
function places(run) {
  const all = [run.walls.start, ...run.joists, run.walls.end];
  const far = Math.max(1000, ...all.flatMap((one) => Object.values(one.at).map((/** @type {any} */ at) => at.x ?? 0)));
  const untied = run.lines.slice(1).filter((/** @type {string} */ line) => all.every((one) => !one.at[line]?.point));
  const place = (/** @type {number} */ index, /** @type {string} */ line) => {
    const at = all[index]?.at[line];
    if (at?.point) return /** @type {Point} */ (at.point);
    if (at?.x === null || at?.x === undefined) return null;
    return untied.includes(line) || line === run.lines[0]
      ? /** @type {Point} */ ([at.x, run.lines.indexOf(line) * far * 0.6])
      : null;
  };
  return { place, tied: untied.length === 0 };
}

/**
 * @param {any} run
 * @param {Place} place
 * @param {number} index
 * @returns {Point[]}
 */
function known(run, place, index) {
  const points = run.lines.map((/** @type {string} */ line) => place(index, line));
  return points.filter(Boolean);
}

/**
 * The x of a line through two points, at y; straight up where there is one point only.
 * @param {Point[]} points
 * @param {number} y
 */
function xAt(points, y) {
  const [a, b] = [points[0], points[points.length - 1]];
  if (Math.abs(b[1] - a[1]) < 1) return a[0];
  return a[0] + ((b[0] - a[0]) * (y - a[1])) / (b[1] - a[1]);
}

/**
 * @param {Point[]} points
 * @param {number} breadth [mm]
 * @param {{y0: number, y1: number}} box
 * @returns {Point[]}
 */
function strip(points, breadth, { y0, y1 }) {
  const half = breadth / 2;
  const [low, high] = [xAt(points, y0), xAt(points, y1)];
  return [
    [low - half, y0],
    [low + half, y0],
    [high + half, y1],
    [high - half, y1],
  ];
}

/**
 * The timbers of a joist, one unless it laps: each with its points, and from which y to which it lies.
 * @param {any} run
 * @param {Place} place
 * @param {number} index
 * @param {{y0: number, y1: number}} box
 * @returns {[Point[], {y0: number, y1: number}][]}
 */
function timbersOf(run, place, index, box) {
  const sides = parted(run.lines, run.laps).map((lines) => known({ lines }, place, index));
  if (sides.some((points) => !points.length)) return [[sides.flat(), box]];
  // Either timber of a lap is drawn from the one tape line beside it to the other.
  return sides.map((points, k) => {
    const [before, after] = [sides[k - 1], sides[k + 1]];
    return [points, { y0: before ? before[before.length - 1][1] : box.y0, y1: after ? after[0][1] : box.y1 }];
  });
}

/** @param {any} run @param {Point[]} points */
function boxOf(run, points) {
  const corners = /** @type {Point[]} */ (run.outline ?? []);
  const [xs, ys] = [0, 1].map((at) => [...points, ...corners].map((point) => point[at]));
  const more = corners.length ? 0 : BEYOND;
  return { x0: Math.min(...xs), x1: Math.max(...xs), y0: Math.min(...ys) - more, y1: Math.max(...ys) + more };
}

/**
 * Bays in which a finding or a doubtful reading stands.
 * @param {any} run
 * @param {Map<string, Record<string, any>>} entries the survey's entries by id
 */
function marks(run, entries) {
  const off = new Map();
  for (const { code, where, value } of run.findings) {
    if (code === "centres.irregular") off.set(`${where.bay} ${where.line}`, value);
  }
  const doubtful = new Set();
  for (const { reading } of run.suspects) {
    const entry = entries.get(reading);
    if (entry?.kind === "across" && entry.to[0] - entry.from[0] === 1) doubtful.add(`${entry.from[0]} ${entry.line}`);
  }
  return { off, doubtful };
}

/**
 * The part of a bay nearer to this line than to the others.
 * @param {Point[][]} sides the points of both joists on every line
 * @param {Point[]} ends the points of both joists on this line
 * @param {{y0: number, y1: number}} box
 * @returns {Point[]}
 */
function areaOf(sides, ends, box) {
  const ys = sides[0].map((point) => point[1]).sort((a, b) => a - b);
  const mine = ends[0][1];
  const below = ys.filter((y) => y < mine - 1).pop();
  const above = ys.find((y) => y > mine + 1);
  const low = below === undefined ? box.y0 : (below + mine) / 2;
  const high = above === undefined ? box.y1 : (above + mine) / 2;
  const [left, right] = sides;
  return [
    [xAt(left, low), low],
    [xAt(right, low), low],
    [xAt(right, high), high],
    [xAt(left, high), high],
  ];
}

/**
 * @param {any} run
 * @param {Place} place
 * @param {Plan["box"]} box
 * @param {ReturnType<typeof marks>} marked
 * @returns {PlanBay[]}
 */
function baysOf(run, place, box, { off, doubtful }) {
  return run.bays.flatMap((/** @type {any} */ { bay, at }) =>
    run.lines.flatMap((/** @type {string} */ line) => {
      const ends = [place(bay, line), place(bay + 1, line)];
      if (!ends[0] || !ends[1]) return [];
      const [a, b] = /** @type {Point[]} */ (ends);
      const sides = [known(run, place, bay), known(run, place, bay + 1)];
      const figures = {
        centres: at[line]?.centres ?? null,
        sd: at[line]?.centres_sd ?? null,
        gap: at[line]?.gap ?? null,
      };
      const key = `${bay} ${line}`;
      const mid = /** @type {Point} */ ([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]);
      return [
        {
          bay,
          line,
          mid,
          ...figures,
          off: off.get(key) ?? 0,
          doubtful: doubtful.has(key),
          area: areaOf(sides, [a, b], box),
        },
      ];
    }),
  );
}

/**
 * @param {any} run
 * @param {Place} place
 * @returns {Plan["rods"]}
 */
function rodsOf(run, place) {
  return run.lines.flatMap((/** @type {string} */ line) => {
    const centres = [run.walls.start, ...run.joists, run.walls.end].map((one) => ({
      one,
      point: place(one.index, line),
    }));
    const there = centres.filter(({ point }) => point);
    if (there.length < 2) return [];
    const faces = there.flatMap(({ one, point }) => facesOf(one, /** @type {Point} */ (point)));
    const end = run.walls.end.at[line];
    const [from, to] = [there[0].point, there[there.length - 1].point];
    return [{ line, from, to, faces, overall: end?.x ?? null, sd: end?.sd ?? null }];
  });
}

/** @param {any} one @param {Point} point @returns {Point[]} */
function facesOf(one, [x, y]) {
  const half = (one.breadth?.value ?? 0) / 2;
  return half
    ? [
        [x - half, y],
        [x + half, y],
      ]
    : [[x, y]];
}

/**
 * What there is to draw of one run.
 * @param {any} run one of the as-built's `runs`
 * @param {Map<string, Record<string, any>>} entries the survey's entries by id
 * @returns {Plan | null} null where nothing is placed yet
 */
export function planOf(run, entries) {
  const { place, tied } = places(run);
  const indices = [...Array(run.joists.length + 2).keys()];
  const points = indices.map((index) => known(run, place, index));
  if (points.slice(1).every((some) => some.length === 0)) return null;
  const box = boxOf(run, points.flat());
  const joists = run.joists.filter((/** @type {any} */ { index }) => points[index].length);
  const rods = rodsOf(run, place);
  const ends = [0, run.joists.length + 1].filter((index) => points[index].length);
  return {
    joists: joists.map((/** @type {any} */ { index, breadth }) => ({
      index,
      strips: timbersOf(run, place, index, box).map(([some, ends]) =>
        strip(some, breadth?.value ?? DRAWN_BREADTH, ends),
      ),
      sure: points[index].length === run.lines.length || points[index].length > 1,
    })),
    walls: ends.map((index) => ({
      index,
      from: [xAt(points[index], box.y0), box.y0],
      to: [xAt(points[index], box.y1), box.y1],
    })),
    rods,
    // Between the two lines beside a lap there is no room for the figures of either.
    below: parted(
      rods.map(({ line }) => line),
      run.laps,
    ).map((side) => side[side.length - 1]),
    bays: baysOf(run, place, box, marks(run, entries)),
    outline: run.outline,
    features: run.features.filter((/** @type {any} */ one) => one.polygon),
    box,
    tied,
    missing: run.joists
      .map((/** @type {any} */ one) => one.index)
      .filter((/** @type {number} */ index) => !points[index].length),
  };
}
