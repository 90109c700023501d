/**
 * What landed elsewhere than planned, or was spoilt: asked of the course that is laid, and written as
 * the file of what is laid that the service plans on from.
 * @module screens/landed
 */
import { field, focusWrong, readWhole } from "../form.js";
import { button, el } from "../ui.js";

/**
 * What was noted of one course.
 * @typedef {object} Landed
 * @property {number} pieces how many of it are laid, from the start wall
 * @property {number} edge how far its leading edge lies beyond its place [mm]
 * @property {number} joint how far its first end joint lies towards the end wall of its place [mm]
 * @property {string[]} spoilt boards of no more use
 */

/** @typedef {Record<string, Landed>} Noted by deck and course */

/** @param {any} deck @param {any} step */
export const keyOf = (deck, step) =>
  `${deck.id} ${deck.pieces.find((/** @type {any} */ { id }) => id === step.pieces[0]).course}`;

/** @param {any} deck which way in y its courses follow each other */
const forth = (deck) => (deck.laid_from === "near" ? 1 : -1);

/** @param {any} deck @param {Set<string>} done @param {Noted} noted */
function deckFile(deck, done, noted) {
  /** @type {any[]} */
  const [pieces, courses] = [[], []];
  /** @type {string[]} */
  const spoilt = [];
  for (const course of deck.courses) {
    const told = noted[`${deck.id} ${course.index}`];
    const row = deck.pieces.filter((/** @type {any} */ one) => one.course === course.index);
    const laid = row.filter(
      (/** @type {any} */ one, /** @type {number} */ at) => one.laid || done.has(one.id) || (told && at < told.pieces),
    );
    laid.forEach((/** @type {any} */ { id, polygon }, /** @type {number} */ at) => {
      const right = Math.max(...polygon.map((/** @type {number[]} */ [x]) => x));
      pieces.push(at === 0 && told?.joint ? { id, right: right + told.joint } : { id });
    });
    if (!told) continue;
    spoilt.push(...told.spoilt);
    const lead = forth(deck) > 0 ? course.y1 : course.y0;
    if (told.edge && laid.length) courses.push({ course: course.index + 1, edge: lead + forth(deck) * told.edge });
  }
  return { id: deck.id, pieces, courses, spoilt: [...new Set(spoilt)] };
}

/**
 * The file of what is laid of a plan.
 * @param {any} plan
 * @param {string[]} done ids of decks and pieces laid, as `D1 1.1`
 * @param {Noted} noted
 */
export const laidFile = (plan, done, noted) => ({
  format: "baywalk.as-laid",
  version: 1,
  survey: plan.survey,
  decks: plan.decks.map((/** @type {any} */ deck) => {
    const mine = done.filter((one) => one.startsWith(`${deck.id} `)).map((one) => one.slice(deck.id.length + 1));
    return deckFile(deck, new Set(mine), noted);
  }),
});

/**
 * Asks how a course landed.
 * @param {any} deck
 * @param {any} step the step that lays it
 * @param {Landed | undefined} told what was noted before
 * @param {(landed: Landed) => void} take
 */
export function landedForm(deck, step, told, take) {
  const count = step.pieces.length;
  const off = (
    /** @type {string} */ label,
    /** @type {string} */ lies,
    /** @type {number} */ value,
    /** @type {[string, string]} */ [more, less],
  ) => ({
    by: field(label, { value: value ? String(Math.abs(value)) : "", unit: "mm", whole: true }),
    way: field(lies, {
      value: value < 0 ? "-" : "",
      options: [
        ["", more],
        ["-", less],
      ],
    }),
  });
  const pieces = field("Pieces of it that are laid", {
    value: String(told?.pieces ?? count),
    whole: true,
    hint: "Counted from the start wall.",
  });
  const edge = off("Its leading edge is off by", "The edge lies", told?.edge ?? 0, ["further out", "further in"]);
  const joint = off("Its first end joint is off by", "The joint lies", told?.joint ?? 0, [
    "towards the end wall",
    "towards the start wall",
  ]);
  const spoilt = field("Boards spoilt", {
    value: (told?.spoilt ?? []).join(", "),
    hint: "By their numbers, such as B4, B7.",
  });
  const known = new Set(deck.boards.map((/** @type {any} */ { id }) => id));
  const form = el("form", { novalidate: true });
  const read = () => {
    const figures = [edge, joint].map(({ by, way }) => {
      const value = readWhole(by, { most: 100 });
      return value === undefined ? value : (value ?? 0) * (way.text() ? -1 : 1);
    });
    const laid = readWhole(pieces, { most: count, must: true, what: "a whole number" });
    const names = spoilt
      .text()
      .toUpperCase()
      .split(/[\s,;]+/)
      .filter(Boolean);
    spoilt.wrong(names.every((name) => known.has(name)) ? "" : "Give numbers of boards of this deck.");
    if (focusWrong(form)) return;
    take({ pieces: laid ?? 0, edge: figures[0] ?? 0, joint: figures[1] ?? 0, spoilt: names });
  };
  form.append(
    ...[pieces, edge.by, edge.way, joint.by, joint.way, spoilt].map(({ node }) => node),
    el("p", null, button("Plan the rest from here", read)),
  );
  return el("details", null, el("summary", null, "It landed elsewhere, or a board is spoilt"), form);
}
