/**
 * A dimension line in the manner of building drawings: a thin line, an oblique tick at each end, the
 * figure above the line.
 * @module parts/dim
 */
import { svg } from "../ui.js";
import { line } from "./timber.js";

/** Half the length of a tick. */
const TICK = 5;

/**
 * @typedef {object} Dimension
 * @property {number} from where it begins, along the line
 * @property {number} to where it ends
 * @property {number} at where the line lies, across it
 * @property {number} [reach] where the projection lines begin, across it; left out, there are none
 * @property {number} [beyond] how far the line goes on past `to`, to carry a figure beside it
 * @property {string} [figure]
 * @property {boolean} [asked] true for the one dimension now asked for
 */

/** @param {number} x @param {number} y */
function tick(x, y) {
  return line(x - TICK, y + TICK, x + TICK, y - TICK, "tick");
}

/**
 * A dimension along the x axis. Place it upright by turning the group it returns.
 * @param {Dimension} dimension
 * @returns {SVGGElement}
 */
export function dimension({ from, to, at, reach, beyond = 0, figure = "", asked = false }) {
  const kind = asked ? "dim asked" : "dim";
  const ends =
    reach === undefined ? [] : [from, to].map((x) => line(x, reach, x, at + (at > reach ? TICK : -TICK), "projection"));
  const words = figure && svg("text", { x: (from + to) / 2, y: at - 4, "text-anchor": "middle" }, figure);
  return svg(
    "g",
    { class: kind },
    ...ends,
    line(from, at, to + beyond, at, "run"),
    tick(from, at),
    tick(to, at),
    words,
  );
}
