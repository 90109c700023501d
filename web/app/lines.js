/**
 * The tape lines of a run: their order, and where joists lap between two of them, each going over,
 * above a beam or a spine wall, to another timber beside it.
 * @module lines
 */

/**
 * Near first and far last, the others between them as they came: two phones may add them in either
 * order, and the loft has them in one.
 * @param {string[]} lines
 * @returns {string[]}
 */
export function fromNear(lines) {
  const place = (/** @type {string} */ name) => ({ near: 0, far: 2 })[name] ?? 1;
  return [...lines].sort((a, b) => place(a) - place(b));
}

/**
 * The tape lines parted at every lap: those of one side cross the same timbers.
 * @param {string[]} lines in the order in which they lie
 * @param {string[][]} [laps] pairs of neighbours that enclose a lap
 * @returns {string[][]}
 */
export function parted(lines, laps = []) {
  /** @type {string[][]} */
  const sides = [];
  lines.forEach((line, i) => {
    if (i && !laps.some((pair) => pair.includes(line) && pair.includes(lines[i - 1]))) sides.at(-1)?.push(line);
    else sides.push([line]);
  });
  return sides;
}
