/**
 * The as-built drawn true to scale: a rod for each tape line, the joists running between them.
 * @module screens/asbuilt-drawing
 */
import { figure, imperial } from "../lengths.js";
import { sheetWidth, svg } from "../ui.js";
import { joistName } from "../words.js";

/** @typedef {import("./asbuilt-plan.js").Plan} Plan */
/** @typedef {import("./asbuilt-plan.js").PlanBay} PlanBay */
/** @typedef {import("./asbuilt-plan.js").Point} Point */
/** @typedef {(point: Point) => Point} Fit from mm to the drawing's own units */

/** Margins in drawing units, one to a CSS pixel at the usual text size. */
const SIDE = 14;
const TOP = 42;
const BOTTOM = 34;
/** The least room for a figure: across, standing on its side; and between two lines, in mm and in inches. */
const LEAST_BAY = 16;
const LEAST_LINES = [160, 265];

/**
 * The scale: the whole run across the sheet where its figures have room, else wider.
 * @param {Plan} plan
 * @param {number} sheet how wide the sheet is, in the drawing's own units
 * @returns {{k: number, width: number, height: number, fit: Fit}}
 */
function frame({ box, bays, rods }, sheet) {
  const across = box.x1 - box.x0;
  const up = box.y1 - box.y0;
  const least = Math.min(...bays.map(({ centres }) => centres ?? Infinity));
  const ys = rods.map(({ from }) => from[1]);
  const apart = rods.length > 1 ? (Math.max(...ys) - Math.min(...ys)) / (rods.length - 1) : up;
  const k = Math.max(
    (sheet - 2 * SIDE) / across,
    Math.min(LEAST_BAY / least, 0.25),
    LEAST_LINES[Number(imperial())] / Math.max(apart, 300),
  );
  const fit = (/** @type {Point} */ [x, y]) =>
    /** @type {Point} */ ([round(SIDE + (x - box.x0) * k), round(TOP + (box.y1 - y) * k)]);
  return { k, width: Math.ceil(across * k + 2 * SIDE), height: Math.ceil(up * k + TOP + BOTTOM), fit };
}

/** @param {number} value */
const round = (value) => Math.round(value * 100) / 100;

/** @param {Point[]} points @param {Fit} fit */
const path = (points, fit) => `M${points.map((point) => fit(point).join(" ")).join("L")}Z`;

/** Patterns by which areas are told apart without colour. */
function patterns() {
  const lines = (/** @type {string} */ id, /** @type {number} */ step, /** @type {string} */ d) =>
    svg(
      "pattern",
      { id, width: step, height: step, patternUnits: "userSpaceOnUse" },
      svg("path", { d, class: "hatch" }),
    );
  return svg(
    "defs",
    null,
    lines("hatch-odd", 7, "M-1 1l2-2M0 7l7-7M6 8l2-2"),
    lines("hatch-wall", 5, "M0 0l5 5M-1 4l2 2M4-1l2 2"),
    lines("hatch-board", 6, "M0 0h6"),
  );
}

/**
 * Text standing on its side, read from the right, as on a drawing.
 * @param {Point} at
 * @param {string} words
 * @param {string} anchor `start` runs up from the point, `end` runs up to it
 * @param {string} name
 */
function upright([x, y], words, anchor, name) {
  return svg(
    "text",
    { transform: `translate(${x} ${y}) rotate(-90)`, dy: "0.35em", "text-anchor": anchor, class: name },
    words,
  );
}

/** @param {number} off */
const oddWord = (off) => (off > 0 ? "wide" : off < 0 ? "narrow" : "");

/**
 * The bays that are wide, or narrow, along both of two lines: they take the word once, in the middle,
 * where nothing lies in them that has a name there.
 * @param {Plan} plan
 * @returns {Map<number, PlanBay[]>} the bay's two parts, by its number
 */
function oddAlong({ bays, rods, features }) {
  const parts = new Map(bays.map(({ bay }) => [bay, bays.filter((one) => one.bay === bay)]));
  const ends = features.map(({ polygon }) => polygon.map(([x]) => x));
  const free = (/** @type {number} */ at) => ends.every((xs) => Math.min(...xs) > at || Math.max(...xs) < at);
  const whole = [...parts].filter(
    ([, both]) => both.length === 2 && both[0].off * both[1].off > 0 && both.every(({ mid }) => free(mid[0])),
  );
  return new Map(rods.length === 2 ? whole : []);
}

/** @param {PlanBay[]} both @param {Fit} fit */
function wordBetween([one, other], fit) {
  const [a, b] = [fit(one.mid), fit(other.mid)];
  return upright([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2], oddWord(one.off), "middle", "fig odd");
}

/**
 * One bay's figure beside its rod; what is irregular is hatched and told in a word, what is doubtful
 * stands in brackets with a question mark.
 * @param {PlanBay} bay
 * @param {{below: boolean, worded: boolean}} how `below` where its figures lie below its rod; `worded` where the bay has its word already
 * @param {Fit} fit
 */
function bayMarks({ mid, centres, gap, off, doubtful }, { below, worded }, fit) {
  const [x, y] = fit(mid);
  const side = below ? 1 : -1;
  const shown = figure(centres ?? gap);
  const word = worded ? "" : oddWord(off);
  const words = `${doubtful ? `[${shown} ?]` : shown} ${word}`.trim();
  const name = doubtful ? "fig doubtful" : off ? "fig odd" : "fig";
  return upright([x, y + side * 12], words, below ? "end" : "start", name);
}

