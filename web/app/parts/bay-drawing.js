/**
 * The drawing of the one dimension now asked for: the timbers in section, true to scale, the
 * dimension between them, and a bar that grows to the same scale with what is typed.
 * @module parts/bay-drawing
 */
import { svg } from "../ui.js";
import { dimension } from "./dim.js";
import { line, section, wall } from "./timber.js";

/**
 * One side of a bay.
 * @typedef {object} Side
 * @property {string} name such as `J4`, `wall`
 * @property {boolean} wall
 * @property {number} breadth of a joist, read or usual [mm]
 */

/**
 * What is asked for.
 * @typedef {object} Asked
 * @property {"gap" | "running" | "breadth" | "depth" | "length"} what
 * @property {Side} left the side towards the start wall; for a size, the joist itself
 * @property {Side} right
 * @property {number} gap about how wide the bay is, for the scale [mm]
 * @property {number} depth of the joists, read or usual [mm]
 * @property {boolean} back true where a running reading is taken towards the start wall
 * @property {number} before how much of a running reading lies before this bay [mm]
 * @property {boolean} known true where the far side has been measured before
 */

/**
 * @typedef {object} BayDrawing
 * @property {SVGSVGElement} node
 * @property {(value: number | null) => void} type shows a length to scale [mm]
 */

/** @typedef {{width: number, height: number, em: number}} Size of the sheet and of its small type [px] */

/** The room for the names above the timbers [px]. @param {number} em */
const headOf = (em) => 1.5 * em;

/** Nothing is drawn larger than this [px per mm], so that a narrow bay still looks narrow. */
const LARGEST = 1.1;
const EDGE = 10;
const FOOT = 26;
const WALL = 34;
const BAR = 7;

/**
 * Where things lie: the scale, the timber's top and foot, the dimension line.
 * @param {Asked} asked
 * @param {Size} size
 */
function layout({ left, right, gap, depth }, { width, height, em }) {
  const sides = [left, right].map((side) => (side.wall ? 0 : side.breadth));
  const walls = [left, right].filter((side) => side.wall).length * WALL;
  const scale = Math.min(LARGEST, (width - 2 * EDGE - walls) / (gap + sides[0] + sides[1]));
  const head = headOf(em);
  const room = Math.max(20, height - head - FOOT);
  const tall = Math.min(depth * scale, room);
  // Where the sheet is taller than the timber, the drawing stands in its middle.
  const top = head + (room - tall) / 2;
  const start =
    (width - scale * gap) / 2 + ((left.wall ? WALL : scale * sides[0]) - (right.wall ? WALL : scale * sides[1])) / 2;
  return {
    scale,
    top,
    tall,
    cut: depth * scale > room,
    line: top + tall + 12,
    x1: start,
    x2: start + scale * gap,
    width,
    em,
  };
}

/** @typedef {ReturnType<typeof layout>} Layout */

/**
 * @param {Side} side
 * @param {"left" | "right"} which
 * @param {Layout} place
 * @param {boolean} guess
 * @returns {SVGElement[]}
 */
function drawSide({ name, wall: isWall, breadth }, which, { scale, top, tall, cut, x1, x2, width: sheet, em }, guess) {
  const width = isWall ? WALL : breadth * scale;
  const x = which === "left" ? x1 - width : x2;
  const box = { x, y: top, width, height: tall };
  const drawn = isWall ? wall(box, which === "left" ? "right" : "left", guess) : section(box, { guess, cut });
  // A name stays on the sheet, however large the type.
  const half = name.length * 0.42 * em;
  const middle = Math.min(Math.max(x + width / 2, half), sheet - half);
  return [drawn, svg("text", { x: middle, y: top - 5, "text-anchor": "middle", class: "name" }, name)];
}

/**
 * The sign that a bar goes on: a jagged gap across it.
 * @param {number} x
 * @param {number} y
 */
function goesOn(x, y) {
  const jagged = `M${x - 3} ${y - 12}l8 8l-10 8l8 8`;
  return svg(
    "g",
    null,
    svg("path", { d: jagged, class: "goes-on edge" }),
    svg("path", { d: jagged, class: "goes-on" }),
  );
}

/**
 * The bar from where the reading begins to where what is typed ends. A bar that would leave the
 * sheet ends in a break line at its edge, which is how a nought too many looks.
 * @param {Layout} place
 * @param {number} from where the bar begins [px]
 * @param {number} way 1 to the right, -1 to the left
 * @returns {{node: SVGGElement, show: (length: number) => void}} length in px
 */
function bar({ line: y, width }, from, way) {
  const node = svg("g", { class: "typed-bar" });
  const room = way > 0 ? width - 2 - from : from - 2;
  const show = (/** @type {number} */ length) => {
    const drawn = Math.max(0, Math.min(length, room));
    const shape = svg("rect", { x: way > 0 ? from : from - drawn, y: y - BAR / 2, width: drawn, height: BAR });
    const end = from + way * (drawn - 26);
    node.replaceChildren(shape, ...(length > room ? [goesOn(end, y)] : []));
  };
  return { node, show };
}

/**
 * Where the dimension runs: from where the tape's zero enters the sheet, from where this bay begins,
 * to the face asked for.
 * @param {Asked} asked
 * @param {Layout} place
 * @returns {{enter: number, begin: number, end: number, way: number}} [px]; `way` is -1 leftwards
 */
function spanOf({ what, back }, { x1, x2, width }) {
  if (what !== "running") return { enter: x1, begin: x1, end: x2, way: 1 };
  return back ? { enter: width, begin: x2, end: x1, way: -1 } : { enter: 0, begin: x1, end: x2, way: 1 };
}

