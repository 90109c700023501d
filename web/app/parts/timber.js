/**
 * Timber and wall in section, as drawings have them: timber with crossed diagonals, a wall hatched.
 * @module parts/timber
 */
import { svg } from "../ui.js";

/** @typedef {{x: number, y: number, width: number, height: number}} Box in the drawing's own units */

/**
 * A straight line.
 * @param {number} x1
 * @param {number} y1
 * @param {number} x2
 * @param {number} y2
 * @param {string} kind a class
 * @returns {SVGLineElement}
 */
export function line(x1, y1, x2, y2, kind) {
  return svg("line", { x1, y1, x2, y2, class: kind });
}

/**
 * A timber in section. Where it is cut off below, its foot is a break line and it is not crossed to
 * that edge's true corner, so that nobody takes the cut for its depth.
 * @param {Box} box
 * @param {{guess?: boolean, cut?: boolean}} [how] `guess`: its place is only expected, so it is
 *   drawn in a broken line; `cut`: it goes on below
 * @returns {SVGGElement}
 */
export function section({ x, y, width, height }, { guess = false, cut = false } = {}) {
  const [right, foot] = [x + width, y + height];
  const outline = svg("path", { d: `M${x} ${foot}V${y}H${right}V${foot}${cut ? "" : "Z"}`, class: "timber" });
  const cross = guess ? [] : [line(x, y, right, foot, "diagonal"), line(right, y, x, foot, "diagonal")];
  return svg("g", { class: guess ? "section guess" : "section" }, outline, ...cross, cut && breakLine(x, right, foot));
}

/**
 * A break line: what is drawn goes on beyond it.
 * @param {number} from
 * @param {number} to
 * @param {number} y
 * @returns {SVGPathElement}
 */
export function breakLine(from, to, y) {
  const middle = (from + to) / 2;
  const jag = Math.min(5, (to - from) / 6);
  return svg("path", {
    d: `M${from - 3} ${y}H${middle - jag}l${jag / 2} ${-jag}l${jag} ${2 * jag}l${jag / 2} ${-jag}H${to + 3}`,
    class: "break",
  });
}

/**
 * Hatching at 45 degrees, as lines that end at the box.
 * @param {Box} box
 * @param {number} [apart] between lines, along the x axis
 * @returns {SVGPathElement}
 */
export function hatching({ x, y, width, height }, apart = 7) {
  const parts = [];
  for (let at = apart / 2; at < width + height; at += apart) {
    const [x1, y1] = [x + Math.max(0, at - height), y + Math.min(at, height)];
    const [x2, y2] = [x + Math.min(at, width), y + Math.max(0, at - width)];
    parts.push(`M${x1} ${y1}L${x2} ${y2}`);
  }
  return svg("path", { d: parts.join(""), class: "hatching" });
}

/**
 * A wall in section, hatched, with a firm line at its face alone.
 * @param {Box} box
 * @param {"left" | "right"} face the side its face is on
 * @param {boolean} [guess] true where its place is only expected
 * @returns {SVGGElement}
 */
export function wall(box, face, guess = false) {
  const at = face === "left" ? box.x : box.x + box.width;
  const edge = line(at, box.y, at, box.y + box.height, "wall-face");
  return svg("g", { class: guess ? "wall guess" : "wall" }, hatching(box), edge);
}
