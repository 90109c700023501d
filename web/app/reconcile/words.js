/**
 * Short words for places and lengths, the same in every sentence.
 * @module reconcile/words
 */
import { round, steady } from "./rounding.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Face} Face */

/**
 * "J4", or "start wall" and "end wall" outside the run.
 * @param {number} number
 * @param {number} joists
 * @returns {string}
 */
export function joist(number, joists) {
  if (number <= 0) return "start wall";
  return number > joists ? "end wall" : `J${number}`;
}

/**
 * A bay by its joists: "J4–J5", "wall–J1", "J14–wall".
 * @param {number} number
 * @param {number} joists
 * @returns {string}
 */
export const bay = (number, joists) =>
  `${number === 0 ? "wall" : `J${number}`}–${number === joists ? "wall" : `J${number + 1}`}`;

/**
 * A length as it is said: whole, without a unit.
 * @param {number} length [mm]
 * @returns {string}
 */
export const millimetres = (length) => String(round(steady(length)));

/**
 * A number in as few figures as it needs.
 * @param {number} number
 * @param {number} [figures] at most
 * @returns {string}
 */
export function general(number, figures = 6) {
  const [mantissa, exponent] = number.toExponential(figures - 1).split("e");
  const power = Number(exponent);
  if (power >= -4 && power < figures) return String(Number(number.toPrecision(figures)));
  return `${Number(mantissa)}e${power < 0 ? "-" : "+"}${String(Math.abs(power)).padStart(2, "0")}`;
}

/**
 * A place along a joist in words: "near support", "far edge", a line's own name.
 * @param {string} name
 * @returns {string}
 */
export const place = (name) => name.replaceAll("_", " ");

/**
 * What a reading measured, in the fewest words.
 * @param {Entry} entry
 * @param {number} joists
 * @returns {string}
 */
export function reading(entry, joists) {
  const { kind, from, to, line } = entry;
  if (kind === "across") return `${across(from, to, joists)}, ${line} line`;
  if (kind === "along") return `${joist(entry.joist, joists)} from ${place(from)} to ${place(to)}`;
  if (kind === "diagonal") {
    const [a, b] = [from, to].map(([j, l]) => `${joist(j, joists)} ${l}`);
    return `the diagonal ${a} to ${b}`;
  }
  return `the ${kind} of ${joist(entry.joist, joists)}`;
}

/** @param {Face} from @param {Face} to @param {number} joists */
function across(from, to, joists) {
  const [[a, left], [b, right]] = from[0] <= to[0] ? [from, to] : [to, from];
  const is = (/** @type {string} */ face, /** @type {string} */ side) => face === side || face === "face";
  if (b === a + 1 && is(left, "right") && is(right, "left")) return bay(a, joists);
  if (a === 0 && b > joists) return "wall to wall";
  if (b === a + 1 && left === "centre" && right === "centre") return `centres ${bay(a, joists)}`;
  return `${end(a, left, joists)} to ${end(b, right, joists)}`;
}

/** @param {number} number @param {string} face @param {number} joists */
function end(number, face, joists) {
  const name = joist(number, joists);
  return number === 0 || number === joists + 1 ? name : `${name} ${face}`;
}