/**
 * A running reading as it lies on the sheet: what was read before this bay is drawn short, on the
 * line's feed; what is new is drawn to scale.
 * @param {number} value [mm]
 * @param {number} before [mm]
 * @param {number} feed [px]
 * @param {number} scale [px per mm]
 * @returns {number} [px]
 */
function drawnLength(value, before, feed, scale) {
  return value < before ? (value / before) * feed : feed + (value - before) * scale;
}

/**
 * @param {Asked} asked
 * @param {Layout} place
 */
function drawBay(asked, place) {
  const { left, right, before, known } = asked;
  const { scale, top, tall, line: at } = place;
  const { enter, begin, end, way } = spanOf(asked, place);
  const shown = bar(place, enter, way);
  const nodes = [
    ...drawSide(left, "left", place, way < 0 && !known),
    ...drawSide(right, "right", place, way > 0 && !known),
    // A running reading comes from a zero off the sheet: its line runs to the edge.
    line(enter, at, begin, at, "feed"),
    dimension({ from: begin, to: end, at, reach: top + tall + 3, asked: true }),
    shown.node,
  ];
  const feed = Math.abs(begin - enter);
  return { nodes, type: (/** @type {number} */ value) => shown.show(drawnLength(value, before, feed, scale)) };
}

/**
 * The joist alone, its breadth or its depth asked for, and the line drawn on under the figure.
 * @param {Asked} asked
 * @param {Size} size
 */
function drawJoist({ what, left, depth }, { width, height, em }) {
  const breadth = what === "breadth";
  const head = headOf(em);
  const room = height - head - FOOT;
  const scale = Math.min(2 * LARGEST, breadth ? (width * 0.22) / left.breadth : room / depth);
  const [wide, tall] = [left.breadth * scale, Math.min(depth * scale, room)];
  const [x, top] = [width * 0.18 - wide / 2, head + (room - tall) / 2];
  const box = { x, y: top, width: wide, height: tall };
  const joist = section(box, { cut: depth * scale > room + 1 });
  const name = svg("text", { x: x + wide / 2, y: top - 5, "text-anchor": "middle", class: "name" }, left.name);
  const beyond = breadth ? width - EDGE - x - wide : 0;
  const at = top + tall + 12;
  const level = breadth
    ? dimension({ from: x, to: x + wide, at, reach: top + tall + 3, beyond, asked: true })
    : upright(box);
  const place = { scale, top, tall, cut: false, line: at, x1: x, x2: x, width, em };
  const shown = breadth ? bar(place, x, 1) : uprightBar(box, room + FOOT - 4);
  return { nodes: [joist, name, level, shown.node], type: (/** @type {number} */ value) => shown.show(value * scale) };
}

/**
 * The joist from the side, for a length along it.
 * @param {Asked} asked
 * @param {Size} size
 */
function drawLength({ left, depth }, { width, height, em }) {
  // A metre takes half the sheet: enough for a notch to be seen and for a split to fit.
  const scale = width / 2 / 1000;
  const tall = Math.min(depth * scale, 0.2 * height);
  const [x, at] = [EDGE * 2, height - FOOT + 12];
  const top = at - 12 - tall;
  const edges = [top, top + tall].map((y) => line(x, y, width - EDGE, y, "wall-face"));
  const name = svg("text", { x, y: top - 5, class: "name" }, left.name);
  const level = dimension({ from: x, to: width - EDGE, at, reach: top + tall + 3, asked: true });
  const place = { scale, top, tall, cut: false, line: at, x1: x, x2: x, width, em };
  const shown = bar(place, x, 1);
  return {
    nodes: [...edges, line(x, top, x, top + tall, "wall-face"), name, level, shown.node],
    type: (/** @type {number} */ value) => shown.show(value * scale),
  };
}

/** @param {import("./timber.js").Box} box */
function upright({ x, y, width, height }) {
  // Turned a quarter, so that its figure would be read from the right, as drawings have it.
  const turned = dimension({ from: -y - height, to: -y, at: x + width + 16, reach: x + width + 3, asked: true });
  turned.setAttribute("transform", "rotate(-90)");
  return turned;
}

/**
 * @param {import("./timber.js").Box} box
 * @param {number} room [px]
 */
function uprightBar({ x, y, width }, room) {
  const node = svg("g", { class: "typed-bar" });
  const show = (/** @type {number} */ length) => {
    const height = Math.max(0, Math.min(length, room));
    node.replaceChildren(svg("rect", { x: x + width + 16 - BAR / 2, y, width: BAR, height }));
  };
  return { node, show };
}

/**
 * @param {Asked} asked
 * @param {Size} size
 */
function draw(asked, size) {
  if (asked.what === "length") return drawLength(asked, size);
  if (asked.what === "breadth" || asked.what === "depth") return drawJoist(asked, size);
  return drawBay(asked, layout(asked, size));
}

/**
 * Draws what is asked for into a sheet of that size.
 * @param {Asked} asked
 * @param {Size} size
 * @returns {BayDrawing}
 */
export function bayDrawing(asked, size) {
  const { nodes, type } = draw(asked, size);
  const view = `0 0 ${size.width} ${size.height}`;
  const node = svg("svg", {
    class: "bay-drawing",
    viewBox: view,
    width: size.width,
    height: size.height,
    "aria-hidden": "true",
  });
  node.append(...nodes);
  return { node, type: (value) => type(value ?? 0) };
}
