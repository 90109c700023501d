/**
 * Cholesky's factor of a symmetric matrix, and what is divided by it. Matrices lie row by row.
 * @module reconcile/factor
 */

const LEAST_HOLD = 1e-14;

/**
 * Takes from a matrix the product of two others: target - a'b.
 * @param {Float64Array} target p by q
 * @param {Float64Array} a n by p
 * @param {Float64Array} b n by q
 * @param {number} p
 * @param {number} q
 * @returns {Float64Array}
 */
export function less(target, a, b, p, q) {
  const out = target.slice();
  for (let k = 0, n = p ? a.length / p : 0; k < n; k++)
    for (let i = 0; i < p; i++) {
      const c = a[k * p + i];
      if (c) for (let j = 0; j < q; j++) out[i * q + j] -= c * b[k * q + j];
    }
  return out;
}

/**
 * Where each row has its first entry; a row from `head` on may have entries there that are still to come.
 * @param {Float64Array} matrix
 * @param {number} size
 * @param {number} head
 */
const firsts = (matrix, size, head) =>
  Int32Array.from({ length: size }, (_, i) => {
    const last = head ? Math.min(i, head) : i;
    let j = 0;
    while (j < last && !matrix[i * size + j]) j++;
    return j;
  });

/** The lower factor. Each row is kept from its first entry, for few are full. */
export class Factor {
  /**
   * @param {Float64Array} matrix of which the lower half is read
   * @param {number} size
   * @param {number} [head] up to where the matrix is that of `before`, whose factor serves again
   * @param {Factor | null} [before]
   */
  constructor(matrix, size, head = 0, before = null) {
    this.size = size;
    /** @type {Float64Array} */
    this.lower = matrix.slice();
    this.row = new Float64Array(size);
    /** @type {Int32Array} */
    this.first = before ? before.first : firsts(matrix, size, head);
    if (before)
      for (let i = 0; i < size; i++)
        this.lower.set(before.lower.subarray(i * size, i * size + Math.min(i + 1, head)), i * size);
    let done = this.#take(before ? head : 0);
    // Coefficients so large that rounding outweighs the hold: hold a little harder.
    for (let hold = LEAST_HOLD; !done; hold *= 10) {
      this.lower.set(matrix);
      for (let i = 0; i < size; i++) this.lower[i * size + i] *= 1 + hold;
      done = this.#take(0);
    }
  }

  /** @param {number} from where to begin; all before it is there @returns {boolean} false where the matrix is not positive */
  #take(from) {
    const { size, first, lower } = this;
    for (let i = from; i < size; i++) {
      const row = i * size;
      for (let j = Math.max(first[i], from); j <= i; j++) {
        const other = j * size;
        let sum = lower[row + j];
        for (let k = Math.max(first[i], first[j]); k < j; k++) sum -= lower[row + k] * lower[other + k];
        if (j < i) lower[row + j] = sum / lower[other + j];
        else if (sum > 0) lower[row + i] = Math.sqrt(sum);
        else return false;
      }
    }
    return true;
  }

  /**
   * Divides a vector by the factor, in place.
   * @param {Float64Array} vector
   * @param {number} [from] all before it is zero
   * @returns {Float64Array}
   */
  forward(vector, from = 0) {
    const { size, first, lower } = this;
    for (let i = from; i < size; i++) {
      let sum = vector[i];
      for (let k = Math.max(first[i], from), row = i * size; k < i; k++) sum -= lower[row + k] * vector[k];
      vector[i] = sum / lower[i * size + i];
    }
    return vector;
  }

  /**
   * Divides a vector by the factor's transpose, in place.
   * @param {Float64Array} vector
   * @returns {Float64Array}
   */
  back(vector) {
    const { size, first, lower } = this;
    for (let i = size - 1; i >= 0; i--) {
      const row = i * size;
      const x = (vector[i] /= lower[row + i]);
      for (let k = first[i]; k < i; k++) vector[k] -= lower[row + k] * x;
    }
    return vector;
  }

  /**
   * Divides a matrix by the factor.
   * @param {Float64Array} matrix
   * @param {number} width its columns
   * @returns {Float64Array}
   */
  under(matrix, width) {
    const { size, first, lower } = this;
    const out = matrix.slice();
    for (let i = 0; i < size; i++) {
      for (let k = first[i]; k < i; k++) {
        const c = lower[i * size + k];
        if (c) for (let j = 0; j < width; j++) out[i * width + j] -= c * out[k * width + j];
      }
      for (let j = 0; j < width; j++) out[i * width + j] /= lower[i * size + i];
    }
    return out;
  }

  /**
   * The variance of a linear function: its squared length, divided by the factor.
   * @param {Int32Array} places
   * @param {Float64Array} values
   * @param {number} start where its terms start in both
   * @param {number} stop where they end
   * @returns {number}
   */
  variance(places, values, start, stop) {
    const { size, row } = this;
    let from = size;
    for (let k = start; k < stop; k++) from = Math.min(from, places[k]);
    row.fill(0, from);
    for (let k = start; k < stop; k++) row[places[k]] += values[k];
    this.forward(row, from);
    let sum = 0;
    for (let i = from; i < size; i++) sum += row[i] * row[i];
    return sum;
  }
}