/** @param {Plan["rods"][number]} rod @param {Fit} fit */
function rodNode({ line, from, to, faces }, fit) {
  const [a, b] = [fit(from), fit(to)];
  const ticks = faces.map((face) => fit(face)).map(([x, y]) => `M${x} ${y - 5}v10`);
  const lath = `M${a[0]} ${a[1] - 5}L${b[0]} ${b[1] - 5}v10L${a[0]} ${a[1] + 5}Z`;
  return svg(
    "g",
    { "data-line": line },
    svg("path", { d: lath, class: "lath" }),
    svg("path", { d: ticks.join(""), class: "tick" }),
  );
}

/**
 * The whole length of a tape line, as a dimension: thin line, ticks at its ends, the figure above it.
 * @param {Plan["rods"][number]} rod
 * @param {number} y where the dimension line lies
 * @param {Fit} fit
 */
function overall({ line, from, to, overall: length, sd }, y, fit) {
  const [a, b] = [fit(from)[0], fit(to)[0]];
  const lines = `M${a} ${y}H${b}M${a - 4} ${y + 4}l8-8M${b - 4} ${y + 4}l8-8`;
  const words = `${line} line ${figure(length, sd)}`;
  return svg(
    "g",
    null,
    svg("path", { d: lines, class: "dim" }),
    svg("text", { x: (a + b) / 2, y: y - 5, "text-anchor": "middle", class: "fig" }, words),
  );
}

/** @param {Plan["walls"][number]} wall @param {Fit} fit */
function wallNode({ index, from, to }, fit) {
  const out = index === 0 ? -9 : 9;
  const [a, b] = [fit(from), fit(to)];
  const body = `M${a[0]} ${a[1]}L${b[0]} ${b[1]}h${out}L${a[0] + out} ${a[1]}Z`;
  return svg(
    "g",
    null,
    svg("path", { d: body, fill: "url(#hatch-wall)" }),
    svg("path", { d: `M${a.join(" ")}L${b.join(" ")}`, class: "wall" }),
  );
}

/** An opening carries crossed lines, an obstacle a hatch, a laid deck its boards. @param {Plan["features"][number]} one @param {Fit} fit */
function featureNode({ feature, polygon }, fit) {
  const [a, b, c, d] = polygon.map(fit);
  const cross =
    feature === "opening" &&
    svg("path", { d: `M${a.join(" ")}L${c.join(" ")}M${b.join(" ")}L${d.join(" ")}`, class: "dim" });
  const fill = { obstacle: "url(#hatch-wall)", laid: "url(#hatch-board)" }[feature] ?? "none";
  const word = feature === "laid" ? "deck laid" : feature;
  const middle = { x: (a[0] + c[0]) / 2, y: (a[1] + c[1]) / 2 };
  return svg(
    "g",
    null,
    svg("path", { d: path(polygon, fit), class: "feature", fill }),
    cross,
    svg("text", { ...middle, dy: "0.35em", "text-anchor": "middle", class: "fig" }, word),
  );
}

/** @param {Plan} plan @param {number} k */
function joistEvery({ bays }, k) {
  const widths = bays
    .map(({ centres }) => (centres ?? Infinity) * k)
    .filter(Number.isFinite)
    .sort((a, b) => a - b);
  return (widths[Math.floor(widths.length / 2)] ?? 30) < 23 ? 2 : 1;
}

/** @param {Plan["joists"][number]} joist @param {Fit} fit @param {boolean} named */
function joistNode({ index, strips, sure }, fit, named) {
  const corners = strips[strips.length - 1];
  const top = fit([(corners[2][0] + corners[3][0]) / 2, corners[2][1]]);
  const name =
    named && svg("text", { x: top[0], y: TOP - 26, "text-anchor": "middle", class: "name" }, joistName(index));
  return svg(
    "g",
    null,
    svg("path", { d: strips.map((one) => path(one, fit)).join(""), class: sure ? "joist" : "joist unsure" }),
    name,
  );
}

/**
 * The drawing of one run.
 * @param {Plan} plan
 * @param {string} label what the drawing shows, for who cannot see it
 * @returns {SVGSVGElement}
 */
export function drawPlan(plan, label) {
  const { k, width, height, fit } = frame(plan, sheetWidth());
  const every = joistEvery(plan, k);
  const lone = plan.rods.length < 2;
  const both = oddAlong(plan);
  const odd = plan.bays
    .filter(({ off }) => off)
    .map(({ area }) => svg("path", { d: path(area, fit), fill: "url(#hatch-odd)" }));
  const [first, final] = [plan.rods[0], plan.rods[plan.rods.length - 1]];
  return svg(
    "svg",
    {
      viewBox: `0 0 ${width} ${height}`,
      role: "img",
      "aria-label": label,
      class: "plan",
      style: { width: `${width / 16}rem`, "max-width": "none" },
    },
    patterns(),
    ...odd,
    ...plan.walls.map((wall) => wallNode(wall, fit)),
    ...plan.joists.map((joist) => joistNode(joist, fit, joist.index % every === 0)),
    ...plan.features.map((one) => featureNode(one, fit)),
    plan.outline && svg("path", { d: path(plan.outline, fit), class: "edge" }),
    ...plan.rods.map((rod) => rodNode(rod, fit)),
    ...plan.bays.map((bay) =>
      bayMarks(bay, { below: !lone && plan.below.includes(bay.line), worded: both.has(bay.bay) }, fit),
    ),
    ...[...both.values()].map((parts) => wordBetween(parts, fit)),
    first && overall(first, height - 10, fit),
    !lone && overall(final, TOP - 7, fit),
  );
}
