/**
 * The field book: every entry in order. Nothing is deleted; a wrong reading is struck out with a
 * reason and stays to be seen.
 * @module screens/fieldbook
 */
import { fixedJoists } from "../closure/faces.js";
import { entryFigure, entryWords, isReading } from "../entry-words.js";
import { alike, ask, choice, field } from "../form.js";
import { button, el, fill, say } from "../ui.js";
import { untouched } from "../untouched.js";
import { count, moment } from "../words.js";

/** @typedef {import("../screens.js").Survey} Survey */
/** @typedef {Record<string, any>} Entry */

/** Why one is struck out. */
const REASONS = [
  "read wrongly",
  "read from the wrong face",
  "the wrong bay or joist",
  "the tape had slipped",
  "taken again",
];

/** Only these can be struck; a strike or a restore is itself the record. @param {Entry} entry */
const strikeable = (entry) => entry.kind !== "strike" && entry.kind !== "restore";

/**
 * Where an entry is: only here in memory, stored here, or on the service as well.
 * @param {Survey} survey
 * @param {Entry} entry
 */
function whereabouts(survey, entry) {
  if (survey.unsaved.has(entry.id)) return "not stored yet";
  if (survey.refused.has(entry.id)) return "refused by the service";
  return survey.sent.has(entry.id) ? "sent" : "still to go";
}

/**
 * Asks why, and strikes the entry out.
 * @param {Survey} survey
 * @param {Entry} entry
 * @param {number | undefined} joists
 */
async function strikeOut(survey, entry, joists) {
  const picked = choice("Why", [...alike(REASONS), ["", "another reason"]], REASONS[0]);
  const other = field("The reason in your own words", { most: 200, hint: "Needed only for another reason." });
  const reason = () => picked.value() || other.text();
  const fits = () => {
    other.wrong(reason() ? "" : "Say why, in a word or two.");
    return reason() !== "";
  };
  const body = [el("p", null, `${entryWords(entry, joists)} ${entryFigure(entry)}`), picked.node, other.node];
  if (!(await ask("Strike this out?", body, "Strike it out", { fits }))) return;
  say("Struck out.");
  await survey.strike(entry.id, reason()).saved;
}

/**
 * @param {Survey} survey
 * @param {Entry} entry
 * @param {string} words
 */
function touch(survey, entry, words) {
  const joists = joistsOf(survey, entry);
  if (!strikeable(entry)) return null;
  if (!survey.struck.has(entry.id)) {
    return button("Strike out", () => void strikeOut(survey, entry, joists), {
      class: "slight",
      "aria-label": `Strike out: ${words}`,
    });
  }
  return button("Take it back in", () => void survey.restore(entry.id), {
    class: "slight",
    "aria-label": `Take it back in: ${words}`,
  });
}

/** The number of joists of the entry's run, where it is fixed. @param {Survey} survey @param {Entry} entry */
function joistsOf(survey, entry) {
  const known = survey.head.runs.some((run) => run.id === entry.run);
  return known ? fixedJoists(survey, entry.run) : undefined;
}

/** @param {Survey} survey @param {Entry} entry */
function picture(survey, entry) {
  const image = el("img", { alt: entry.caption || "Photo from the loft", class: "photo", hidden: true });
  const missing = el("span", { class: "quiet" }, "The picture is not on this phone.");
  void survey.photoUrl(entry.sha256).then((url) => {
    if (!url) return;
    image.src = url;
    image.hidden = false;
    missing.remove();
  });
  return el("span", { class: "picture" }, image, missing);
}

/** A strike or a restore, told by what it was about. @param {Survey} survey @param {Entry} entry */
function told(survey, entry) {
  const joists = joistsOf(survey, entry);
  const target = strikeable(entry) ? null : survey.entries.find((one) => one.id === entry.target);
  const words = entryWords(entry, joists);
  return target ? `${words}: ${entryWords(target, joistsOf(survey, target))} ${entryFigure(target)}` : words;
}

/**
 * One line of the book.
 * @param {Survey} survey
 * @param {Entry} entry
 * @returns {HTMLLIElement}
 */
function line(survey, entry) {
  const reason = survey.struck.get(entry.id);
  const words = told(survey, entry);
  const shown = entryFigure(entry);
  const by = entry.by === survey.device ? "this phone" : "another phone";
  const struck = reason !== undefined;
  return el(
    "li",
    { "data-id": entry.id },
    el(struck ? "s" : "span", { class: "what" }, words, shown && !isReading(entry) && `: ${shown}`),
    isReading(entry) && el(struck ? "s" : "span", { class: "figure" }, shown),
    struck && el("span", { class: "why" }, `Struck out: ${reason || "no reason given"}.`),
    entry.kind === "photo" && picture(survey, entry),
    el(
      "span",
      { class: "quiet" },
      `${entry.run ? `Run ${entry.run}. ` : ""}${moment(entry.at)}, ${by}, ${whereabouts(survey, entry)}.`,
    ),
    touch(survey, entry, `${words} ${shown}`),
  );
}

/** Which lines are wanted. @type {[string, string, (survey: Survey, entry: Entry) => boolean][]} */
const FILTERS = [
  ["all", "everything", () => true],
  ["struck", "what is struck out", (survey, entry) => survey.struck.has(entry.id)],
  ["there", "what is still to go", (survey, entry) => !survey.sent.has(entry.id)],
  ["notes", "photos and remarks", (_, entry) => entry.kind === "photo" || entry.kind === "remark"],
];

/** @param {Survey} survey @returns {HTMLElement} */
function remarks(survey) {
  const text = field("A remark about the whole survey", { long: true, most: 10_000 });
  const save = async () => {
    text.wrong(text.text() ? "" : "Write the remark first.");
    if (!text.text()) return text.input.focus();
    const { saved } = survey.add("remark", { text: text.text() });
    text.input.value = "";
    await saved;
    say("The remark is stored on this phone.");
  };
  return el(
    "details",
    null,
    el("summary", null, "Write a remark"),
    text.node,
    button("Keep the remark", () => void save()),
  );
}

/**
 * Draws the list anew and leaves the focus at the entry where it was.
 * @param {HTMLElement} list
 * @param {() => void} drawn
 */
function holdFocus(list, drawn) {
  const held = list.contains(document.activeElement) && document.activeElement?.closest("li")?.dataset.id;
  drawn();
  if (!held) return;
  const again = [...list.children].find((item) => item instanceof HTMLElement && item.dataset.id === held);
  again?.querySelector("button")?.focus({ preventScroll: true });
}

/**
 * Shows the book, newest last, as it is kept.
 * @type {import("../screens.js").Mount}
 */
export function mount(host, { survey }) {
  const tally = el("p", { class: "quiet" });
  const list = el("ol", { class: "plain fieldbook" });
  let wanted = FILTERS[0];
  const draw = untouched(() => {
    const lines = survey.entries.filter((entry) => wanted[2](survey, entry));
    tally.textContent = `${count(survey.entries.length, "entry", "entries")}, ${survey.struck.size} struck out.`;
    holdFocus(list, () => fill(list, ...lines.map((entry) => line(survey, entry))));
  });
  const pick = field("Show", { options: FILTERS.map(([key, words]) => [key, words]), value: "all" });
  pick.input.addEventListener("change", () => {
    wanted = FILTERS.find(([key]) => key === pick.input.value) ?? FILTERS[0];
    draw();
  });
  survey.addEventListener("change", draw);
  draw();
  fill(host, el("h1", null, "Field book"), tally, remarks(survey), pick.node, list);
  return { title: "Field book", unmount: () => survey.removeEventListener("change", draw) };
}
