/**
 * What a solved run says of its timbers: positions, sizes, bays, angles, spans, points.
 * @module reconcile/geometry
 */
import { ENDS, SIDES } from "./network.js";
import { Spot } from "./plane.js";
import { Questions } from "./questions.js";

/** @typedef {import("./questions.js").Figure} Figure */
/** @typedef {import("./solve.js").Solved} Solved */
/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Terms} Terms */

const DEGREES = 180 / Math.PI;

/** A bay's clear gap and centres along a line [mm]; null where not determined. @typedef {{bay: number, line: string, gap: Figure | null, centres: Figure | null}} Bay */

/**
 * Every figure of one run by `joist`, or by `joist|line`, `joist|place`, `joist|end`; what is missing
 * is not determined by the readings. Lengths in mm; angles in degrees from square to the first line,
 * positive where the far end lies nearer the end wall.
 * @typedef {object} Geometry
 * @property {Map<string, Figure>} x the centre's place along the line from the start wall
 * @property {Map<string, Point>} points
 * @property {Map<string, Figure>} breadth
 * @property {Map<string, Figure>} depth
 * @property {Map<string, Bay>} bays
 * @property {Map<string, Figure>} angles
 * @property {Map<string, Figure>} spans
 * @property {Map<string, Figure>} bearing
 * @property {Map<string, Figure>} along the distance of an end from the first line
 * @property {Map<string, Figure>} level the distance down from the level line
 */

/**
 * Every figure of a solved run.
 * @param {Solved} solved
 * @returns {Geometry}
 */
export function measure(solved) {
  const questions = new Questions(solved.fit),
    asker = new Asker(solved, questions);
  const simple = asker.simple(),
    bays = asker.bays(),
    spots = asker.spots(),
    angles = asker.angles();
  const useful = solved.pack["plane.useful"];
  /** @type {Geometry} */
  const out = {
    ...{ x: new Map(), points: new Map(), breadth: new Map(), depth: new Map(), bays: new Map() },
    ...{ angles: new Map(), spans: new Map(), bearing: new Map(), along: new Map(), level: new Map() },
  };
  for (const [name, key, number] of simple) {
    const figure = questions.answer(number);
    if (figure) out[name].set(key, figure);
  }
  for (const { gap, centres, ...where } of bays) {
    const bay = { ...where, gap: questions.answer(gap), centres: questions.answer(centres) };
    out.bays.set(`${where.bay}|${where.line}`, bay);
  }
  for (const [key, point, x, y] of spots)
    if (questions.answer(x, useful) && questions.answer(y, useful)) out.points.set(key, point);
  for (const [joist, number] of angles) {
    const figure = questions.answer(number);
    if (figure && figure.sd < (useful / 1000) * DEGREES) out.angles.set(String(joist), figure);
  }
  return out;
}

/** @typedef {"x" | "breadth" | "depth" | "spans" | "bearing" | "along" | "level"} Simple */

/** Asks everything of one fit. */
class Asker {
  /**
   * @param {Solved} solved
   * @param {Questions} questions
   */
  constructor({ network, run, fit }, questions) {
    this.network = network;
    this.run = run;
    this.values = fit.values;
    this.questions = questions;
  }

