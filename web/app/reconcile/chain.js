/**
 * The normal matrix of a long run: blocks that touch only their neighbours, and a border.
 *
 * Eliminating blocks from the left up to a pair of neighbours, and from the right down to it, leaves
 * a small matrix for the pair and the border; every variance asked for follows from one such matrix.
 * So a long run costs time in proportion to its joists. Variances are sums of squares: nothing large
 * is subtracted from anything large, so an unknown that hangs in the air does not blur its neighbours.
 * @module reconcile/chain
 */
import { Factor, less } from "./factor.js";

/** @typedef {import("./sparse.js").Rows} Rows */

/** What is left of each block once all blocks before it, seen from one end, are eliminated. */
class Side {
  /** The block's own matrix before its elimination. @type {Float64Array[]} */
  own = [];
  /** Its columns of the border, before. @type {Float64Array[]} */
  out = [];
  /** @type {Factor[]} */
  factors = [];
  /** The next block's columns, divided by the factor. @type {Float64Array[]} */
  ahead = [];
  /** The border's columns, divided by it. @type {Float64Array[]} */
  aside = [];

  /**
   * @param {Float64Array} corner the border's matrix
   * @param {number} width the border's size
   */
  constructor(corner, width) {
    /** The border's matrix before each elimination. */
    this.corner = [corner];
    this.width = width;
  }

  /**
   * Divides the next block out.
   * @param {number} size the block's
   * @param {Float64Array} own
   * @param {Float64Array} out
   * @param {Float64Array | null} ahead
   */
  eliminate(size, own, out, ahead) {
    const { width } = this;
    const before = this.ahead.at(-1),
      aside = this.aside.at(-1);
    if (before && aside) {
      own = less(own, before, before, size, size);
      out = less(out, before, aside, size, width);
      this.corner.push(less(/** @type {Float64Array} */ (this.corner.at(-1)), aside, aside, width, width));
    }
    const factor = new Factor(own, size);
    this.own.push(own);
    this.out.push(out);
    this.factors.push(factor);
    this.aside.push(factor.under(out, width));
    if (ahead) this.ahead.push(factor.under(ahead, size && ahead.length / size));
  }
}

