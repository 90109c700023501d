/**
 * Where joists lap: over a beam or a spine wall each goes over to another timber beside it.
 * @module laps
 */

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
