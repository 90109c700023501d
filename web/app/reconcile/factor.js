/**
 * Cholesky's factor of a symmetric matrix, and what is divided by it. Matrices lie row by row.
 * @module reconcile/factor
 */

const LEAST_HOLD = 1e-14;

/** @param {Float64Array} a @param {Float64Array} b @returns {number} their product */
export const dot = (a, b) => a.reduce((sum, value, i) => sum + value * b[i], 0);

/** The lower factor. Each row is kept from its first entry, for few are full. */
export class Factor {
  /** @type {Float64Array} */
  lower = new Float64Array();

  /**
   * @param {Float64Array} matrix of which the lower half is read
   * @param {number} size
   */
  constructor(matrix, size) {
    this.size = size;
    this.row = new Float64Array(size);
    this.first = Int32Array.from({ length: size }, (_, i) => {
      let j = 0;
      while (j < i && !matrix[i * size + j]) j++;
      return j;
    });
    // Coefficients so large that rounding outweighs the hold: hold a little harder.
    for (let hold = 0; !this.#take(matrix, 1 + hold); hold = hold * 10 || LEAST_HOLD);
  }

  /** @param {Float64Array} matrix @param {number} held @returns {boolean} false where it is not positive */
  #take(matrix, held) {
    const { size, first } = this,
      lower = (this.lower = matrix.slice());
    for (let i = 0; i < size; i++) {
      const row = i * size;
      lower[row + i] *= held;
      for (let j = first[i]; j <= i; j++) {
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
   * The variance of a linear function: its squared length, divided by the factor.
   * @param {number[]} places
   * @param {number[]} values
   * @returns {number}
   */
  variance(places, values) {
    const { size, row } = this,
      from = Math.min(size, ...places);
    row.fill(0, from);
    places.forEach((place, k) => (row[place] += values[k]));
    this.forward(row, from);
    let sum = 0;
    for (let i = from; i < size; i++) sum += row[i] * row[i];
    return sum;
  }
}
