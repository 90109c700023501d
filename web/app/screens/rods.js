/**
 * The rods of a run, drawn as wide as the sheet, with what does not fit in brackets.
 * @module screens/rods
 */
import { rodDrawing } from "../parts/rod.js";
import { el, sheetWidth } from "../ui.js";
import { oddBays, rodOf, rodWords } from "./walk/rod-data.js";

/** @typedef {import("../closure/notices.js").Notice} Notice */
/** @typedef {import("../closure/types.js").Pack} Pack */
/** @typedef {import("../screens.js").Survey} Survey */

/** The small type beside a rod, in parts of the usual text. */
const SMALL = 0.75;

/**
 * One rod a tape line.
 * @param {Survey} survey
 * @param {string} run the run's id
 * @param {string[]} lines the tape lines to draw
 * @param {Notice[]} notices what does not add up in this run
 * @param {Pack} pack
 * @returns {HTMLElement[]}
 */
export function rods(survey, run, lines, notices, pack) {
  const usual = parseFloat(getComputedStyle(document.documentElement).fontSize);
  const em = SMALL * usual;
  const width = (sheetWidth() * usual) / 16;
  return lines.map((line) => {
    const own = notices.filter((one) => one.bay === undefined || one.line === line);
    const odd = oddBays(survey, own, line);
    const rod = rodOf(survey, run, { line, bay: -1 }, odd, pack);
    const drawing = rodDrawing(rod, { width, height: em * 4.2, em, words: rodWords(rod, line) });
    return el("figure", { class: "rods" }, el("figcaption", { class: "quiet" }, `${line} line`), drawing);
  });
}
