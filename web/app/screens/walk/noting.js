/**
 * Notes what is on a joist or in a bay, one question at a time, with the same keys and echo.
 * @module screens/walk/noting
 */
import { bayName, joistName } from "../../words.js";
import { DETAILS } from "./details.js";

/** @typedef {import("./controller.js").Walk} Walk */
/** @typedef {import("./details.js").Detail} Detail */
/** @typedef {import("./details.js").Question} Question */
/** @typedef {import("./state.js").Noting} Noting */
/** @typedef {import("./sheet.js").Sheet} Sheet */

/**
 * The sheet that asks what is here.
 * @param {Walk} walk
 * @returns {Sheet}
 */
export function hereSheet(walk) {
  const { state } = walk;
  const [joist, bay] = [joistName(state.joist(), state.joists), bayName(state.bay(), state.joists)];
  const choices = DETAILS.map((detail) => ({
    words: detail.on === "joist" ? `${detail.words} on ${joist}` : `${detail.words} in ${bay}`,
    act: () => beginNote(walk, detail),
  }));
  return { title: "What is here", choices: [...choices, walk.backChoice()] };
}

/**
 * @param {Walk} walk
 * @param {Detail} detail
 */
function beginNote(walk, detail) {
  const place = detail.on === "joist" ? { joist: walk.state.joist() } : { bay: walk.state.bay() };
  walk.state.noting = { detail, fields: { feature: detail.feature, ...place, ...lineOf(walk, detail) }, at: 0 };
  showNote(walk);
}

/** @param {Walk} walk @param {Detail} detail the tape line that "along" is counted from */
function lineOf({ state }, { questions }) {
  const line = state.step()?.line;
  return line && questions.some(({ field }) => field === "along") ? { line } : {};
}

/** @param {Noting} noting @returns {Question} */
const questionOf = ({ detail, at }) => detail.questions[at];

/**
 * Shows the question a note has come to.
 * @param {Walk} walk
 */
function showNote(walk) {
  const noting = /** @type {Noting} */ (walk.state.noting);
  const { choices, say } = questionOf(noting);
  if (!choices) return walk.lay(null);
  const list = choices.map(({ value, words }) => ({ words, act: () => answerNote(walk, value) }));
  const title = `${noting.detail.words}: ${say.toLowerCase()}`;
  walk.lay({ title, choices: [...list, { words: "Leave it", kind: "back", act: () => dropNote(walk) }] });
}

/**
 * Takes the answer to the question, and goes on to the next or writes the note.
 * @param {Walk} walk
 * @param {string | number | null} value a length in mm; null passes the question over
 */
export function answerNote(walk, value) {
  const noting = /** @type {Noting} */ (walk.state.noting);
  if (value !== null) noting.fields[questionOf(noting).field] = value;
  noting.at += 1;
  if (noting.at < noting.detail.questions.length) return showNote(walk);
  walk.state.noting = null;
  walk.lay(null);
  const written = walk.survey.add("feature", { run: walk.run, ...noting.fields });
  const caution = noting.detail.caution ? ` ${noting.detail.caution}` : "";
  walk.follow(written.saved, `${noting.detail.words} noted.${caution}`);
}

/**
 * Leaves the note unwritten.
 * @param {Walk} walk
 */
export function dropNote(walk) {
  walk.state.noting = null;
  walk.lay(null);
}

/**
 * What the note asks, in words and as a drawing.
 * @param {Walk} walk
 * @returns {{where: string, what: string, draw: "depth" | "length"}}
 */
export function noteWords({ state }) {
  const noting = /** @type {Noting} */ (state.noting);
  const { joist, bay } = noting.fields;
  const place =
    noting.detail.on === "joist" ? joistName(Number(joist), state.joists) : bayName(Number(bay), state.joists);
  const { say, draw = "length" } = questionOf(noting);
  return { where: `${noting.detail.words}, ${place}`, what: say, draw };
}
