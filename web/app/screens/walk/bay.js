/**
 * Opens the walk at one bay, as the label on its joist asks.
 * @module screens/walk/bay
 */
import { readingsOf, steps } from "../../closure/steps.js";
import { tally } from "../../closure/tally.js";
import { bayName } from "../../words.js";
import { askWords } from "./ask.js";
import { remarkSheet } from "./choices.js";
import { hereSheet } from "./noting.js";
import { againKey } from "./suspect.js";

/** @typedef {import("../../closure/steps.js").Step} Step */
/** @typedef {import("./controller.js").Walk} Walk */
/** @typedef {import("./sheet.js").Choice} Choice */

/**
 * Opens the walk at what is still to be read in a bay; where all is read, at its readings.
 * @param {Walk} walk
 * @param {number} bay as the address has it: it need not be a bay of this run
 */
export function openBay(walk, bay) {
  const { survey, run, state } = walk;
  const own = steps(survey, run, state.way).filter((step) => step.bay === bay);
  state.first = bay;
  const all = own.length > 0 && state.bareStep()?.bay !== bay;
  // What is drawn above the sheet is then this bay, wherever the walk itself has come to.
  if (all) {
    call(walk, own[0]);
    state.called[0].look = true;
  }
  walk.show();
  if (!own.length) walk.say("This run has no such bay.");
  if (!all) return;
  walk.lay({
    title: `${bayName(bay, state.joists)} is read`,
    text: "Take a reading again, or go on.",
    choices: [
      ...own.map((step) => choice(walk, step)),
      { words: "Photo", act: () => walk.photo() },
      { words: "Remark", act: () => walk.lay(remarkSheet(walk)) },
      { words: "What is here", act: () => walk.lay(hereSheet(walk)) },
      { words: "Go on with the walk", kind: "back", act: () => walk.lay(null) },
    ],
  });
}

/** @param {Walk} walk @param {Step} step @returns {import("../../closure/types.js").Entry | undefined} its last reading */
const read = ({ survey, run }, step) => readingsOf(tally(survey, run), step).at(-1);

/** @param {Walk} walk @param {Step} step asked for next, in place of what was read for it */
function call(walk, step) {
  const entry = read(walk, step);
  if (entry) walk.state.callAgain(entry);
  else walk.state.called = [{ step }];
}

/** @param {Walk} walk @param {Step} step @returns {Choice} what could not be reached then may be now */
function choice(walk, step) {
  const entry = read(walk, step);
  if (entry) return againKey(walk, entry, "wide");
  const { where, what } = askWords(step, walk.state.joists);
  const act = () => {
    call(walk, step);
    walk.lay(null);
  };
  return { words: `Read ${where}: ${what}`, act };
}
