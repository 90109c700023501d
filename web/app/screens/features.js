/**
 * Openings, obstacles and a deck already laid: rectangles set out from a joist's face and a tape line.
 * @module screens/features
 */
import { cautions } from "../cautions.js";
import { fixedJoists } from "../closure/faces.js";
import { entryFigure, entryWords } from "../entry-words.js";
import { choice, field, focusWrong, readWhole } from "../form.js";
import { at } from "../router.js";
import { el, fill, link, say } from "../ui.js";
import { untouched } from "../untouched.js";
import { bayName, joistName } from "../words.js";
import { setOutSketch } from "./set-out.js";

/** @typedef {import("../screens.js").Survey} Survey */
/** @typedef {import("../form.js").Field} Field */

const KINDS = /** @type {[string, string][]} */ ([
  ["opening", "opening, such as the hatch"],
  ["obstacle", "obstacle, such as a chimney or a tank"],
  ["laid", "deck already laid"],
]);

/** @param {any} run */
function fieldsOf({ lines }) {
  const mm = (/** @type {string} */ label, /** @type {string} */ hint) =>
    field(label, { hint, whole: true, unit: "mm" });
  return {
    joist: field("From joist", { hint: "0 is the start wall.", whole: true }),
    line: field("From the tape line", {
      options: lines.map((/** @type {string} */ line) => [line, `${line} line`]),
      value: lines[0],
    }),
    across: mm("Across, from that face to its near corner", "Along the tape line, towards the end wall."),
    along: mm(
      "Along, from the tape line to its near corner",
      "Along the joists, towards the far edge. A minus sign where it lies nearer.",
    ),
    width: mm("Its width", "Across the joists."),
    length: mm("Its length", "Along the joists."),
    note: field("Note", { hint: "May be left empty.", most: 10_000 }),
  };
}

/** A whole number that may be below nought. @param {Field} which @returns {number | undefined} */
function readSigned(which) {
  const found = /^([-−]?)\s*(\d{1,7})\s*(mm)?$/i.exec(which.text());
  which.wrong(found ? "" : "Give a length in whole millimetres.");
  return found ? Number(found[2]) * (found[1] ? -1 : 1) : undefined;
}

/**
 * @param {{run: any, fixed: number | undefined}} where
 * @param {ReturnType<typeof fieldsOf>} fields
 * @param {{feature: string, face: string}} picked
 * @returns {Record<string, unknown> | null} the entry's fields; null where one is wrong
 */
function read({ run, fixed }, { joist, line, across, along, width, length, note }, { feature, face }) {
  const last = fixed === undefined ? 10_000 : fixed + 1;
  const from = readWhole(joist, { must: true, most: last, what: "the number of a joist" });
  const numbers = {
    across: readSigned(across),
    along: readSigned(along),
    width: readWhole(width, { must: true, least: 1 }),
    length: readWhole(length, { must: true, least: 1 }),
  };
  if (from === undefined || Object.values(numbers).includes(undefined)) return null;
  const wall = from === 0 || (fixed !== undefined && from === last);
  const words = note.text() ? { note: note.text() } : {};
  return { run: run.id, feature, from: [from, wall ? "face" : face], line: line.text(), ...numbers, ...words };
}

/** @param {Survey} survey @param {any} run */
function listOf(survey, run) {
  const mine = survey.entries.filter(
    (entry) => entry.kind === "feature" && entry.run === run.id && survey.standing.has(entry.id),
  );
  if (!mine.length) return el("p", null, "None is entered yet.");
  return el("ul", null, ...mine.map((entry) => el("li", null, ...told(survey, run, entry))));
}

/** @param {Survey} survey @param {any} run @param {import("../book/types.js").Entry} entry */
function told(survey, run, entry) {
  const joists = fixedJoists(survey, run.id);
  const [name, ...where] = entryWords(entry, joists).split(", ");
  const known = KINDS.find(([key]) => key === entry.feature)?.[1].split(",")[0] ?? name;
  if (entry.width === undefined || !Array.isArray(entry.from)) {
    const rest = [where.join(", "), entryFigure(entry)].filter(Boolean).join(": ");
    return [el("strong", null, known), rest && `, ${rest}`];
  }
  const [joist, face] = entry.from;
  const from = `${joistName(joist, joists)} ${face === "face" ? "" : face}`;
  return [
    el("strong", null, known),
    `, from ${from} and the ${entry.line} line: ${entryFigure(entry)}. ${entry.note ?? ""}`,
  ];
}

/** @param {any} run @param {number | undefined} fixed how many joists it has, where that is fixed */
function setOutForm(run, fixed) {
  const fields = fieldsOf(run);
  const face = choice(
    "From which face of it",
    [
      ["left", "left, towards the start wall"],
      ["right", "right, towards the end wall"],
    ],
    "right",
  );
  const feature = choice("What it is", KINDS, "opening");
  const drawing = el("div");
  const caution = el("div");
  const form = el("form", { novalidate: true });
  const redraw = () => {
    fill(
      drawing,
      setOutSketch({
        feature: feature.value(),
        face: face.value(),
        joist: fields.joist.text() || "?",
        line: fields.line.text(),
        across: fields.across.text(),
        along: fields.along.text(),
        width: fields.width.text(),
        length: fields.length.text(),
      }),
    );
    fill(caution, feature.value() === "opening" && cautions("Before anyone cuts", "cut"));
  };
  const { joist, line, across, along, width, length, note } = fields;
  form.append(
    feature.node,
    caution,
    drawing,
    joist.node,
    face.node,
    ...[line, across, along, width, length, note].map((one) => one.node),
  );
  form.append(el("p", null, el("button", { type: "submit", class: "first" }, "Keep it")));
  form.addEventListener("input", redraw);
  redraw();
  return { form, read: () => read({ run, fixed }, fields, { feature: feature.value(), face: face.value() }) };
}

/**
 * Shows what is entered and the form for one more.
 * @type {import("../screens.js").Mount}
 */
export function mount(host, { survey, run: id }) {
  const run = survey.head.runs.find((one) => one.id === id);
  if (!run) throw new Error(`This survey has no run ${id}.`);
  const list = el("div");
  const place = el("div");
  const draw = untouched(() => fill(list, listOf(survey, run)));
  const renew = () => {
    const made = setOutForm(run, fixedJoists(survey, id));
    made.form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const fields = made.read();
      if (focusWrong(made.form) || !fields) return;
      const { saved } = survey.add("feature", fields);
      renew();
      // What was entered stands at the head.
      scrollTo(0, 0);
      await saved;
      say("It is stored on this phone.");
    });
    fill(place, made.form);
  };
  draw();
  renew();
  const hint = "A wrong one is struck out in the field book and entered again.";
  const joists = fixedJoists(survey, id);
  const bays = Array.from(
    { length: run.joists + 1 },
    (_, bay) => /** @type {[string, string]} */ ([`${bay}`, bayName(bay, joists)]),
  );
  const bay = field("A cable, pipe, notch, hole or insulation: in which bay?", { options: [["", "choose"], ...bays] });
  bay.input.addEventListener("change", () => (location.hash = at(survey.id, "walk", id, bay.text())));
  fill(
    host,
    el("h1", null, `Openings and what is there, run ${id}`),
    list,
    el("p", null, link(hint, at(survey.id, "book"), { class: "button slight" })),
    bay.node,
    el("h2", null, "Enter one"),
    place,
  );
  survey.addEventListener("change", draw);
  return { title: "Openings and what is there", unmount: () => survey.removeEventListener("change", draw) };
}
