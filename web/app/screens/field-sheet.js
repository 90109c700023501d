/**
 * Types in what was written on the printed field sheet: its boxes in its order, by the keyboard alone.
 * Each reading is kept as its box is left, and what is half typed at every key, until it is one.
 * @module screens/field-sheet
 */
import { expectCheck, isFar } from "../checks-expect.js";
import { takenFor } from "../checks-list.js";
import { expect } from "../closure/expect.js";
import { isOpen } from "../closure/faces.js";
import { readLength } from "../closure/length.js";
import { loadPack, rule } from "../closure/pack.js";
import { questionable } from "../closure/question.js";
import { boxesOf } from "../field-sheet.js";
import { mark } from "../form.js";
import { at } from "../router.js";
import { button, el, fill, link, say } from "../ui.js";

/** @typedef {import("../field-sheet.js").Box} Box */
/** @typedef {import("../closure/types.js").Pack} Pack */
/** @typedef {import("../screens.js").Survey} Survey */
/** @typedef {Record<string, string>} Drafts what stands in a box and is no reading yet */
/** @typedef {{survey: Survey, run: any, pack: Pack, drafts: Drafts, hold: () => void}} Room */

/**
 * What looks wrong about a reading, in words; empty where nothing does.
 * @param {number} value [mm]
 * @param {Box} box
 * @param {Room} room
 * @param {string} [replaced] the id of the entry that it takes the place of, which has no say
 */
function doubtOf(value, box, { survey, run, pack }, replaced) {
  const standing = new Set([...survey.standing].filter((id) => id !== replaced));
  const others = { head: survey.head, entries: survey.entries, standing };
  if (box.step) return questionable(value, expect(others, run.id, box.step, pack), pack)?.say ?? "";
  const about = expectCheck(/** @type {any} */ (box), others, run.id, pack);
  return isFar(value, about, pack)
    ? `${value} is far from the ${Math.round(about ?? 0)} that would be about right.`
    : "";
}

/**
 * One box. A figure that looks wrong is taken at the second time of asking; another figure in a box
 * that has one strikes that out, as on paper.
 * @param {Box} box
 * @param {number} number
 * @param {Room} room
 */
function boxRow(box, number, room) {
  const { survey, run, pack, drafts, hold } = room;
  const name = `${box.group} ${box.words}`;
  const standing = survey.entries.filter((entry) => survey.standing.has(entry.id));
  let kept = takenFor(/** @type {any} */ (box), run.id, run.joists, standing).at(-1);
  let doubted = "";
  const id = `box${number}`;
  const error = el("span", { class: "wrong", id: `${id}e`, hidden: true });
  const input = el("input", { type: "text", id, class: "short", inputmode: "numeric", enterkeyhint: "next" });
  input.autocomplete = "off";
  input.setAttribute("aria-describedby", error.id);
  const tick = el("span", { class: "tick", "aria-hidden": "true" });
  const read = () => (kept ? String(kept.value) : "");
  const show = () => {
    const text = input.value.trim();
    drafts[name] = text === read() ? "" : text;
    tick.textContent = kept && !drafts[name] ? "✓" : "";
  };
  const typed = () => (show(), hold());
  const stand = () => {
    input.value = read();
    typed();
  };
  const wrong = (/** @type {string} */ why) => (mark(input, error, why), why === "");

  /** @param {boolean} entered by Enter, which alone answers a doubt @returns {boolean} true where one may go on */
  const keep = (entered) => {
    const text = input.value.trim();
    if (text === read()) return wrong("");
    if (!text) return (stand(), wrong("What was taken here is taken out in the field book. It stands again."));
    const { value, said, ask } = readLength(text, rule(pack, "closure.metres"));
    if (value === null) return wrong(said);
    const doubt = ask ? `${said}?` : doubtOf(value, box, room, kept?.id);
    if (doubt && !(entered && doubted === text)) {
      doubted = text;
      return wrong(`${doubt} Press Enter here once more if the sheet says so.`);
    }
    if (kept) survey.strike(kept.id, "typed in anew");
    const { entry, saved } = survey.add(box.kind, { run: run.id, ...box.fields, value, ...(said && { note: said }) });
    kept = entry;
    stand();
    void saved.then(() => say(`Box ${number}: ${value} saved`));
    return wrong("");
  };
  input.value = drafts[name] || read();
  show();
  if (drafts[name]) wrong("Not kept yet. Press Enter here.");
  input.addEventListener("input", typed);
  input.addEventListener("change", () => keep(false));
  const label = el("label", { for: id }, el("b", null, number), " ", box.words);
  return { node: el("li", null, label, tick, input, error), input, keep, empty: () => !kept || drafts[name] };
}

