/**
 * One survey: its runs, how far each has come, and the one next thing to do.
 * @module screens/survey
 */
import { cautions } from "../cautions.js";
import { fixedJoists } from "../closure/faces.js";
import { closure } from "../closure/notices.js";
import { loadPack } from "../closure/pack.js";
import { ask, field } from "../form.js";
import { together } from "../judged.js";
import { progressOf } from "../progress.js";
import { Watch } from "../reconcile/watch.js";
import { at } from "../router.js";
import { button, el, fill, link } from "../ui.js";
import { untouched } from "../untouched.js";
import { count } from "../words.js";
import { rods } from "./rods.js";

/** @typedef {import("../screens.js").Survey} Survey */
/** @typedef {import("../screens.js").Book} Book */
/** @typedef {import("../progress.js").Progress} Progress */
/** @typedef {import("../closure/types.js").Pack} Pack */
/** @typedef {import("../closure/notices.js").Notice} Notice */

/** @param {Survey} survey */
function standing(survey) {
  return survey.entries.filter((entry) => survey.standing.has(entry.id));
}

/** @param {any} run @param {Progress} progress */
function told(run, { bays, wanted, readings }) {
  const lines = run.lines.map(
    (/** @type {string} */ line) => `${line} line ${bays[line]}${wanted ? ` of ${wanted}` : ""} bays`,
  );
  const joists = wanted
    ? count(run.joists, "joist")
    : run.joists
      ? `${count(run.joists, "joist")} so far`
      : "The number of joists is open";
  return readings ? `${joists}. ${lines.join(", ")}.` : `${joists}. Not begun.`;
}

/** @param {any} run */
function setOut({ start, direction, member }) {
  const timber =
    member?.breadth && member?.depth
      ? `Usual timber ${member.breadth} × ${member.depth}${member.grade ? ` ${member.grade}` : ""}.`
      : "";
  return [start && `Start at ${start}.`, direction && `Joists run ${direction}.`, timber].filter(Boolean).join(" ");
}

/** @param {string} words @param {string} href @param {string} state */
function way(words, href, state) {
  return el(
    "li",
    null,
    el("a", { href, class: "way" }, el("strong", null, words), el("span", { class: "quiet" }, state)),
  );
}

/** @param {State} state */
function closureWords({ progress, notices: { length } }) {
  if (!progress.readings) return "nothing is read yet";
  return length ? `✗ ${count(length, "thing does", "things do")} not add up` : "✓ nothing stands out";
}

/** @param {Survey} survey @param {State} state @param {Pack} pack */
function runSection(survey, state, pack) {
  const { run, progress, notices } = state;
  const { overalls, diagonals, others, features } = progress;
  const checks = `${count(overalls, "overall")}, ${count(diagonals, "diagonal")}, ${count(others, "other")}`;
  const name = `run ${run.id}`;
  return el(
    "section",
    null,
    el("h2", null, `Run ${run.id}${run.title && run.title !== `Run ${run.id}` ? `: ${run.title}` : ""}`),
    el("p", null, told(run, progress)),
    ...(progress.readings ? rods(survey, run.id, run.lines, notices, pack) : []),
    el("p", { class: "quiet" }, setOut(run)),
    el(
      "ul",
      { class: "plain ways" },
      way(`Walk ${name}`, at(survey.id, "walk", run.id), progress.walked ? "every bay has a reading" : "bay by bay"),
      way("Cross-checks", at(survey.id, "checks", run.id), checks),
      way("Type in the field sheet", at(survey.id, "sheet", run.id), "print it, or type in its boxes"),
      way("Closure", at(survey.id, "closure", run.id), closureWords(state)),
      way("Openings and what is there", at(survey.id, "features", run.id), count(features, "entry", "entries")),
    ),
  );
}

/** @typedef {{run: any, progress: Progress, notices: Notice[]}} State how one run stands */

/**
 * The one next thing: walk what is not walked, settle what does not add up, tie the walk together,
 * and then the as-built.
 * @param {Survey} survey
 * @param {State[]} states
 * @returns {[string, string]} its words and its address
 */
function nextThing({ id }, states) {
  if (!states.length) return ["Add a run", at(id, "runs")];
  const open = states.find(({ progress }) => !progress.walked);
  if (open)
    return [`${open.progress.readings ? "Go on with" : "Walk"} run ${open.run.id}`, at(id, "walk", open.run.id)];
  const odd = states.find(({ notices }) => notices.length);
  if (odd) return [`Run\u00a0${odd.run.id} does not add up`, at(id, "closure", odd.run.id)];
  const loose = states.find(
    ({ run, progress }) => progress.overalls < run.lines.length || (run.lines.length > 1 && !progress.diagonals),
  );
  if (loose) return [`Take the cross-checks of run ${loose.run.id}`, at(id, "checks", loose.run.id)];
  return ["See the as-built", at(id, "as-built")];
}

