/**
 * Rounding as the service does it, and comparisons that the last bits cannot turn.
 * @module reconcile/rounding
 */

/**
 * A figure to a ten-thousandth, free of the arithmetic's own noise.
 * @param {number} figure [mm or -]
 * @returns {number}
 */
export const steady = (figure) => Math.round(figure * 1e4) / 1e4;

/**
 * Rounds to decimals, a half to the even neighbour.
 * @param {number} figure
 * @param {number} [digits] at most 10
 * @returns {number}
 */
export function round(figure, digits = 0) {
  const twice = figure * 2 * 10 ** digits;
  // Only a figure of few binary places can lie half way; the product is exact then.
  if (Number.isInteger(figure * 2 ** (digits + 1)) && twice % 2 !== 0)
    return (2 * Math.round(twice / 4)) / 10 ** digits;
  return Number(figure.toFixed(digits));
}

/**
 * The middle of some figures.
 * @param {ArrayLike<number>} figures at least one
 * @returns {number}
 */
export function median(figures) {
  const sorted = Float64Array.from(figures).sort(),
    half = sorted.length >> 1;
  return sorted.length % 2 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}

/**
 * The items, the greatest figure first. Those whose figures differ by no more than the arithmetic's own noise
 * keep their order, however a rounding would part them.
 * @template T
 * @param {Iterable<T>} items
 * @param {(item: T) => number} figure
 * @returns {T[]}
 */
export function ranked(items, figure) {
  let level = 0;
  const down = [...items]
    .map((item, at) => ({ item, at, now: figure(item), level }))
    .sort((a, b) => b.now - a.now || a.at - b.at);
  down.forEach((each, i) => {
    const most = down[i - 1]?.now ?? each.now;
    if (most - each.now > Math.max(1e-4, 1e-7 * Math.abs(most))) level++;
    each.level = level;
  });
  return down.sort((a, b) => a.level - b.level || a.at - b.at).map(({ item }) => item);
}

/**
 * The first of those whose figure is the greatest but for noise.
 * @template T
 * @param {Iterable<T>} items
 * @param {(item: T) => number} figure
 * @returns {T | undefined}
 */
export function greatest(items, figure) {
  const all = [...items],
    figures = all.map(figure),
    most = Math.max(...figures);
  return all[figures.findIndex((now) => most - now <= Math.max(1e-4, 1e-7 * Math.abs(most)))];
}
