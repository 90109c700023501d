/**
 * Points and distances in the plane: how tape lines, joists and diagonals hang together. The first
 * tape line is the x axis; another starts at an origin [mm] and goes over by so much in each metre along the
 * axis [mm per m]: so none can run backwards, for joists have the same order along all of them.
 * @module reconcile/plane
 */

/** @typedef {import("./equations.js").Curve} Curve */
/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Terms} Terms */

const PER_M = 1000;

/** @typedef {{originX: number, originY: number, direction: number}} Line the unknowns of a further line */

/** Where a joist or wall face crosses a tape line. */
export class Spot {
  /**
   * @param {number | null} x the unknown of its place along the line; null for the start wall
   * @param {Line | null} line null for the first line
   */
  constructor(x, line) {
    this.x = x;
    this.line = line;
  }

  /** The unknowns that it depends on. @returns {number[]} */
  get columns() {
    const { x, line } = this;
    return [...(x === null ? [] : [x]), ...(line ? [line.originX, line.originY, line.direction] : [])];
  }

  /** @param {Float64Array} values @returns {[number, number, number]} place along the line, cosine, sine */
  #along(values) {
    const slope = this.line ? values[this.line.direction] / PER_M : 0,
      c = 1 / Math.hypot(1, slope);
    return [this.x === null ? 0 : values[this.x], c, slope * c];
  }

  /**
   * @param {Float64Array} values
   * @returns {Point} its coordinates [mm]
   */
  at(values) {
    const { line } = this,
      [x, c, s] = this.#along(values);
    return line ? [values[line.originX] + x * c, values[line.originY] + x * s] : [x, 0];
  }

  /**
   * @param {Float64Array} values
   * @returns {Point[]} the slopes of (x, y) by each of its columns
   */
  slopes(values) {
    const [x, c, s] = this.#along(values);
    /** @type {Point[]} */
    const own = this.x === null ? [] : [[c, s]],
      turned = (x * c * c) / PER_M;
    return this.line ? [...own, [1, 0], [0, 1], [-turned * s, turned * c]] : own;
  }
}

/**
 * A length made of the distance between two spots and more.
 * @param {Spot} a
 * @param {Spot} b
 * @param {Terms} extra what enters linearly: a tape's scale, an end's distance from the first line
 * @param {number} [sign] -1 where the distance counts backwards
 * @returns {[number[], Curve]} the unknowns, and the curve
 */
export function between(a, b, extra, sign = 1) {
  const ends = [...a.columns, ...b.columns];
  const columns = [...new Set([...ends, ...extra.map(([c]) => c)])];
  /** @type {Curve} */
  const curve = (values) => {
    const [ax, ay] = a.at(values),
      [bx, by] = b.at(values);
    const dx = bx - ax,
      dy = by - ay;
    let length = Math.hypot(dx, dy);
    // Two spots that coincide have no direction; any unit vector keeps the arithmetic finite.
    const [ux, uy] = length > 1e-9 ? [dx / length, dy / length] : [1, 0];
    const slopes = columns.map(() => 0),
      bends = slopes.slice(),
      from = a.slopes(values),
      root = Math.sqrt(Math.max(length, 1));
    [...from, ...b.slopes(values)].forEach(([sx, sy], i) => {
      const slot = columns.indexOf(ends[i]),
        way = i < from.length ? -1 : 1;
      slopes[slot] += way * sign * (ux * sx + uy * sy);
      bends[slot] += (way * (ux * sy - uy * sx)) / root;
    });
    length *= sign;
    for (const [c, k] of extra) {
      length += k * values[c];
      slopes[columns.indexOf(c)] += k;
    }
    return [length, slopes, bends];
  };
  return [columns, curve];
}
