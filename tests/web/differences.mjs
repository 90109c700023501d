// Where two as-builts differ, number by number and word by word.

const isNumber = (value) => typeof value === "number";
const isObject = (value) => typeof value === "object" && value !== null;

/**
 * The places in which two JSON values differ; numbers by more than `near`.
 * @param {unknown} one
 * @param {unknown} other
 * @param {number} near
 * @param {string} [where]
 * @returns {string[]}
 */
export function differences(one, other, near, where = "") {
  if (isNumber(one) && isNumber(other)) return Math.abs(one - other) <= near ? [] : [`${where}: ${one}, ${other}`];
  if (!isObject(one) || !isObject(other) || Array.isArray(one) !== Array.isArray(other))
    return one === other ? [] : [`${where}: ${JSON.stringify(one)}, ${JSON.stringify(other)}`];
  const keys = new Set([...Object.keys(one), ...Object.keys(other)]);
  return [...keys].flatMap((key) => differences(one[key], other[key], near, `${where}/${key}`));
}
