/**
 * The questions about one run of joists, for a new survey and for a run added later.
 * @module run-form
 */
import { choice, field, readWhole } from "./form.js";
import { el } from "./ui.js";

/** @typedef {import("./form.js").Field} Field */

/**
 * A run as the survey's head carries it.
 * @typedef {object} RunHead
 * @property {string} id
 * @property {string} title
 * @property {number} joists
 * @property {string[]} lines
 * @property {{breadth?: number, depth?: number, grade?: string}} member [mm]
 * @property {string} [start] which wall one starts at
 * @property {string} [direction] which way the joists run
 */

/** Strength classes of EN 338 met in floors and ceilings; what is stamped on the timber is what counts. */
const GRADES = ["C14", "C16", "C18", "C24", "C27"];

const GRADE_OPTIONS = /** @type {[string, string][]} */ ([["", "not known"], ...GRADES.map((grade) => [grade, grade])]);

/**
 * The next free letter for a run: A, B, … Z, then R27 and on.
 * @param {string[]} taken the runs' ids
 * @returns {string}
 */
export function nextRunId(taken) {
  const letters = [..."ABCDEFGHIJKLMNOPQRSTUVWXYZ"];
  const free = letters.find((letter) => !taken.includes(letter));
  if (free) return free;
  let number = taken.length + 1;
  while (taken.includes(`R${number}`)) number += 1;
  return `R${number}`;
}

/** Check boxes for the tape lines, in the order in which they lie. */
function lineBoxes() {
  const boxes = ["near", "middle", "far"].map((line) =>
    el("input", { type: "checkbox", value: line, checked: line !== "middle" }),
  );
  const labels = boxes.map((box) => el("label", { class: "choice" }, box, `${box.value} line`));
  const error = el("span", { class: "wrong", hidden: true, role: "alert" });
  const node = el(
    "fieldset",
    null,
    el("legend", null, "Tape lines"),
    el(
      "span",
      { class: "hint" },
      "Lines across the joists along which you read the tape. Two tell whether the joists run true.",
    ),
    error,
    ...labels,
  );
  return { node, boxes, error };
}

/** @param {ReturnType<typeof lineBoxes>} lines @returns {string[] | undefined} */
function readLines({ boxes, error }) {
  const chosen = boxes.filter((box) => box.checked).map((box) => box.value);
  error.textContent = chosen.length ? "" : "Choose at least one tape line.";
  error.hidden = chosen.length > 0;
  boxes.forEach((box) =>
    chosen.length ? box.removeAttribute("aria-invalid") : box.setAttribute("aria-invalid", "true"),
  );
  return chosen.length ? chosen : undefined;
}

function runFields() {
  return {
    title: field("What this run is called", { hint: "Such as: over the bedroom. May be left empty.", most: 200 }),
    start: field("The wall you start at", {
      hint: "Such as: the chimney wall. The joists run parallel to it.",
      most: 200,
    }),
    direction: field("Which way the joists run", {
      hint: "Such as: from the front of the house to the back.",
      most: 200,
    }),
    breadth: field("Usual breadth", {
      hint: "The thin side of the timber, measured. It may be left empty.",
      whole: true,
      unit: "mm",
    }),
    depth: field("Usual depth", { hint: "The tall side. It may be left empty.", whole: true, unit: "mm" }),
    grade: field("Grade", { hint: "Only if it is stamped on the timber.", options: GRADE_OPTIONS }),
    joists: field("How many joists", { hint: "Leave it empty if you do not know. It grows as you walk.", whole: true }),
  };
}

/** @param {ReturnType<typeof runFields>} fields */
function readMember({ breadth, depth, grade }) {
  const sizes = { breadth: readWhole(breadth, { least: 1 }), depth: readWhole(depth, { least: 1 }) };
  if (sizes.breadth === undefined || sizes.depth === undefined) return undefined;
  const member = { ...sizes, grade: grade.text() || null };
  return Object.fromEntries(Object.entries(member).filter(([, value]) => value !== null));
}

/** @param {Record<string, string>} texts */
const filled = (texts) => Object.fromEntries(Object.entries(texts).filter(([, text]) => text !== ""));

/**
 * The form of one run.
 * @param {string} id the run's id
 * @returns {{id: string, node: HTMLElement, read: () => RunHead | null}} `read` gives null, and says why beside
 *   the field, where something is wrong
 */
export function runForm(id) {
  const fields = runFields();
  const lines = lineBoxes();
  const { title, start, direction, breadth, depth, grade, joists } = fields;
  const node = el(
    "section",
    { class: "run-form" },
    el("h2", null, `Run ${id}`),
    ...[title, start, direction].map((one) => one.node),
    lines.node,
    ...[breadth, depth, grade, joists].map((one) => one.node),
  );
  const read = () => {
    const parts = {
      lines: readLines(lines),
      member: readMember(fields),
      joists: readWhole(joists, { most: 10_000, what: "a whole number" }),
    };
    if (Object.values(parts).includes(undefined)) return null;
    const texts = filled({ start: start.text(), direction: direction.text() });
    return /** @type {RunHead} */ ({
      id,
      title: title.text() || `Run ${id}`,
      ...parts,
      joists: parts.joists ?? 0,
      ...texts,
    });
  };
  return { id, node, read };
}

/**
 * The question about the tape.
 * @returns {{node: HTMLElement, read: () => {class?: string}}}
 */
export function tapeForm() {
  const picked = choice(
    "Class of the tape",
    [
      ["", "not marked, or not known"],
      ["I", "I"],
      ["II", "II"],
      ["III", "III"],
    ],
    "",
    { hint: "Look for I, II or III near the start of the tape. Class II is assumed where none is named." },
  );
  return { node: picked.node, read: () => (picked.value() ? { class: picked.value() } : {}) };
}
