/**
 * The sheets of choices that the walk lays in place of the keys.
 * @module screens/walk/choices
 */
import { faceName } from "../../closure/faces.js";
import { at } from "../../router.js";
import { el } from "../../ui.js";
import { bayName } from "../../words.js";
import { REASONS } from "./details.js";
import { againKey, suspectSheet } from "./suspect.js";
import { lastUndone, putBack, told, writeUnreached } from "./write.js";

/** @typedef {import("../../closure/notices.js").Notice} Notice */
/** @typedef {import("../../judged.js").Judged} Judged */
/** @typedef {import("../../closure/question.js").Question} Question */
/** @typedef {import("../../closure/steps.js").Step} Step */
/** @typedef {import("../../closure/types.js").Entry} Entry */
/** @typedef {import("../../closure/types.js").Face} Face */
/** @typedef {import("./controller.js").Walk} Walk */
/** @typedef {import("./sheet.js").Choice} Choice */
/** @typedef {import("./sheet.js").Sheet} Sheet */

/**
 * Why a reading cannot be taken.
 * @param {Walk} walk
 * @param {Step} step
 * @returns {Sheet}
 */
export function reasonSheet(walk, step) {
  const choices = REASONS.map((reason) => ({
    words: reason,
    act: () => {
      walk.lay(null);
      const written = writeUnreached(walk.survey, walk.run, step, reason);
      walk.passed();
      walk.follow(written.saved, `Noted: ${reason.toLowerCase()}.`);
    },
  }));
  return { title: "Why can it not be read?", choices: [...choices, walk.backChoice()] };
}

/**
 * A reading that looks odd: one touch says which it is.
 * @param {Walk} walk
 * @param {Question} question
 * @param {number} value as typed [mm]
 * @param {(value: number) => void} take
 * @returns {Sheet}
 */
export function questionSheet(walk, { say, perhaps }, value, take) {
  const choose = (/** @type {number} */ chosen) => () => {
    walk.lay(null);
    take(chosen);
  };
  /** @type {Choice[]} */
  const choices = [{ words: `Yes, ${value}`, act: choose(value) }];
  if (perhaps !== null) choices.push({ words: `No, ${perhaps}`, act: choose(perhaps) });
  return { title: "Is that right?", text: say, choices: [...choices, walk.againChoice()] };
}

/**
 * Where the tape is hooked for running readings.
 * @param {Walk} walk
 * @param {Step} step the reading that waits for it
 * @returns {Sheet}
 */
export function zeroSheet(walk, step) {
  const { state } = walk;
  const back = state.isBack(step);
  const joist = back ? step.bay + 1 : step.bay;
  const isJoist = joist > 0 && (state.joists === undefined || joist <= state.joists);
  const wall = /** @type {Face} */ (back ? [(state.joists ?? 0) + 1, "face"] : [0, "face"]);
  const faces = /** @type {Face[]} */ ([
    ...(isJoist
      ? [
          [joist, "left"],
          [joist, "right"],
        ]
      : []),
    wall,
  ]);
  const choices = faces.map((face) => ({
    words: `${faceName(face, state.joists)[0].toUpperCase()}${faceName(face, state.joists).slice(1)}`,
    act: () => {
      state.hookAt(step.line, face);
      walk.lay(null);
      walk.say(`The tape's zero: ${faceName(face, state.joists)}.`);
    },
  }));
  const text = "Running readings are read from there, until you hook the tape anew.";
  /** @type {Choice} */
  const leave = { words: "Gap by gap", kind: "back", act: () => walk.work("out-and-back") };
  return { title: "Where is the tape's zero now?", text, choices: [...choices, step.hook ? walk.backChoice() : leave] };
}

/**
 * The sheet about a notice, as it fits: what all readings together say leaves more to do.
 * @param {Walk} walk
 * @param {Notice} notice
 * @returns {Sheet}
 */
export function aboutSheet(walk, notice) {
  const sheet = notice.code === "suspect" ? suspectSheet(walk, /** @type {Judged} */ (notice)) : null;
  if (!sheet) return noticeSheet(walk, notice);
  return { ...sheet, title: noticeTitle(walk, notice), choices: [...sheet.choices, ...onward(walk, notice)] };
}

/**
 * What every sheet about a notice ends with.
 * @param {Walk} walk
 * @param {Notice} notice
 * @returns {Choice[]}
 */
function onward(walk, notice) {
  const { notices } = walk;
  const next = notices[(placeOf(walk, notice) + 1) % notices.length];
  const others = notices.length > 1 ? [{ words: "The next one", act: () => walk.lay(aboutSheet(walk, next)) }] : [];
  return [...others, { words: "More", act: () => walk.lay(moreSheet(walk)) }, walk.backChoice()];
}

/** @param {Walk} walk @param {Notice} notice */
function noticeTitle(walk, notice) {
  const { length } = walk.notices;
  return length > 1 ? `Worth a second look: ${placeOf(walk, notice) + 1} of ${length}` : "Worth a second look";
}

/**
 * Which of the notices one is. They are made anew while it is read: it is known by its key.
 * @param {Walk} walk
 * @param {Notice} notice
 */
