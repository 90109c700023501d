/**
 * How a length that was worked out is written on a screen: millimetres, or by choice feet, inches and
 * sixteenths, as on the printed sheets. What was read off the tape stays in millimetres.
 * @module lengths
 */
import { settings } from "./settings.js";

/** [mm]; exact, by the international agreement of 1959 (from memory). */
const INCH = 25.4;
const PARTS = 16;

/** @returns {boolean} true where feet and inches are chosen */
export const imperial = () => settings().units === "imperial";

/** @param {number} mm @returns {number} sixteenths of an inch */
const parts = (mm) => Math.round((Math.abs(mm) * PARTS) / INCH);

/** @param {number} sixteenths @returns {string} inches and the simplest fraction */
function inches(sixteenths) {
  const [whole, rest] = [Math.floor(sixteenths / PARTS), sixteenths % PARTS];
  if (!rest) return `${whole}"`;
  const common = [8, 4, 2, 1].find((one) => rest % one === 0) ?? 1;
  return `${whole ? `${whole}\u00a0` : ""}${rest / common}/${PARTS / common}"`;
}

/** @param {number} mm @returns {string} which no line's end parts */
function feet(mm) {
  const all = parts(mm);
  const whole = Math.floor(all / (12 * PARTS));
  const rest = inches(all % (12 * PARTS));
  return `${mm < 0 && all ? "-" : ""}${whole ? `${whole}'\u00a0` : ""}${rest}`;
}

/**
 * A length as it stands on a drawing or in a table.
 * @param {number} mm [mm]
 * @returns {string} such as `412`, or `1' 4 1/4"`
 */
export const length = (mm) => (imperial() ? feet(mm) : String(Math.round(mm)));

/**
 * A length with its unit.
 * @param {number | null} mm [mm]
 * @returns {string} such as `412 mm`, or `1' 4 1/4"`; `?` where it is not known
 */
export const measured = (mm) => (mm === null ? "?" : imperial() ? feet(mm) : `${Math.round(mm)} mm`);

/**
 * What a length is uncertain by, as it is written behind the length.
 * @param {number} sd one standard deviation [mm]; twice that is written
 * @returns {string} such as `± 2`
 */
export const spread = (sd) => `± ${imperial() ? inches(Math.max(1, parts(2 * sd))) : Math.max(1, Math.round(2 * sd))}`;

/**
 * A figure as it is written on a drawing: `412`, or `412 ± 1` where the uncertainty tells something.
 * @param {number | null | undefined} mm [mm]
 * @param {number | null} [sd] one standard deviation [mm]
 * @returns {string} `?` where it is not determined
 */
export function figure(mm, sd = null) {
  if (mm === null || mm === undefined) return "?";
  return sd === null ? length(mm) : `${length(mm)} ${spread(sd)}`;
}