/** @param {Survey} survey */
async function rename(survey) {
  const title = field("Name of the survey", { value: survey.head.title, most: 200 });
  const fits = () => {
    title.wrong(title.text() ? "" : "Give the survey a name.");
    return title.text() !== "";
  };
  if (await ask("Another name", [title.node], "Rename it", { fits })) survey.set("/title", title.text());
}

/** @param {Survey} survey */
function wholeSurvey(survey) {
  const unsaved = survey.unsaved.size;
  const go = survey.entries.length - survey.sent.size;
  const state = unsaved
    ? `${count(unsaved, "entry", "entries")} not stored yet`
    : go
      ? `${count(go, "entry", "entries")} still to go`
      : "everything is on the service";
  return el(
    "section",
    null,
    el("h2", null, "The whole survey"),
    el(
      "ul",
      { class: "plain ways" },
      way("As-built", at(survey.id, "as-built"), "drawn to scale, with what was found"),
      way("What the joists carry", at(survey.id, "loads"), "a check of each joist, with its working"),
      way("Deck plan", at(survey.id, "plan"), "every board, joint and noggin"),
      way(
        "Field book",
        at(survey.id, "book"),
        `${count(survey.entries.length, "entry", "entries")}, ${survey.struck.size} struck out`,
      ),
      way("Stored and sent, and the file", at(survey.id, "stored"), state),
      way("Runs and tape lines", at(survey.id, "runs"), "add one, or change the usual timber"),
      way("Ready for the loft?", "#/ready", "before the network goes"),
    ),
    el(
      "p",
      null,
      button("Change the name", () => void rename(survey), { class: "slight" }),
    ),
  );
}

/**
 * How the runs stand.
 * @param {Survey} survey
 * @param {Pack} pack
 * @param {import("../judged.js").AsBuilt | null} asBuilt of the survey as it stands; null while it is not there
 * @returns {State[]}
 */
function statesOf(survey, pack, asBuilt) {
  const entries = standing(survey);
  return survey.head.runs.map((run) => ({
    run,
    progress: progressOf(run, fixedJoists(survey, run.id), entries),
    notices: together(closure(survey, run.id, pack), asBuilt, run.id),
  }));
}

/**
 * Tells in their own places what all readings together say: nothing moves by it.
 * @param {HTMLElement} host
 * @param {Survey} survey
 * @param {State[]} states
 */
function tell(host, survey, states) {
  const [words, href] = nextThing(survey, states);
  const first = host.querySelector(".first");
  if (first) first.textContent = words;
  first?.setAttribute("href", href);
  for (const state of states) {
    const place = host.querySelector(`[href="${at(survey.id, "closure", state.run.id)}"] .quiet`);
    if (place) place.textContent = closureWords(state);
  }
}

/** @param {HTMLElement} host @param {Survey} survey @param {Pack} pack */
function draw(host, survey, pack) {
  const states = statesOf(survey, pack, null);
  const [words, href] = nextThing(survey, states);
  fill(
    host,
    el("h1", null, survey.head.title || "Without a name"),
    el("p", null, link(words, href, { class: "button first wide" })),
    ...states.map((state) => runSection(survey, state, pack)),
    wholeSurvey(survey),
    cautions("Before you climb", "climb", "decide"),
  );
}

/**
 * Shows the survey, and again as it changes.
 * @type {import("../screens.js").Mount}
 */
export async function mount(host, { survey }) {
  const pack = await loadPack();
  // Redrawing under a finger would move what is about to be touched, so only what tells of changes is
  // waited for: this screen itself changes the survey in one way alone, its name.
  const again = () => {
    const heading = host.querySelector("h1");
    if (heading && survey.head.title) heading.textContent = survey.head.title;
  };
  draw(host, survey, pack);
  survey.addEventListener("change", again);
  const rules = /** @type {import("../reconcile/types.js").Rules} */ (pack);
  const watch = new Watch(survey, rules, (asBuilt) =>
    untouched(() => tell(host, survey, statesOf(survey, pack, asBuilt)))(),
  );
  const unmount = () => {
    watch.close();
    survey.removeEventListener("change", again);
  };
  return { title: survey.head.title || "Survey", unmount };
}
