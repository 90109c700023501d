/**
 * Reads a length as it was typed or as a laser sent it: with or without a unit, comma or point.
 * @module closure/length
 */

/** Millimetres in each unit that may be written. The inch is exact since 1959 (from memory). */
const UNITS = /** @type {Record<string, number>} */ ({
  mm: 1,
  cm: 10,
  m: 1000,
  in: 25.4,
  '"': 25.4,
  ft: 304.8,
  "'": 304.8,
});

/** The largest length a field book takes [mm]. */
const MOST = 1_000_000;

/**
 * @typedef {object} Read
 * @property {number | null} value whole millimetres; null where it is no length
 * @property {string} said what was done to it, or what is wrong; empty where nothing needs saying
 * @property {boolean} ask true where the unit had to be guessed, so the person is asked
 */

const NUMBER = String.raw`\d+(?:[.,]\d+)?|[.,]\d+`;
const ONE = new RegExp(`^(${NUMBER})\\s*(mm|cm|m|in|ft|"|')?$`);
const FEET = new RegExp(`^(${NUMBER})\\s*(?:'|ft)\\s*(${NUMBER})\\s*(?:"|in)?$`);

/** @param {string} text */
const number = (text) => Number(text.replace(",", "."));

/** @param {string} said @returns {Read} */
const wrong = (said) => ({ value: null, said, ask: false });

/**
 * @param {number} exact [mm]
 * @param {string} text
 * @param {boolean} [ask]
 * @returns {Read}
 */
function round(exact, text, ask = false) {
  const value = Math.round(exact);
  if (value > MOST) return wrong("That is longer than any room. Type it again.");
  const plain = /^\d+\s*(mm)?$/.test(text);
  return { value, said: plain ? "" : `${text} taken as ${value} mm`, ask };
}

/**
 * Reads a length.
 * @param {string} typed such as `353`, `353.4`, `0,353 m`, `35.3cm`, `1' 2"`
 * @param {number} metresBelow a number with decimals, without a unit and below this is taken for
 *   metres, and asked about [m]
 * @returns {Read}
 */
export function readLength(typed, metresBelow) {
  const text = typed.trim().toLowerCase();
  const feet = FEET.exec(text);
  if (feet) return round(number(feet[1]) * UNITS.ft + number(feet[2]) * UNITS.in, text);
  const found = ONE.exec(text);
  if (!found) return wrong(text ? `"${text}" is not a length. Type it again.` : "Type the reading first.");
  const [, digits, unit] = found;
  if (unit) return round(number(digits) * UNITS[unit], text);
  const metres = /[.,]/.test(digits) && number(digits) < metresBelow;
  return metres ? round(number(digits) * UNITS.m, text, true) : round(number(digits), text);
}
