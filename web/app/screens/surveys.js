/**
 * The surveys on this phone, and those on the service that are not here yet.
 * @module screens/surveys
 */
import { at } from "../router.js";
import { button, el, fill, link, say, why } from "../ui.js";
import { ago, count } from "../words.js";

/** @typedef {import("../screens.js").Context} Context */

/**
 * @param {import("../book/book.js").SurveySummary} one
 * @returns {HTMLElement}
 */
function stored(one) {
  const here = `${count(one.entries, "entry", "entries")} here`;
  const go = one.toGo ? `${one.toGo} still to go, the oldest from ${ago(one.oldestUnsent)}` : "nothing to go";
  return el(
    "li",
    { class: "survey" },
    link(one.title || "Without a name", at(one.id)),
    el("span", { class: "quiet" }, `${here}, ${go}.${one.lastSync ? ` Last sent ${ago(one.lastSync)}.` : ""}`),
  );
}

/**
 * Adds the first rod of each survey to its place in the list: who has seen it knows which loft it is.
 * @param {Context["book"]} book
 * @param {HTMLElement} list
 * @param {import("../book/types.js").SurveySummary[]} surveys
 */
async function drawRods(book, list, surveys) {
  // Fetched only where there is a survey to draw: the very first visit has none.
  const { closure } = await import("../closure/notices.js");
  const { loadPack } = await import("../closure/pack.js");
  const { rods } = await import("./rods.js");
  const pack = await loadPack();
  for (const [at, { id, entries }] of surveys.entries()) {
    const survey = await book.openSurvey(id);
    const [run] = survey.head.runs;
    if (!entries || !run?.lines.length) continue;
    const [drawing] = rods(survey, run.id, run.lines.slice(0, 1), closure(survey, run.id, pack), pack);
    list.children[at].append(drawing);
  }
}

/**
 * The surveys that only the service has, each with the touch that brings it here.
 * @param {Context} context
 * @param {HTMLElement} host
 */
async function listThere({ book, go }, host) {
  const there = await book.surveysThere();
  if (!there.length) return;
  const bring = async (/** @type {{id: string}} */ { id }) => {
    say("Bringing the survey to this phone.");
    try {
      await book.bring(id);
      go(at(id));
    } catch (error) {
      host.append(el("p", { class: "wrong", role: "alert" }, `It could not be brought here: ${why(error)}`));
    }
  };
  const items = there.map((one) =>
    el(
      "li",
      { class: "survey" },
      one.title || "Without a name",
      button("Bring it to this phone", () => void bring(one), { "aria-label": `Bring ${one.title} to this phone` }),
    ),
  );
  fill(host, el("h2", null, "On the service, not on this phone"), el("ul", { class: "plain" }, ...items));
}

/**
 * The way in for a survey kept in a file.
 * @param {Context} context
 * @returns {HTMLElement}
 */
function importer({ book, go }) {
  const error = el("p", { class: "wrong", hidden: true, role: "alert" });
  const take = async () => {
    const file = input.files?.[0];
    if (!file) return;
    try {
      go(at(await book.importFile(file)));
    } catch (problem) {
      error.hidden = false;
      error.textContent = `That file was not taken: ${why(problem)}`;
      input.value = "";
    }
  };
  const input = el("input", {
    type: "file",
    id: "import",
    class: "unseen",
    accept: ".json,application/json",
    onchange: () => void take(),
  });
  return el("div", null, el("label", { for: "import", class: "button" }, "Import a survey file"), input, error);
}

/**
 * Shows the surveys.
 * @type {import("../screens.js").Mount}
 */
export async function mount(host, context) {
  const surveys = await context.book.surveys();
  const there = el("section");
  const list = surveys.length
    ? el("ul", { class: "plain" }, ...surveys.map(stored))
    : el("p", null, "No survey is on this phone yet. Make one, then walk the loft bay by bay.");
  const first = link("New survey", "#/new", { class: "button first" });
  fill(
    host,
    el("h1", null, "Surveys"),
    list,
    el("div", { class: "row" }, first, importer(context)),
    el("p", null, link("Is this phone ready for the loft?", "#/ready", { class: "button slight" })),
    there,
  );
  if (surveys.length) void drawRods(context.book, list, surveys);
  // Without the service there is nothing to list, and the screen is whole without it.
  void listThere(context, there).catch(() => undefined);
  return { title: "Surveys" };
}
