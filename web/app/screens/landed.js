/**
 * Asks what landed elsewhere than planned, came out of size or was spoilt, of the course that is laid.
 * @module screens/landed
 */
import { field, focusWrong, readWhole } from "../form.js";
import { length } from "../lengths.js";
import { button, el } from "../ui.js";

/** @typedef {import("../laid.js").Landed} Landed */

/**
 * How far something is off, and which way.
 * @param {string} label
 * @param {[string, string]} ways what more is, and what less is
 * @param {number | undefined} value [mm]
 */
function off(label, [more, less], value) {
  const way = el("select", { "aria-label": `${label}: which way` }, el("option", null, more), el("option", null, less));
  way.selectedIndex = Number((value ?? 0) < 0);
  const text = value === undefined ? "" : String(Math.abs(value));
  const by = field(`${label}: off by, mm`, { value: text, unit: way, whole: true });
  const read = () => {
    const found = readWhole(by, { most: 100 });
    return typeof found === "number" ? found * (way.selectedIndex ? -1 : 1) : undefined;
  };
  return { node: by.node, read };
}

/**
 * The figures that were given.
 * @param {[string, ReturnType<typeof off>][]} all
 * @returns {Record<string, number>}
 */
const figures = (all) => {
  const read = all.map(([id, one]) => [id, one.read()]);
  return Object.fromEntries(read.filter(([, value]) => value !== undefined));
};

/**
 * Asks how a course landed.
 * @param {import("../laid.js").Task} task the step that lays it
 * @param {Landed | undefined} told what was noted before
 * @param {(landed: Landed) => void} take
 */
export function landedForm({ deck, step }, told, take) {
  const count = step.pieces.length;
  const laid = { value: String(told?.pieces ?? count), whole: true, hint: "Counted from the start wall." };
  const pieces = field("Pieces of it that are laid", laid);
  const edge = off("Its leading edge", ["further out", "further in"], told?.edge);
  const own = deck.pieces.filter((/** @type {any} */ { id }) => step.pieces.includes(id));
  const sizes = own.map((/** @type {any} */ { id, length: long }) => [
    id,
    off(`Piece ${id}, ${length(long)} as planned`, ["too long", "too short"], told?.sizes[id]),
  ]);
  const joints = deck.joints
    .filter((/** @type {any} */ { left }) => step.pieces.includes(left))
    .map((/** @type {any} */ { left, right }) => [
      left,
      off(`Joint ${left} to ${right}`, ["to the end wall", "to the start wall"], told?.joints[left]),
    ]);
  const hint = "Such as B4, B7.";
  const spoilt = field("Boards spoilt", { value: (told?.spoilt ?? []).join(", "), hint });
  const form = el("form", { novalidate: true });
  const read = () => {
    const landed = { edge: edge.read(), joints: figures(joints), sizes: figures(sizes) };
    const names =
      spoilt
        .text()
        .toUpperCase()
        .match(/[^\s,;]+/g) ?? [];
    const some = readWhole(pieces, { most: count, must: true, what: "a whole number" });
    const known = names.every((name) => deck.boards.some((/** @type {any} */ { id }) => id === name));
    spoilt.wrong(known ? "" : "Give numbers of boards of this deck.");
    if (!focusWrong(form)) take({ pieces: some ?? 0, ...landed, spoilt: names });
  };
  form.append(
    pieces.node,
    edge.node,
    el("p", { class: "hint" }, "Left empty, it follows from the one before."),
    ...[...joints, ...sizes].map(([, { node }]) => node),
    spoilt.node,
    el("p", null, button("Plan the rest from here", read)),
  );
  return el("details", null, el("summary", null, "It landed elsewhere, or a board is off its size or spoilt"), form);
}