  /** @param {Terms} terms */
  #ask(terms) {
    return this.questions.ask(terms);
  }

  // --- one or two unknowns ----------------------------------------------------------------

  /** @returns {[Simple, string, number][]} */
  simple() {
    /** @type {[Simple, string, number][]} */
    const out = this.run.lines.map((line) => ["x", `0|${line}`, this.#ask([])]);
    const names = ["x", "breadth", "depth", "along", "level", "bearing"];
    this.network.keys.forEach(([name, ...rest], number) => {
      if (names.includes(name)) out.push([name, rest.join("|"), this.#ask([[number, 1]])]);
    });
    for (let joist = 0; joist <= this.network.end; joist++) {
      const near = this.network.find("along", joist, "near_support");
      const far = this.network.find("along", joist, "far_support");
      if (near !== undefined && far !== undefined)
        out.push([
          "spans",
          String(joist),
          this.#ask([
            [far, 1],
            [near, -1],
          ]),
        ]);
    }
    return out;
  }

  /** @returns {{bay: number, line: string, gap: number | null, centres: number | null}[]} */
  bays() {
    const { lines, joists } = this.run,
      out = [];
    for (const line of lines)
      for (let bay = 0; bay <= joists; bay++)
        out.push({ bay, line, gap: this.#gap(bay, line), centres: this.#centres(bay, line) });
    return out;
  }

  /**
   * The terms of a joist's face along a line; null where never touched.
   * @param {number} joist
   * @param {string} line
   * @param {string} face
   * @returns {Terms | null}
   */
  #face(joist, line, face) {
    if (joist === 0) return [];
    const x = this.network.find("x", joist, line),
      breadth = this.network.find("breadth", joist);
    if (x === undefined) return null;
    if (joist === this.network.end) return [[x, 1]];
    return breadth === undefined
      ? null
      : [
          [x, 1],
          [breadth, SIDES[face]],
        ];
  }

  /** @param {number} bay @param {string} line */
  #gap(bay, line) {
    const left = this.#face(bay, line, "right"),
      right = this.#face(bay + 1, line, "left");
    if (!left || !right) return null;
    return this.#ask([...right, .../** @type {Terms} */ (left.map(([u, k]) => [u, -k]))]);
  }

  /** A bay beside a wall has no centres. @param {number} bay @param {string} line */
  #centres(bay, line) {
    const a = this.network.find("x", bay, line),
      b = this.network.find("x", bay + 1, line);
    if (a === undefined || b === undefined || bay === 0 || bay === this.run.joists) return null;
    return this.#ask([
      [b, 1],
      [a, -1],
    ]);
  }

  // --- in the plane -----------------------------------------------------------------------

  /**
   * @param {number} joist
   * @param {string} line
   * @returns {Spot | null}
   */
  #spot(joist, line) {
    const x = this.network.find("x", joist, line);
    if (x === undefined && joist !== 0) return null;
    if (line === this.run.lines[0]) return new Spot(x ?? null, null);
    const [originX, originY, direction] = ["origin_x", "origin_y", "direction"].map((name) =>
      this.network.find(name, line),
    );
    if (originX === undefined || originY === undefined || direction === undefined) return null;
    return new Spot(x ?? null, { originX, originY, direction });
  }

  /** @returns {[string, Point, number, number][]} key, point, and the numbers of its two questions */
  spots() {
    /** @type {[string, Point, number, number][]} */
    const out = [];
    for (const line of this.run.lines)
      for (let joist = 0; joist <= this.network.end; joist++) {
        const spot = this.#spot(joist, line);
        if (!spot) continue;
        const point = spot.at(this.values),
          slopes = spot.slopes(this.values);
        const [x, y] = [0, 1].map((axis) =>
          this.questions.ask(
            spot.columns.map((c, i) => [c, slopes[i][axis]]),
            point[axis],
          ),
        );
        out.push([`${joist}|${line}`, point, x, y]);
      }
    return out;
  }

  /**
   * Each joist's direction between the first line and the last that crosses it before a lap.
   * @returns {[number, number][]} joist and question
   */
  angles() {
    /** @type {[number, number][]} */
    const out = [];
    for (let joist = 0; joist <= this.network.end; joist++) {
      const [first, ...others] = linesOf(this.run, joist).map((line) => this.#spot(joist, line));
      const last = others.findLast((spot) => spot !== null);
      if (first && last) out.push([joist, this.#angle(first, last)]);
    }
    return out;
  }

  /** @param {Spot} first @param {Spot} last */
  #angle(first, last) {
    const { values } = this;
    const [ax, ay] = first.at(values),
      [bx, by] = last.at(values);
    const dx = bx - ax,
      dy = by - ay,
      square = Math.max(dx * dx + dy * dy, 1);
    // d(atan2(dx, dy)) = (dy ddx - dx ddy) / (dx² + dy²)
    const gx = (dy / square) * DEGREES,
      gy = (-dx / square) * DEGREES;
    const terms = (/** @type {Spot} */ spot, /** @type {number} */ sign) => {
      const slopes = spot.slopes(values);
      return spot.columns.map(
        (c, i) => /** @type {[number, number]} */ ([c, sign * (gx * slopes[i][0] + gy * slopes[i][1])]),
      );
    };
    return this.questions.ask([...terms(first, -1), ...terms(last, 1)], Math.atan2(dx, dy) * DEGREES);
  }
}

/**
 * The tape lines that cross one member: all for a wall, those before a lap for a joist.
 * @param {import("./types.js").Run} run
 * @param {number} joist
 * @returns {string[]}
 */
export const linesOf = ({ lines, sides, joists }, joist) => (joist % (joists + 1) && sides[0] ? sides[0] : lines);

/**
 * The plane point of an end (`near_edge` …) or tape line on a joist, where determined.
 * @param {Geometry} geometry
 * @param {string} firstLine
 * @param {number} joist
 * @param {string} place
 * @returns {Point | undefined} [mm]
 */
export function along(geometry, firstLine, joist, place) {
  if (!ENDS.includes(place)) return geometry.points.get(`${joist}|${place}`);
  const start = geometry.points.get(`${joist}|${firstLine}`);
  const distance = geometry.along.get(`${joist}|${place}`),
    angle = geometry.angles.get(String(joist));
  if (!start || !distance || !angle) return undefined;
  const turn = angle.value / DEGREES;
  return [start[0] + distance.value * Math.sin(turn), start[1] + distance.value * Math.cos(turn)];
}
