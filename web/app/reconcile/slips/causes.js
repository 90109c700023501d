/**
 * How likely each slip of the hand turns the right number into the one written down.
 * @module reconcile/slips/causes
 */
import { round, steady } from "../rounding.js";

// A cause with this share of the likeliest one's chance is named beside it.
const NEARLY = 0.5,
  // How many numbers to either side of the middle are looked into at most.
  MOST_EITHER_WAY = 80;

/**
 * What is known of a reading beyond its number: the share of each cause among slips; the breadths
 * [mm] of the joists whose faces it names; whether the tape's hook or tip was at one end; what the
 * bays beside it read [mm]; the standard deviation of such a reading [mm].
 * @typedef {object} Setting
 * @property {Record<string, number>} shares
 * @property {number[]} breadths
 * @property {boolean} hooked
 * @property {number[]} neighbours
 * @property {number} spread
 */

/** @typedef {[string, number]} Chance a cause, and the chance that it makes this reading of that right one */

/**
 * Every cause that turns one number into another, with its chance.
 * @param {number} right [mm]
 * @param {number} written [mm]
 * @param {number} decimals how many the written number carries
 * @param {Setting} setting
 * @returns {Chance[]}
 */
export function chances(right, written, decimals, setting) {
  const text = (/** @type {number} */ value) => String(round(value * 10 ** decimals));
  const { shares } = setting,
    slip = written - right;
  return [
    ...digits(text(right), text(written), shares),
    ...misread(slip, setting),
    ...units(right, written, shares),
    ...faces(slip, setting),
    ...wrongBay(written, setting),
  ];
}

/** @param {string} text @param {number} i @returns {string} without one digit */
const without = (text, i) => text.slice(0, i) + text.slice(i + 1);

/**
 * Slips of typing: one digit wrong, two swapped, one lost, added or doubled.
 * @param {string} right
 * @param {string} written
 * @param {Record<string, number>} shares
 * @returns {Chance[]}
 */
function digits(right, written, shares) {
  const count = right.length,
    places = [...right].keys();
  if (count === written.length) {
    const [i, j, ...more] = [...places].filter((k) => right[k] !== written[k]);
    if (i !== undefined && j === undefined) return [["wrong_digit", shares.wrong_digit / (9 * count)]];
    const swapped = !more.length && j === i + 1 && right[i] === written[j] && right[j] === written[i];
    return swapped ? [["digits_swapped", shares.digits_swapped / (count - 1)]] : [];
  }
  if (count === written.length + 1) {
    const ways = [...places].filter((k) => without(right, k) === written).length;
    return ways ? [["digit_lost", (shares.digit_lost * ways) / count]] : [];
  }
  return count + 1 === written.length ? added(right, written, shares) : [];
}

/**
 * @param {string} right
 * @param {string} written
 * @param {Record<string, number>} shares
 * @returns {Chance[]}
 */
function added(right, written, shares) {
  const places = [...[...written].keys()].filter((k) => without(written, k) === right);
  if (!places.length) return [];
  /** @type {Chance[]} */
  const out = [["digit_added", (shares.digit_added * places.length) / (10 * written.length)]];
  if (places.some((k) => written[k] === written[k - 1] || written[k] === written[k + 1]))
    out.push(["digit_doubled", shares.digit_doubled / right.length]);
  return out;
}

/**
 * Whole marks of the tape misread, and a zero at 100 not taken off.
 * @param {number} slip [mm]
 * @param {Setting} setting
 * @returns {Chance[]}
 */
function misread(slip, { shares, hooked }) {
  /** @type {Chance[]} */
  const out = [];
  if (Math.abs(Math.abs(slip) - 100) < 0.5) out.push(["hundred_misread", shares.hundred_misread / 2]);
  if (Math.abs(Math.abs(slip) - 10) < 0.5) out.push(["ten_misread", shares.ten_misread / 2]);
  if (hooked && Math.abs(slip - 100) < 0.5) out.push(["hooked_at_100", shares.hooked_at_100]);
  return out;
}

/**
 * Another unit: centimetres, or the inches side of the tape.
 * @param {number} right [mm]
 * @param {number} written
 * @param {Record<string, number>} shares
 * @returns {Chance[]}
 */
function units(right, written, shares) {
  /** @type {Chance[]} */
  const out = [];
  if (Math.abs(right / 10 - written) <= 0.5) out.push(["centimetres", shares.centimetres]);
  if (Math.abs(right / 25.4 - written) <= 0.5) out.push(["inches", shares.inches]);
  return out;
}

/**
 * A joist's breadth too much or too little, which is also the wrong face of it.
 * @param {number} slip [mm]
 * @param {Setting} setting
 * @returns {Chance[]}
 */
function faces(slip, { shares, breadths, spread }) {
  const cause = slip > 0 ? "breadth_counted_twice" : "breadth_forgotten";
  return breadths.map((breadth) => [
    breadths.length === 1 ? "wrong_face" : cause,
    shares.wrong_face * (1 / (2 * breadths.length)) * bell(Math.abs(slip) - breadth, spread),
  ]);
}

/**
 * The neighbouring bay measured instead, whatever this one is.
 * @param {number} written [mm]
 * @param {Setting} setting
 * @returns {Chance[]}
 */
function wrongBay(written, { shares, neighbours, spread }) {
  if (!neighbours.length) return [];
  const each = shares.wrong_bay / neighbours.length;
  return [["wrong_bay", neighbours.reduce((sum, n) => sum + each * bell(written - n, spread * Math.SQRT2), 0)]];
}

/** The chance of a whole millimetre at a distance from the middle. @param {number} distance @param {number} sd */
const bell = (distance, sd) => Math.exp(-0.5 * (distance / sd) ** 2) / (sd * Math.sqrt(2 * Math.PI));

/**
 * The likeliest cause first, then those nearly as likely.
 * @param {Map<string, number>} named with the chance of each
 * @returns {string[]}
 */
export function likeliest(named) {
  const top = Math.max(...named.values());
  const near = [...named].map(([cause, chance]) => ({ cause, share: steady(chance / top) }));
  const found = near.filter(({ share }) => share >= NEARLY).sort((a, b) => b.share - a.share);
  return found.map(({ cause }) => cause);
}

/**
 * The readable numbers within reach of the middle, none below zero.
 * @param {number} middle [mm]
 * @param {number} reach [mm]
 * @param {number} decimals
 * @returns {number[]} [mm]
 */
export function grid(middle, reach, decimals) {
  const step = 10 ** -decimals;
  const half = Math.min(Math.ceil(reach / step), MOST_EITHER_WAY),
    centre = round(steady(middle / step));
  const from = Math.max(0, centre - half);
  return Array.from({ length: Math.max(0, centre + half + 1 - from) }, (_, i) => (from + i) * step);
}