/**
 * The boxes under their headings; Enter goes from each to the next, and from the last to `end`.
 * @param {Room} room
 * @param {HTMLElement} end
 */
function sheet(room, end) {
  const boxes = boxesOf(room.run);
  const rows = boxes.map((box, index) => boxRow(box, index + 1, room));
  rows.forEach(({ input, keep }, index) => {
    const next = rows[index + 1]?.input;
    input.addEventListener("focus", () => input.select());
    input.addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      if (keep(true)) (next ?? end).focus();
    });
  });
  const groups = [...new Set(boxes.map(({ group }) => group))];
  const sections = groups.map((group) => {
    const own = rows.filter((_, index) => boxes[index].group === group);
    return el(
      "section",
      null,
      el("h2", null, group),
      el("ol", { class: "plain boxes" }, ...own.map(({ node }) => node)),
    );
  });
  const goOn = button("Go to the first empty box", () => (rows.find(({ empty }) => empty())?.input ?? end).focus());
  const paper = `/api/surveys/${room.survey.id}/sheets/field.pdf`;
  const print = link("The sheet to print", paper, { class: "button", target: "_blank" });
  return [el("p", { class: "row" }, goOn, print), ...sections];
}

/**
 * What must be settled before the boxes can be numbered.
 * @param {Room} room
 * @param {() => void} again
 */
function before({ survey, run }, again) {
  if (!run.joists || !run.lines.length)
    return [
      el("p", null, "A sheet is printed for a number of joists. Say how many this run has."),
      el("p", null, link("Runs and tape lines", at(survey.id, "runs"), { class: "button first" })),
    ];
  const settle = () => (survey.set(`/runs/${run.id}/ended`, true), again());
  return [
    el("p", null, `The end wall was not reached in the walk. ${run.joists} joists were found so far.`),
    el("p", null, button(`The sheet has ${run.joists} joists`, settle, { class: "first" })),
  ];
}

/**
 * Shows the sheet.
 * @type {import("../screens.js").Mount}
 */
export async function mount(host, { book, survey, run: id }) {
  const pack = await loadPack();
  const key = `sheet ${survey.id} ${id}`;
  /** @type {Drafts} */
  const drafts = (await book.kept(key)) ?? {};
  const hold = () => void book.keep(key, drafts).catch(() => undefined);
  const title = `Field sheet, run ${id}`;
  const end = link("See what adds up", at(survey.id, "closure", id), { class: "button first" });
  const draw = () => {
    const run = survey.head.runs.find((one) => one.id === id);
    if (!run) throw new Error(`This survey has no run ${id}.`);
    const room = { survey, run, pack, drafts, hold };
    const open = isOpen(survey, id) || !run.joists || !run.lines.length;
    const how =
      "Type what the paper says, box by box. Enter keeps the figure and goes on. An empty box is passed over.";
    fill(
      host,
      el("h1", { tabindex: "-1" }, title),
      ...(open ? before(room, draw) : [el("p", { class: "quiet" }, how), ...sheet(room, end), el("p", null, end)]),
    );
  };
  draw();
  return { title };
}
