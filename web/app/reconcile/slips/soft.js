/**
 * How likely a loft is, from what people know of lofts: for ranking causes, never for adjusting.
 * Joists mostly follow a spacing; a bay is mostly alike at both tape lines; timbers of one run are
 * mostly of one breadth; tape lines are mostly parallel, the start wall square to them. Each statement is a bell with a long flat tail.
 * @module reconcile/slips/soft
 */
import { median } from "../rounding.js";
import { rowsOf } from "../sparse.js";

/** @typedef {import("../network.js").Network} Network */
/** @typedef {import("../types.js").Terms} Terms */

/**
 * The log density of a bell with a flat tail.
 * @param {{sd: number, stray: number, range: number}} shape from the pack
 */
function bell({ sd, stray, range }) {
  const peak = (1 - stray) / (sd * Math.sqrt(2 * Math.PI)),
    flat = stray / range,
    far = Math.log(flat);
  // Beyond ten times its width the bell is lost in the rounding of the tail.
  return (/** @type {number} */ distance) => {
    const z = (distance / sd) ** 2;
    return z > 100 ? far : Math.log(peak * Math.exp(-0.5 * z) + flat);
  };
}

/**
 * The index pairs of equal places, each with the one before (one a tape line).
 * @param {number[]} places
 * @param {number} offset
 * @returns {[number, number][]}
 */
function pairs(places, offset) {
  const last = new Map();
  return places.flatMap((place, i) => {
    const before = last.get(place);
    last.set(place, i + offset);
    return before === undefined ? [] : [[before, i + offset]];
  });
}

/**
 * The centres of each bay and the distances to the walls, along each line.
 * @param {Network} network
 * @returns {[number, Terms][][]} bay or wall, and terms
 */
function distances(network) {
  const { run, end } = network;
  const x = (/** @type {number} */ joist, /** @type {string} */ line) => network.find("x", joist, line);
  /** @type {[number, Terms][]} */
  const centres = [];
  /** @type {[number, Terms][]} */
  const sides = [];
  for (const line of run.lines) {
    for (let bay = 1; bay < run.joists; bay++) {
      const a = x(bay, line),
        b = x(bay + 1, line);
      if (a !== undefined && b !== undefined)
        centres.push([
          bay,
          [
            [b, 1],
            [a, -1],
          ],
        ]);
    }
    const first = x(1, line),
      last = x(run.joists, line),
      wall = x(end, line);
    if (!run.joists) continue;
    if (first !== undefined) sides.push([0, [[first, 1]]]);
    if (last !== undefined && wall !== undefined)
      sides.push([
        end,
        [
          [wall, 1],
          [last, -1],
        ],
      ]);
  }
  return [centres, sides];
}

/** @param {[number, Terms]} placed */
const ofTerms = ([, terms]) => terms;

/** Soft knowledge of one run, as a log likelihood of its unknowns. */
export class Soft {
  /** @param {Network} network */
  constructor(network) {
    const { pack } = network;
    const [centres, sides] = distances(network);
    /** @type {Terms[][]} */
    const [breadths, directions, origins] = ["breadth", "direction", "origin_x"].map((wanted) =>
      network.keys.flatMap(([name], number) => (name === wanted ? [[[number, 1]]] : [])),
    );
    this.centres = centres.length;
    this.sides = this.centres + sides.length;
    this.alike = pairs(
      centres.map(([bay]) => bay),
      0,
    );
    this.sideAlike = pairs(
      sides.map(([side]) => side),
      this.centres,
    );
    this.breadths = this.sides + breadths.length;
    /** What is asked of a loft: centres, distances to the walls, breadths; how each further line lies. */
    this.functions = rowsOf([...centres.map(ofTerms), ...sides.map(ofTerms), ...breadths, ...directions, ...origins]);
    this.directions = this.breadths + directions.length;
    this.bells = {
      spacing: bell(pack["soft.spacing"]),
      otherLine: bell(pack["soft.other_line"]),
      otherWall: bell(pack["soft.other_wall"]),
      breadth: bell(pack["soft.breadth"]),
      parallel: bell(pack["soft.parallel"]),
      startWall: bell(pack["soft.start_wall"]),
    };
    this.backwards = Math.log(pack["soft.backwards"]);
    /** @type {number[]} */
    this.spacings = [...new Set(/** @type {number[]} */ (Object.values(pack["nominal.spacings"])))];
  }

  /**
   * The log likelihood of a loft.
   * @param {Float64Array} figures what `functions` say of it [mm]
   * @returns {number}
   */
  score(figures) {
    const { bells } = this;
    let total = this.centres ? this.#spacing(figures) : 0;
    // Joists are numbered as they stand: a length that runs backwards is next to impossible.
    for (let i = 0; i < this.sides; i++) if (figures[i] < 0) total += this.backwards;
    for (const [a, b] of this.alike) total += bells.otherLine(figures[a] - figures[b]);
    for (const [a, b] of this.sideAlike) total += bells.otherWall(figures[a] - figures[b]);
    const breadths = figures.subarray(this.sides, this.breadths);
    if (breadths.length > 1) {
      const middle = median(breadths);
      for (const breadth of breadths) total += bells.breadth(breadth - middle);
    }
    for (let i = this.breadths; i < figures.length; i++)
      total += (i < this.directions ? bells.parallel : bells.startWall)(figures[i]);
    return total;
  }

  /** How far the tape lines lie off parallel [mm/m] and off a square wall [mm]. @param {Float64Array} figures */
  skew(figures) {
    return figures.subarray(this.breadths).reduce((sum, figure) => sum + Math.abs(figure), 0);
  }

  /** The centres under the spacing that suits them best. @param {Float64Array} figures */
  #spacing(figures) {
    const bell = this.bells.spacing,
      top = bell(0);
    let best = -Infinity;
    for (const [i, spacing] of this.spacings.entries()) {
      let sum = this.centres * top;
      // A spacing that can no longer win is not looked at to the end.
      for (let k = 0; k < this.centres && sum > best; k++) sum += bell(figures[k] - spacing) - top;
      if (sum <= best) continue;
      best = sum;
      // The winner goes first next time, so that the others are given up sooner.
      if (i) this.spacings = [spacing, ...this.spacings.filter((other) => other !== spacing)];
    }
    return best;
  }
}