const placeOf = ({ notices }, { key }) =>
  Math.max(
    notices.findIndex((one) => one.key === key),
    0,
  );

/**
 * What does not add up, and which reading to take again.
 * @param {Walk} walk
 * @param {Notice} notice
 * @returns {Sheet}
 */
function noticeSheet(walk, notice) {
  const { survey, state, notices } = walk;
  const found = notice.readings.map((id) => survey.entries.find((entry) => entry.id === id));
  // With a way on to the next notice there is room for one reading less.
  const readings = /** @type {Entry[]} */ (found.filter(Boolean)).slice(0, notices.length > 1 ? 2 : 3);
  const again = readings.map((entry, index) => againKey(walk, entry, index === 0 ? "main" : "wide"));
  const leave = () => {
    state.keep({ left: [...state.kept.left, notice.key] });
    walk.lay(null);
  };
  const choices = [...again, { words: "It is so", act: leave }, ...onward(walk, notice)];
  return { title: noticeTitle(walk, notice), text: notice.say, choices };
}

/**
 * After a reading was taken again: whether the old one goes.
 * @param {Walk} walk
 * @param {Entry} old
 * @param {number} value the new reading [mm]
 * @returns {Sheet}
 */
export function againSheet(walk, old, value) {
  const strike = () => {
    walk.lay(null);
    walk.follow(walk.survey.strike(old.id, "taken again").saved, `${old.value} struck out.`);
  };
  return {
    title: `${value} now, ${old.value} before`,
    text: "Both are in the field book. Is the old one wrong?",
    choices: [
      { words: `Strike out ${old.value}`, kind: "main", act: strike },
      { words: "Keep both", act: () => walk.lay(null) },
    ],
  };
}

/**
 * A remark in the person's own words.
 * @param {Walk} walk
 * @returns {Sheet}
 */
export function remarkSheet(walk) {
  const bay = walk.state.bay();
  const name = bayName(bay, walk.state.joists);
  const body = el("textarea", { "aria-label": `Remark on ${name}`, maxlength: 10_000, autocapitalize: "sentences" });
  const save = () => {
    const text = body.value.trim();
    if (!text) return body.focus();
    walk.lay(null);
    walk.follow(walk.survey.add("remark", { run: walk.run, bay, text }).saved, "Remark noted.");
  };
  return {
    title: `Remark on ${name}`,
    body,
    choices: [{ words: "Save the remark", kind: "main", act: save }, walk.backChoice()],
  };
}

/** @param {Walk} walk @returns {Choice[]} the ways of working gap by gap */
function wayChoices(walk) {
  const { way } = walk.state;
  return [
    { words: "Out and back", chosen: way === "out-and-back", act: () => walk.work("out-and-back") },
    { words: "Both ends of each bay", chosen: way === "both-ends", act: () => walk.work("both-ends") },
  ];
}

/**
 * What is wanted less often.
 * @param {Walk} walk
 * @returns {Sheet}
 */
export function moreSheet(walk) {
  const { survey, run, book, state, go } = walk;
  const undone = lastUndone(survey, run, book.device);
  const restore = () => {
    if (!undone) return;
    walk.lay(null);
    walk.follow(Promise.all(putBack(survey, run, undone)), `Put back: ${told(survey, run, undone)}.`);
  };
  const step = state.step();
  const later = () => {
    if (step) state.aside.add(step.key);
    walk.passed();
    walk.lay(null);
  };
  const single = survey.head.runs.find(({ id }) => id === run)?.lines.length === 1;
  /** @type {Choice[]} */
  const choices = [...(single ? [] : wayChoices(walk))];
  if (step && !state.called.length) choices.push({ words: "Ask this one later", act: later });
  if (undone) choices.push({ words: `Put back ${undone.value ?? "the last"}`, act: restore });
  choices.push({ words: "Cross-checks", act: () => go(at(survey.id, "checks", run)) });
  choices.push({ words: "Leave the walk", act: () => go(at(survey.id)) });
  return { title: "More", choices: [...choices, walk.backChoice()] };
}

/**
 * Every dimension has been asked for.
 * @param {Walk} walk
 * @returns {Sheet}
 */
export function doneSheet(walk) {
  const { survey, run, go, state } = walk;
  const again = () => {
    state.aside.clear();
    walk.lay(null);
  };
  /** @type {Choice[]} */
  const choices = [{ words: "On to the cross-checks", kind: "main", act: () => go(at(survey.id, "checks", run)) }];
  const [notice] = walk.notices;
  if (notice) choices.push({ words: `${walk.notices.length} to check`, act: () => walk.lay(aboutSheet(walk, notice)) });
  if (state.aside.size) choices.push({ words: "Ask what was put off", act: again });
  choices.push({ words: "Undo the last", act: () => walk.undo() });
  choices.push(
    { words: "Photo", act: () => walk.photo() },
    { words: "Remark", act: () => walk.lay(remarkSheet(walk)) },
  );
  choices.push({ words: "Leave the walk", act: () => go(at(survey.id)) });
  const text = "An overall on each tape line and two diagonals let the survey check itself.";
  return { title: "This run is walked", name: "done", text, choices };
}
