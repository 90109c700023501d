/**
 * The runs and tape lines of a survey: adding one, and changing what was set out at the start.
 * @module screens/runs
 */
import { fixedJoists } from "../closure/faces.js";
import { ask, field, focusWrong, readWhole } from "../form.js";
import { fromNear, parted } from "../lines.js";
import { at } from "../router.js";
import { nextRunId, runForm } from "../run-form.js";
import { button, el, facts, fill, link, say } from "../ui.js";
import { untouched } from "../untouched.js";
import { count } from "../words.js";

/** @typedef {import("../screens.js").Survey} Survey */

/** @param {Survey} survey @param {any} run */
async function addLine(survey, run) {
  const name = field("Name of the tape line", {
    hint: "Such as: middle. It lies across the joists like the others.",
    most: 40,
  });
  const fits = () => {
    const text = name.text();
    name.wrong(
      text === "" ? "Give the line a name." : run.lines.includes(text) ? "This run has a line of that name." : "",
    );
    return text !== "" && !run.lines.includes(text);
  };
  if (!(await ask(`Another tape line in run ${run.id}`, [name.node], "Add the line", { fits }))) return;
  await survey.set(`/runs/${escaped(run.id)}/lines`, fromNear([...run.lines, name.text()])).saved;
  say("The tape line is added.");
}

/** A name as one step of a JSON Pointer (RFC 6901). @param {string} name */
const escaped = (name) => name.replace(/~/g, "~0").replace(/\//g, "~1");

/** Check boxes for where the joists lap. @param {any} run */
function lapBoxes({ lines, laps }) {
  /** @type {string[][]} */
  const pairs = lines.slice(1).map((/** @type {string} */ line, /** @type {number} */ i) => [lines[i], line]);
  const boxes = pairs.map((pair) => el("input", { type: "checkbox", checked: parted(pair, laps).length > 1 }));
  const labels = pairs.map(([one, other], i) => el("label", { class: "choice" }, boxes[i], `${one} and ${other} line`));
  const node = el(
    "fieldset",
    { hidden: !pairs.length },
    el("legend", null, "The joists lap between"),
    el(
      "span",
      { class: "hint" },
      "Over a beam or a spine wall each goes over to another beside it. Draw a line on either side, clear of the lap, and one more beyond.",
    ),
    ...labels,
  );
  return { node, read: () => pairs.filter((_, i) => boxes[i].checked) };
}

/** @param {Survey} survey @param {any} run */
async function change(survey, run) {
  const fixed = fixedJoists(survey, run.id);
  const size = (/** @type {string} */ label, /** @type {number | undefined} */ value) =>
    field(label, { whole: true, unit: "mm", value: value === undefined ? "" : String(value) });
  const fields = { breadth: size("Usual breadth", run.member?.breadth), depth: size("Usual depth", run.member?.depth) };
  const joists = field("How many joists", {
    whole: true,
    value: fixed === undefined ? "" : String(fixed),
    hint: "Empty leaves it open.",
  });
  const laps = lapBoxes(run);
  /** @type {Record<string, number | null | undefined>} */
  let read = {};
  const fits = () => {
    read = {
      breadth: readWhole(fields.breadth, { least: 1 }),
      depth: readWhole(fields.depth, { least: 1 }),
      joists: readWhole(joists, { most: 10_000, what: "a whole number" }),
    };
    return !Object.values(read).includes(undefined);
  };
  const body = [fields.breadth.node, fields.depth.node, joists.node, laps.node];
  if (!(await ask(`Run ${run.id}`, body, "Keep it", { fits }))) return;
  for (const [path, value, old] of [...changes(run, read), ["laps", laps.read(), run.laps ?? []]])
    if (String(value) !== String(old)) survey.set(`/runs/${escaped(run.id)}/${path}`, value);
  say("Kept.");
}

/** @param {any} run @param {Record<string, any>} read @returns {[string, any, any][]} path, new, old */
function changes(run, { breadth, depth, joists }) {
  const sizes = /** @type {[string, any, any][]} */ ([
    ["member/breadth", breadth, run.member?.breadth],
    ["member/depth", depth, run.member?.depth],
  ]).filter(([, value]) => value !== null);
  // Without a number the run grows in the walk again, from the joists that are there.
  const fixed = joists
    ? [
        ["joists", joists, run.joists],
        ["ended", true, run.ended],
      ]
    : [["ended", false, run.ended]];
  return [...sizes, .../** @type {[string, any, any][]} */ (fixed)];
}

/** @param {Survey} survey @param {any} run */
function section(survey, run) {
  const { breadth, depth, grade } = run.member ?? {};
  const fixed = fixedJoists(survey, run.id);
  const known = /** @type {[string, string][]} */ ([
    ["Joists", fixed === undefined ? `${run.joists} so far, grows as you walk` : String(fixed)],
    ["Tape lines", parted(run.lines, run.laps).join(" · lap · ").replaceAll(",", ", ")],
    ["Usual timber", breadth && depth ? `${breadth} × ${depth} ${grade ?? ""}` : "not given"],
    ["Starts at", run.start || "not given"],
    ["Joists run", run.direction || "not given"],
  ]);
  return el(
    "section",
    null,
    el("h2", null, `Run ${run.id}: ${run.title}`),
    facts(known),
    el(
      "div",
      { class: "row" },
      button("Change", () => void change(survey, run), { "aria-label": `Change run ${run.id}` }),
      button("Add a tape line", () => void addLine(survey, run), { "aria-label": `Add a tape line to run ${run.id}` }),
      link("Walk it", at(survey.id, "walk", run.id), { class: "button" }),
    ),
  );
}

/** @param {Survey} survey @param {() => void} done */
function adder(survey, done) {
  const made = runForm(nextRunId(survey.head.runs.map((run) => run.id)));
  const form = el(
    "form",
    { novalidate: true },
    made.node,
    el("p", null, el("button", { type: "submit", class: "first" }, "Add this run")),
  );
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const run = made.read();
    if (focusWrong(form) || !run) return;
    await survey.set(`/runs/${escaped(run.id)}`, run).saved;
    say(`Run ${run.id} is added.`);
    done();
  });
  return el("details", null, el("summary", null, "Add another run"), form);
}

/**
 * Shows the runs, and again as they change.
 * @type {import("../screens.js").Mount}
 */
export function mount(host, { survey }) {
  const list = el("div");
  const add = el("div");
  const tally = el("p", { class: "quiet" });
  const draw = untouched(() => {
    tally.textContent = `${count(survey.head.runs.length, "run")}. A change is an entry of the field book, like a reading. Nothing is overwritten.`;
    fill(list, ...survey.head.runs.map((run) => section(survey, run)));
  });
  const renew = () => fill(add, adder(survey, renew));
  draw();
  renew();
  fill(host, el("h1", null, "Runs and tape lines"), tally, list, add);
  survey.addEventListener("change", draw);
  return { title: "Runs and tape lines", unmount: () => survey.removeEventListener("change", draw) };
}
