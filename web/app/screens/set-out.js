/**
 * The drawing that shows which four lengths set a rectangle out.
 * @module screens/set-out
 */
import { svg } from "../ui.js";

/**
 * @typedef {object} SetOut
 * @property {string} feature
 * @property {string} face `left` or `right`
 * @property {string} joist its number as typed
 * @property {string} line
 * @property {string} across figures as typed
 * @property {string} along
 * @property {string} width
 * @property {string} length
 */

/** Corner and size of the drawn rectangle, whatever the true figures: the drawing tells which is which. */
const BOX = { x: 168, y: 44, width: 130, height: 74 };
const JOIST = { x: 66, width: 14 };
const LINE = 176;

/** @param {number} x1 @param {number} y1 @param {number} x2 @param {number} y2 */
function dimension(x1, y1, x2, y2) {
  const slash = (/** @type {number} */ x, /** @type {number} */ y) => `M${x - 4} ${y + 4}l8-8`;
  return svg("path", { d: `M${x1} ${y1}L${x2} ${y2}${slash(x1, y1)}${slash(x2, y2)}`, class: "asked" });
}

/** @param {number} x @param {number} y @param {string} words */
function across(x, y, words) {
  return svg("text", { x, y, "text-anchor": "middle", class: "name" }, words);
}

/** @param {number} x @param {number} y @param {string} words */
function upright(x, y, words) {
  return svg("text", { transform: `translate(${x} ${y}) rotate(-90)`, "text-anchor": "middle", class: "name" }, words);
}

/** @param {string} name @param {string} figure */
const named = (name, figure) => (figure ? `${name} ${figure}` : name);

/** @param {SetOut} set */
function backdrop({ joist, line, feature }) {
  const { x, y, width, height } = BOX;
  const cross =
    feature === "opening" &&
    svg("path", { d: `M${x} ${y}l${width} ${height}M${x + width} ${y}l${-width} ${height}`, class: "line" });
  return [
    svg("rect", { x: JOIST.x, y: 10, width: JOIST.width, height: 190, class: "joist" }),
    svg(
      "text",
      { x: JOIST.x + 7, y: 216, "text-anchor": "middle", class: "name" },
      joist === "0" ? "wall" : `J${joist}`,
    ),
    svg("path", { d: `M20 ${LINE}H340`, class: "line" }),
    svg("text", { x: 336, y: LINE - 5, "text-anchor": "end", class: "name" }, `${line} line`),
    svg("rect", { x, y, width, height, class: "feature" }),
    cross,
  ];
}

/**
 * The drawing, with the figures as far as they are typed.
 * @param {SetOut} set
 * @returns {SVGSVGElement}
 */
export function setOutSketch(set) {
  const { x, y, width, height } = BOX;
  const face = set.face === "left" ? JOIST.x : JOIST.x + JOIST.width;
  const label = `A rectangle set out from the ${set.face} face of joist ${set.joist} and the ${set.line} line: across, along, width and length.`;
  return svg(
    "svg",
    { viewBox: "0 0 358 222", role: "img", "aria-label": label, class: "sketch" },
    ...backdrop(set),
    dimension(face, 138, x, 138),
    across((face + x) / 2, 133, named("across", set.across)),
    dimension(x + 20, LINE, x + 20, y + height),
    svg("text", { x: x + 28, y: (LINE + y + height) / 2 + 4, class: "name" }, named("along", set.along)),
    dimension(x, 32, x + width, 32),
    across(x + width / 2, 26, named("width", set.width)),
    dimension(x + width + 14, y + height, x + width + 14, y),
    upright(x + width + 30, y + height / 2, named("length", set.length)),
  );
}
