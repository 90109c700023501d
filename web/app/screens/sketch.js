/**
 * A sketch of a run that shows where the tape goes. The joists are evenly spaced: it is no survey.
 * @module screens/sketch
 */
import { svg } from "../ui.js";
import { joistName } from "../words.js";

/** @typedef {[number, string]} End joist and place: a tape line, an edge or a support */

const WIDTH = 358;
const HEIGHT = 190;
const LEFT = 58;
const RIGHT = WIDTH - 24;

/** Where the places lie, from the far edge at the top to the near edge at the bottom. */
const HEIGHTS = /** @type {Record<string, number>} */ ({
  far_edge: 24,
  far_support: 38,
  near_support: 158,
  near_edge: 172,
});
const FAR_LINE = 62;
const NEAR_LINE = 134;

/** @param {string} place @param {string[]} lines */
function yOf(place, lines) {
  if (place in HEIGHTS) return HEIGHTS[place];
  const at = Math.max(0, lines.indexOf(place));
  const step = lines.length > 1 ? (NEAR_LINE - FAR_LINE) / (lines.length - 1) : 0;
  return lines.length > 1 ? NEAR_LINE - at * step : (NEAR_LINE + FAR_LINE) / 2;
}

/** @param {number} joist @param {number} joists */
const xOf = (joist, joists) => LEFT + ((RIGHT - LEFT) * joist) / (joists + 1);

/** @param {{joists: number, lines: string[]}} run */
function backdrop({ joists, lines }) {
  const many = Array.from({ length: joists }, (_, index) => xOf(index + 1, joists));
  const broad = Math.min(6, (RIGHT - LEFT) / (joists + 1) / 2);
  return [
    svg("path", { d: `M${LEFT} 18V178M${RIGHT} 18V178`, class: "wall" }),
    svg("path", { d: `M${LEFT} 38H${RIGHT}M${LEFT} 158H${RIGHT}`, class: "support" }),
    ...many.map((x) => svg("rect", { x: x - broad / 2, y: 24, width: broad, height: 148, class: "joist" })),
    ...lines.map((line) => svg("path", { d: `M${LEFT} ${yOf(line, lines)}H${RIGHT}`, class: "line" })),
    ...lines.map((line) =>
      svg("text", { x: LEFT - 6, y: yOf(line, lines) + 4, "text-anchor": "end", class: "name" }, line),
    ),
  ];
}

/** @param {number} x @param {number} y @param {number} dx @param {number} dy */
function tick(x, y, dx, dy) {
  const length = Math.hypot(dx, dy) || 1;
  const nx = (-dy / length) * 7;
  const ny = (dx / length) * 7;
  return `M${x - nx} ${y - ny}L${x + nx} ${y + ny}`;
}

/** A level is read from a level line down to the joist's top, seen from the side. @param {number} joist */
function levelSketch(joist) {
  return [
    svg("path", { d: `M40 40H318`, class: "line" }),
    svg("text", { x: 44, y: 34, class: "name" }, "level line"),
    svg("rect", { x: 150, y: 110, width: 58, height: 70, class: "joist" }),
    svg("path", { d: "M150 110l58 70M208 110l-58 70", class: "line" }),
    svg("path", { d: `M179 40V110${tick(179, 40, 0, 70)}${tick(179, 110, 0, 70)}`, class: "asked" }),
    svg("text", { x: 214, y: 150, class: "name" }, joistName(joist)),
  ];
}

/**
 * The sketch with one dimension asked for.
 * @param {{joists: number, lines: string[]}} run
 * @param {string} kind the entry's kind
 * @param {[End, End]} ends
 * @param {string} label what it shows, for who cannot see it
 * @returns {SVGSVGElement}
 */
export function sketch(run, kind, ends, label) {
  const frame = { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img", "aria-label": label, class: "sketch" };
  if (kind === "level") return svg("svg", frame, ...levelSketch(ends[0][0]));
  // An overall ends at the wall after the last joist, which is no joist.
  const joists = run.joists || Math.max(...ends.map(([joist]) => joist), 1);
  const [[x1, y1], [x2, y2]] = ends.map(([joist, place]) => [xOf(joist, joists), yOf(place, run.lines)]);
  const named = [...new Set(ends.map(([joist]) => joist))].filter((joist) => joist > 0 && joist <= joists);
  const asked = `M${x1} ${y1}L${x2} ${y2}${tick(x1, y1, x2 - x1, y2 - y1)}${tick(x2, y2, x2 - x1, y2 - y1)}`;
  return svg(
    "svg",
    frame,
    ...backdrop({ joists, lines: run.lines }),
    ...named.map((joist) =>
      svg("text", { x: xOf(joist, joists), y: 16, "text-anchor": "middle", class: "name" }, joistName(joist)),
    ),
    svg("path", { d: asked, class: "asked" }),
  );
}
