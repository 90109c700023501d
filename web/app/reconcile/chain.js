/**
 * The normal matrix of a long run in blocks. Unknowns lie along the line from wall to wall, so a row
 * touches one block, or two neighbours; what it touches beyond that stands in the border, where the curved
 * rows have all their unknowns: a step along them leaves the blocks as they are.
 * @module reconcile/chain
 */
import { dot, Factor } from "./factor.js";

/** @typedef {Map<number, Float64Array>} Columns those that are not empty, by their places in a block */

/** Several blocks and a border, in their own order of the unknowns. */
export class Chain {
  /** Of each block, those before it divided out. @type {Factor[]} */
  factors = [];
  /** What is left of each block then, and what is with those after it divided out. @type {Float64Array[]} */
  left = [];
  /** @type {Float64Array[]} */
  right = [];
  /** The next block's columns, divided by the factor. @type {Columns[]} */
  over = [];
  /** The border's columns, divided by the factor; the same, divided by its transpose too. @type {Float64Array[]} */
  half = [];
  /** @type {Float64Array[]} */
  whole = [];
  /** Of a block and the next, all others divided out. @type {Factor[]} */
  #pairs = [];
  /** The variances of rows that were asked for, by their columns. @type {WeakMap<Int32Array, number[]>} */
  known = new WeakMap();

  /**
   * @param {number} size how many unknowns
   * @param {number[]} bounds the start of each block, and the border's
   * @param {number} held what the hold adds
   */
  constructor(size, bounds, held) {
    this.bounds = bounds;
    this.count = bounds.length - 1;
    this.inner = bounds[this.count];
    this.width = size - this.inner;
    this.own = bounds.slice(1).map((_, b) => new Float64Array(this.#size(b) ** 2));
    /** Each block's columns of the next. @type {Columns[]} */
    this.ahead = this.own.map(() => new Map());
    /** The columns of the border. */
    this.out = Array.from({ length: this.width }, () => new Float64Array(this.inner));
    this.corner = new Float64Array(this.width ** 2);
    /** The block of each place before the border. */
    this.block = this.own.flatMap((_, b) => new Array(this.#size(b)).fill(b));
    for (let u = 0; u < size; u++) this.add(u, u, held);
  }

  /** @param {number} block */
  #size(block) {
    return this.bounds[block + 1] - this.bounds[block];
  }

  /** @param {number} u @param {number} v not above u @param {number} value */
  add(u, v, value) {
    const { bounds, inner, width } = this;
    if (v >= inner) this.corner[(u - inner) * width + v - inner] += value;
    else if (u >= inner) this.out[u - inner][v] += value;
    else {
      const a = this.block[u],
        b = this.block[v],
        i = u - bounds[a],
        j = v - bounds[b],
        columns = this.ahead[b];
      if (a === b) this.own[b][i * this.#size(a) + j] += value;
      else {
        if (!columns.has(i)) columns.set(i, new Float64Array(this.#size(b)));
        /** @type {Float64Array} */ (columns.get(i))[j] += value;
      }
    }
  }

  /** Divides block after block out, and takes from the border what they have to do with it. */
  factor() {
    this.own.forEach((own, b) => {
      this.left[b] = less(own, this.over[b - 1]);
      const factor = (this.factors[b] = new Factor(this.left[b], this.#size(b)));
      this.over[b] = divided(factor, this.ahead[b]);
    });
    this.half = this.out.map((column) => this.forward(column.slice()));
    this.whole = this.half.map((column) => this.back(column.slice()));
    this.corner.set(less(this.corner, new Map(this.half.entries())));
  }

  /** @param {Float64Array} vector @param {number} b */
  #part(vector, b) {
    return vector.subarray(this.bounds[b], this.bounds[b + 1]);
  }

  /** Divides a vector by the factor, in place. @param {Float64Array} vector @returns {Float64Array} */
  forward(vector) {
    this.factors.forEach((factor, b) => {
      const part = factor.forward(this.#part(vector, b));
      for (const [j, column] of this.over[b]) vector[this.bounds[b + 1] + j] -= dot(column, part);
    });
    return vector;
  }

  /** Divides a vector by the factor's transpose, in place. @param {Float64Array} vector @returns {Float64Array} */
  back(vector) {
    for (let b = this.count; b--;) {
      const part = this.#part(vector, b);
      for (const [j, column] of this.over[b]) {
        const value = vector[this.bounds[b + 1] + j];
        for (let i = 0; i < part.length; i++) part[i] -= column[i] * value;
      }
      this.factors[b].back(part);
    }
    return vector;
  }

  /**
   * The variance [mm²] of a linear function while the border stands where it is. It may touch one block and the next.
   * @param {number[]} places none of the border
   * @param {number[]} values
   * @returns {number}
   */
  variance(places, values) {
    if (!places.length) return 0;
    const b = Math.max(0, Math.min(this.count - 2, this.block[Math.min(...places)]));
    this.#pairs[b] ??= this.count > 1 ? this.#pair(b) : this.factors[0];
    return this.#pairs[b].variance(
      places.map((place) => place - this.bounds[b]),
      values,
    );
  }

  /** @param {number} b a block: its factor with the next, all others divided out */
  #pair(b) {
    if (!this.right.length) this.#fromTheRight();
    const first = this.#size(b),
      second = this.#size(b + 1),
      size = first + second,
      matrix = new Float64Array(size * size);
    for (let i = 0; i < first; i++) matrix.set(this.left[b].subarray(i * first, (i + 1) * first), i * size);
    for (let i = 0; i < second; i++) {
      matrix.set(this.ahead[b].get(i) ?? [], (first + i) * size);
      matrix.set(this.right[b + 1].subarray(i * second, (i + 1) * second), (first + i) * size + first);
    }
    return new Factor(matrix, size);
  }

  #fromTheRight() {
    for (let b = this.count; b--;) {
      /** @type {Columns} */
      const back = new Map(),
        after = this.ahead[b],
        size = this.#size(b + 1);
      for (let i = 0; i < this.#size(b); i++) {
        const row = new Float64Array(size || 0);
        for (const [j, column] of after) row[j] = column[i];
        if (row.some(Boolean)) back.set(i, row);
      }
      const right = this.right[b + 1];
      this.right[b] = less(this.own[b], right && divided(new Factor(right, size), back));
    }
  }
}

/** @param {Factor} factor @param {Columns} columns @returns {Columns} */
const divided = (factor, columns) => new Map([...columns].map(([j, column]) => [j, factor.forward(column.slice())]));

/**
 * What is left of a matrix, of which the lower half counts, without the product of some columns with each other.
 * @param {Float64Array} matrix
 * @param {Columns} [columns] by their places in it
 * @returns {Float64Array}
 */
function less(matrix, columns = new Map()) {
  const out = matrix.slice(),
    size = Math.sqrt(matrix.length);
  for (const [i, a] of columns) for (const [j, b] of columns) if (j <= i) out[i * size + j] -= dot(a, b);
  return out;
}
