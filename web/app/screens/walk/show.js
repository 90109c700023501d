/**
 * Puts on the screen what the walk has come to.
 * @module screens/walk/show
 */
import { runOf } from "../../closure/faces.js";
import { joistName } from "../../words.js";
import { lastLike } from "./acts.js";
import { askedOf, askWords, noteDrawing } from "./ask.js";
import { noteWords } from "./noting.js";
import { oddBays, rodOf } from "./rod-data.js";
import { lastWritten } from "./write.js";

/** @typedef {import("./controller.js").Walk} Walk */

/**
 * Shows the rod, the dimension asked for and its drawing.
 * @param {Walk} walk
 */
export function showStep(walk) {
  const { survey, run, state, view, pack, notices } = walk;
  const step = state.step();
  state.asked = step && !state.noting && survey.id + run + step.key;
  const at = { line: step?.line ?? runOf(survey, run).lines[0], bay: step?.kind === "across" ? step.bay : -1 };
  const odd = oddBays(survey, notices, at.line);
  view.showRod(rodOf(survey, run, at, odd, pack), at.line);
  if (state.noting) {
    const { where, what, draw } = noteWords(walk);
    return view.showAsk({ where, what }, noteDrawing(survey, run, state.joist(), draw, pack));
  }
  if (!step) return view.showAsk({ where: "Every bay is walked", what: "" }, null);
  view.showAsk(askWords(step, state.joists), askedOf(survey, run, step, pack));
}

/**
 * Shows on the keys what each does now.
 * @param {Walk} walk
 */
export function showKeys(walk) {
  const { survey, run, state, hands, book, notices } = walk;
  const last = lastLike(walk);
  const running = Boolean(state.step()?.hook) && !state.called.length;
  hands.show({
    middle: running ? "Hook anew" : last === null ? "Same" : `Same ${last}`,
    middleOff: !running && last === null,
    size: `${joistName(state.joist())} size`,
    undoOff: lastWritten(survey, run, book.device).length === 0,
    more: notices.length ? `${notices.length} to check` : "More",
    end: state.atEnd() ? "Not the wall" : "End wall",
    running: state.way === "running",
  });
}
