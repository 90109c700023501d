/**
 * The setting-out rod: one tape line drawn as a straight lath, true to scale, with a mark at every
 * face and the figures beside the marks. What is data here is in mm; what is drawn is in px.
 * @module parts/rod
 */
import { svg } from "../ui.js";
import { breakLine, hatching, line } from "./timber.js";

/**
 * A joist on the rod.
 * @typedef {object} RodJoist
 * @property {string} name such as `J4`
 * @property {number} left its left face, from the rod's zero [mm]
 * @property {number} right its right face [mm]
 * @property {boolean} [guess] true where its place is only expected: drawn open, in a broken line
 * @property {boolean} [odd] true where it is irregular: marked by a hatch
 */

/**
 * A figure below the rod.
 * @typedef {object} RodFigure
 * @property {number} from [mm]
 * @property {number} to [mm]
 * @property {string} text
 * @property {boolean} [asked] true for the bay now asked for: bracketed in the accent
 * @property {boolean} [odd] true where something does not fit: bracketed, in ink
 */

/**
 * @typedef {object} Rod
 * @property {RodJoist[]} joists
 * @property {RodFigure[]} figures
 * @property {number} length from the start wall's face to the rod's end [mm]
 * @property {boolean} [open] true where the rod goes on: its end is a break line, not a wall
 */

/**
 * Where a rod is drawn.
 * @typedef {object} RodPlace
 * @property {number} x the zero [px]
 * @property {number} y the lath's upper edge [px]
 * @property {number} scale [px per mm]
 * @property {number} thick the lath [px]
 * @property {number} em the height of the small type [px]
 */

/** About the width of a figure or capital of the small type, in parts of its height. */
const GLYPH = 0.62;

/**
 * Keeps the words that fit beside each other; those listed first are kept first.
 * @template {{at: number, text: string}} T
 * @param {T[]} words `at` is the middle of each [px]
 * @param {number} em [px]
 * @returns {T[]}
 */
export function fitting(words, em) {
  const half = (/** @type {T} */ { text }) => (text.length * GLYPH * em) / 2 + em * 0.15;
  /** @type {T[]} */
  const kept = [];
  for (const word of words) {
    if (kept.every((other) => Math.abs(other.at - word.at) >= half(other) + half(word))) kept.push(word);
  }
  return kept;
}

/**
 * @param {RodJoist} joist
 * @param {RodPlace} place
 * @returns {SVGElement}
 */
function mark({ left, right, guess, odd }, { x, y, scale, thick }) {
  const width = Math.max(2, (right - left) * scale);
  const box = { x: x + left * scale, y, width, height: thick };
  const shape = svg("rect", { ...box, class: guess ? "mark guess" : "mark" });
  return svg("g", null, shape, odd && hatching({ ...box, x: box.x - 4, width: width + 8 }, 4));
}

/** @param {Rod} rod @param {RodPlace} place @returns {SVGElement[]} */
function lath({ length, open }, { x, y, scale, thick }) {
  const end = x + length * scale;
  const edges = svg("path", { d: `M${x} ${y}H${end}M${x} ${y + thick}H${end}`, class: "lath" });
  const start = line(x, y - 3, x, y + thick + 3, "end");
  // A break line stands upright here, so it is drawn level and turned.
  const turned = svg(
    "g",
    { transform: `translate(${end} ${y + thick / 2}) rotate(90)` },
    breakLine(-thick / 2, thick / 2, 0),
  );
  return [edges, start, open ? turned : line(end, y - 3, end, y + thick + 3, "end")];
}

/** @param {Rod} rod @param {RodPlace} place @returns {SVGElement[]} */
function names({ joists }, { x, y, scale, em }) {
  const words = joists.map(({ name, left, right }) => ({ at: x + ((left + right) / 2) * scale, text: name }));
  // The newest joist's name matters most, then the first, then what fits between.
  return fitting(words.reverse(), em).map(({ at, text }) =>
    svg("text", { x: at, y: y - em * 0.35, "text-anchor": "middle", class: "small" }, text),
  );
}

/** @param {Rod} rod @param {RodPlace} place @returns {SVGElement[]} */
function figures({ figures: all }, { x, y, scale, thick, em }) {
  const weight = (/** @type {RodFigure} */ { asked, odd }) => (asked ? 2 : odd ? 1 : 0);
  const words = all
    .map((figure) => ({ ...figure, at: x + ((figure.from + figure.to) / 2) * scale }))
    .reverse()
    .sort((one, other) => weight(other) - weight(one));
  const foot = y + thick;
  const brackets = words
    .filter(({ asked, odd }) => asked || odd)
    .map(({ from, to, asked }) => {
      const [a, b] = [x + from * scale, x + to * scale];
      return svg("path", { d: `M${a} ${foot + 2}v4H${b}v-4`, class: asked ? "bracket asked" : "bracket" });
    });
  const texts = fitting(words, em).map(({ at, text, asked }) =>
    svg(
      "text",
      { x: at, y: foot + em * 1.15 + 5, "text-anchor": "middle", class: asked ? "small asked" : "small" },
      text,
    ),
  );
  return [...brackets, ...texts];
}

/**
 * A rod as a group, to be placed in a larger drawing. Its scale is true: a length of L mm is
 * L × scale px long, and a joist is as wide as it is, though never thinner than a mark can be.
 * @param {Rod} rod
 * @param {RodPlace} place
 * @returns {SVGGElement}
 */
function rodGroup(rod, place) {
  const marks = rod.joists.map((joist) => mark(joist, place));
  return svg("g", { class: "rod" }, ...lath(rod, place), ...marks, ...names(rod, place), ...figures(rod, place));
}

/**
 * A rod as a drawing of its own, as long as the sheet is wide.
 * @param {Rod} rod
 * @param {{width: number, height: number, em: number, words?: string}} sheet [px]; `words` say to a
 *   screen reader what it shows
 * @returns {SVGSVGElement}
 */
export function rodDrawing(rod, { width, height, em, words = "" }) {
  const side = em * 0.9;
  const thick = Math.max(10, height - 2.9 * em);
  const scale = (width - 2 * side) / Math.max(rod.length, 1);
  const node = svg("svg", {
    class: "rod-sheet",
    viewBox: `0 0 ${width} ${height}`,
    width,
    height,
    role: "img",
    "aria-label": words,
  });
  node.append(rodGroup(rod, { x: side, y: em * 1.25, scale, thick, em }));
  return node;
}
