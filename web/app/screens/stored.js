/**
 * What is stored here, what is on the service, what is still to go and how old it is.
 * @module screens/stored
 */
import { entryFigure, entryWords } from "../entry-words.js";
import { button, el, facts, fill, giveFile, say, why } from "../ui.js";
import { ago, count } from "../words.js";

/** @typedef {import("../screens.js").Survey} Survey */
/** @typedef {import("../screens.js").Book} Book */

/** @param {string} words @param {string} figure @param {string} [more] @returns {[string, Node]} */
function row(words, figure, more = "") {
  return [words, el("span", null, el("span", { class: "figure" }, figure), more && ` ${more}`)];
}

/** @param {Book} book @param {Survey} survey */
function table(book, survey) {
  const { state } = book.sync;
  const total = survey.entries.length;
  const unsaved = survey.unsaved.size;
  const there = survey.sent.size;
  const waiting = survey.entries.filter(
    ({ id }) => !survey.sent.has(id) && !survey.unsaved.has(id) && !survey.refused.has(id),
  );
  const go = waiting.length;
  const photos = survey.entries.filter((entry) => entry.kind === "photo").length;
  return facts([
    row("Stored on this phone", count(total - unsaved, "entry", "entries"), `with ${count(photos, "photo")}`),
    row("On the service", count(there, "entry", "entries")),
    row(
      "Still to go",
      count(go, "entry", "entries"),
      state.toGo.photos ? `and ${count(state.toGo.photos, "photo")}` : "",
    ),
    row("The oldest of these", go ? ago(waiting[0].at) : "none"),
    row(
      "Not stored yet",
      count(unsaved, "entry", "entries"),
      unsaved ? "They are in memory. Keep this page open." : "",
    ),
    row("Last sent", ago(state.lastOk)),
  ]);
}

/** @param {Book} book */
function stateWords({ sync: { state } }) {
  if (state.sending) return "Sending now.";
  if (!state.online)
    return "The service cannot be reached now. Readings stay on this phone and go over by themselves later.";
  if (state.lastError) return `The last try did not get through: ${state.lastError}. It tries again by itself.`;
  if (state.toGo.entries + state.toGo.photos) return "There is something to go. It goes by itself.";
  // Before anything is counted there seems to be nothing to go, and that must not reassure anybody.
  return state.lastOk ? "Everything is on the service." : "Nothing has been sent yet.";
}

/**
 * What is stored belongs to this address. Where the laptop has got another one, the page is there too,
 * with an empty store; only a file goes from one to the other.
 * @param {Book} book
 */
function moved({ sync: { state } }) {
  const waits = state.toGo.entries + state.toGo.photos;
  if (state.online || !waits) return null;
  return el(
    "section",
    null,
    el("h2", null, "If the laptop has a new address"),
    el(
      "p",
      null,
      `${count(waits, "thing")} on this phone did not go over, and ${location.host} does not answer. If the laptop shows another address now: download each survey with photos below, open the new address, and import the file there. Nothing is doubled by it.`,
    ),
  );
}

/** @param {Survey} survey */
function refusedList(survey) {
  if (!survey.refused.size) return null;
  const lines = survey.entries.filter((entry) => survey.refused.has(entry.id));
  const items = lines.map((entry) =>
    el(
      "li",
      null,
      `${entryWords(entry)} ${entryFigure(entry)}. `,
      el("span", { class: "why" }, String(survey.refused.get(entry.id))),
    ),
  );
  return el(
    "section",
    null,
    el("h2", null, "Refused by the service"),
    el("p", null, "These stay on this phone and in the file. Nothing else waits for them."),
    el("ul", null, ...items),
  );
}

/** @param {string} title */
function fileName(title) {
  const plain = title
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "-")
    .replace(/^-+|-+$/g, "");
  return `${plain || "survey"}.json`;
}

/** @param {Survey} survey */
function files(survey) {
  const error = el("p", { class: "wrong", hidden: true, role: "alert" });
  const give = async (/** @type {boolean} */ photos) => {
    try {
      giveFile(await survey.exportFile({ photos }), fileName(survey.head.title));
      say("The file is made.");
    } catch (problem) {
      error.hidden = false;
      error.textContent = `The file could not be made: ${why(problem)}`;
    }
  };
  return el(
    "section",
    null,
    el("h2", null, "The survey as a file"),
    el("p", null, "Made on this phone, with or without a network. It holds every entry, struck ones too."),
    el(
      "div",
      { class: "row" },
      button("Download the survey", () => void give(false)),
      button("Download it with photos", () => void give(true)),
    ),
    error,
  );
}

/**
 * Shows the state of storing and sending, as it changes.
 * @type {import("../screens.js").Mount}
 */
export function mount(host, { book, survey }) {
  const state = el("p", { role: "status" });
  const figures = el("div");
  const draw = () => {
    state.textContent = stateWords(book);
    fill(figures, table(book, survey), moved(book), refusedList(survey));
  };
  const now = button("Send now", () => void book.sync.now(), { class: "first" });
  fill(host, el("h1", null, "Stored and sent"), state, figures, el("p", null, now), files(survey));
  const off = book.sync.on(draw);
  survey.addEventListener("change", draw);
  draw();
  const unmount = () => {
    off?.();
    survey.removeEventListener("change", draw);
  };
  return { title: "Stored and sent", unmount };
}