/** Several blocks and a border, in their own order of the unknowns. */
export class Chain {
  /**
   * @param {number} size how many unknowns
   * @param {number[]} bounds the start of each block, and the border's
   * @param {number} held what the hold adds
   */
  constructor(size, bounds, held) {
    this.bounds = bounds;
    this.count = bounds.length - 1;
    this.width = size - bounds[this.count];
    const { width } = this;
    this.own = Array.from({ length: this.count }, (_, b) => new Float64Array(this.#size(b) ** 2));
    this.ahead = this.own.map((_, b) => new Float64Array(this.#size(b) * this.#size(b + 1)));
    this.out = this.own.map((_, b) => new Float64Array(this.#size(b) * width));
    this.corner = new Float64Array(width * width);
    for (let u = 0, b = 0; u < size; u++) {
      while (u >= bounds[b + 1]) b++;
      this.add(u, u, held);
    }
    /** @type {Side | null} */
    this.right = null;
  }

  /** @param {number} block */
  #size(block) {
    return block < this.count ? this.bounds[block + 1] - this.bounds[block] : 0;
  }

  /** The block of a place; the count of them for the border. @param {number} place */
  #block(place) {
    let low = 0,
      high = this.count;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (this.bounds[middle] <= place) low = middle;
      else high = middle - 1;
    }
    return low;
  }

  /** @param {number} u @param {number} v not above u @param {number} value */
  add(u, v, value) {
    const { bounds, count, width } = this;
    const a = this.#block(u),
      b = this.#block(v);
    const i = u - bounds[a],
      j = v - bounds[b];
    if (b === count) this.corner[i * width + j] += value;
    else if (a === count) this.out[b][j * width + i] += value;
    else if (a === b) this.own[b][i * this.#size(b) + j] += value;
    else this.ahead[b][j * this.#size(a) + i] += value;
  }

  factor() {
    const left = new Side(this.corner, this.width);
    this.own.forEach((own, b) =>
      left.eliminate(this.#size(b), own, this.out[b], b + 1 < this.count ? this.ahead[b] : null),
    );
    const last = /** @type {Float64Array} */ (left.aside.at(-1));
    const corner = /** @type {Float64Array} */ (left.corner.at(-1));
    this.root = new Factor(less(corner, last, last, this.width, this.width), this.width);
    this.left = left;
  }

  /**
   * Substitutes forwards and back again.
   * @param {Float64Array} right
   * @returns {Float64Array}
   */
  solve(right) {
    const { bounds, count, width } = this;
    const left = /** @type {Side} */ (this.left),
      root = /** @type {Factor} */ (this.root);
    const part = (/** @type {number} */ b) => right.subarray(bounds[b], bounds[b + 1]);
    const tail = right.subarray(bounds[count]);
    for (let b = 0; b < count; b++) {
      if (b) part(b).set(less(part(b), left.ahead[b - 1], part(b - 1), this.#size(b), 1));
      left.factors[b].forward(part(b));
      tail.set(less(tail, left.aside[b], part(b), width, 1));
    }
    root.back(root.forward(tail));
    for (let b = count - 1; b >= 0; b--) {
      takeAway(part(b), left.aside[b], tail);
      if (b + 1 < count) takeAway(part(b), left.ahead[b], part(b + 1));
      left.factors[b].back(part(b));
    }
    return right;
  }

  /**
   * The variance [mm²] of each row, pair of blocks after pair of blocks.
   * @param {Rows} rows by place
   * @returns {Float64Array}
   */
  spread({ starts, columns, values }) {
    const { bounds, count } = this,
      pairs = Math.max(count - 1, 1);
    /** @type {number[][]} */
    const buckets = Array.from({ length: pairs }, () => []);
    const out = new Float64Array(starts.length - 1);
    out.forEach((_, i) => {
      const blocks = columns.subarray(starts[i], starts[i + 1]).map((place) => this.#block(place));
      buckets[Math.min(pairs - 1, ...blocks)].push(i);
    });
    buckets.forEach((bucket, b) => {
      if (!bucket.length) return;
      const factor = this.#pair(b),
        inner = this.#size(b) + this.#size(b + 1);
      for (const i of bucket) {
        const own = columns.subarray(starts[i], starts[i + 1]);
        const local = own.map((c) => (c < bounds[count] ? c - bounds[b] : c - bounds[count] + inner));
        out[i] = factor.variance(local, values.subarray(starts[i]), 0, local.length);
      }
    });
    return out;
  }

  /**
   * The factor for a block and the next with the border, all others divided out.
   * @param {number} b
   */
  #pair(b) {
    const { count, width } = this,
      left = /** @type {Side} */ (this.left);
    const first = this.#size(b),
      second = this.#size(b + 1),
      size = first + second + width;
    const matrix = new Float64Array(size * size);
    // The lower half of a block on the diagonal comes after its upper half, and so is what stands.
    const put = (
      /** @type {Float64Array} */ from,
      /** @type {number} */ down,
      /** @type {number} */ over,
      wide = 0,
    ) => {
      for (let i = 0; i < from.length; i++) {
        const r = Math.floor(i / wide),
          c = i % wide;
        matrix[(down + r) * size + over + c] = matrix[(over + c) * size + down + r] = from[i];
      }
    };
    put(left.own[b], 0, 0, first);
    put(left.out[b], 0, first + second, width);
    let corner = this.corner;
    if (count > 1) {
      const right = (this.right ??= this.#fromTheRight()),
        j = count - 2 - b;
      put(this.ahead[b], 0, first, second);
      put(right.own[j], first, first, second);
      put(right.out[j], first, first + second, width);
      corner = corner.map((c, i) => left.corner[b][i] + right.corner[j][i] - c);
    }
    put(corner, first + second, first + second, width);
    return new Factor(matrix, size);
  }

  #fromTheRight() {
    const right = new Side(this.corner, this.width);
    for (let b = this.count - 1; b > 0; b--) {
      const rows = this.#size(b - 1),
        columns = this.#size(b),
        ahead = this.ahead[b - 1];
      const turned = new Float64Array(ahead.length);
      for (let i = 0; i < rows; i++) for (let j = 0; j < columns; j++) turned[j * rows + i] = ahead[i * columns + j];
      right.eliminate(columns, this.own[b], this.out[b], turned);
    }
    return right;
  }
}

/**
 * target -= matrix times vector, in place.
 * @param {Float64Array} target
 * @param {Float64Array} matrix
 * @param {Float64Array} vector
 */
function takeAway(target, matrix, vector) {
  const width = vector.length;
  for (let i = 0; i < target.length; i++)
    for (let j = 0; j < width; j++) target[i] -= matrix[i * width + j] * vector[j];
}
