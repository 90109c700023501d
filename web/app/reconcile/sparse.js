/**
 * Matrices of few figures a row.
 * @module reconcile/sparse
 */

/** @typedef {import("./types.js").Terms} Terms */

/**
 * Rows one after another: row i holds what lies from starts[i] up to starts[i + 1].
 * @typedef {{starts: Int32Array, columns: Int32Array, values: Float64Array}} Rows
 */

/**
 * @param {Terms[]} list the terms of each row
 * @returns {Rows}
 */
export function rowsOf(list) {
  const starts = new Int32Array(list.length + 1);
  list.forEach((terms, i) => (starts[i + 1] = starts[i] + terms.length));
  const all = list.flat();
  return { starts, columns: Int32Array.from(all, ([c]) => c), values: Float64Array.from(all, ([, v]) => v) };
}

/**
 * @param {Rows} rows
 * @param {Float64Array} vector
 * @returns {Float64Array} each row times the vector
 */
export function times({ starts, columns, values }, vector) {
  const out = new Float64Array(starts.length - 1);
  for (let i = 0; i < out.length; i++)
    for (let k = starts[i]; k < starts[i + 1]; k++) out[i] += values[k] * vector[columns[k]];
  return out;
}

/**
 * @param {Rows} rows
 * @param {Float64Array} vector one figure a row
 * @param {number} width how many columns there are
 * @returns {Float64Array} each column times the vector
 */
export function across({ starts, columns, values }, vector, width) {
  const out = new Float64Array(width);
  for (let i = 0; i < vector.length; i++)
    if (vector[i]) for (let k = starts[i]; k < starts[i + 1]; k++) out[columns[k]] += values[k] * vector[i];
  return out;
}
