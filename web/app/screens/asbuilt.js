/**
 * The as-built: the joists where they are, what is irregular, what is not settled, what to take next.
 * @module screens/asbuilt
 */
import { cautions } from "../cautions.js";
import { loadPack } from "../closure/pack.js";
import { figure, imperial, length, spread } from "../lengths.js";
import { Watch } from "../reconcile/watch.js";
import { at } from "../router.js";
import { inFeet, said } from "../sentences.js";
import { button, el, fill, link } from "../ui.js";
import { ago, bayName, count, joistName } from "../words.js";
import { drawPlan } from "./asbuilt-drawing.js";
import { planOf } from "./asbuilt-plan.js";

/** @typedef {import("../screens.js").Survey} Survey */

/** What each weight of finding is called, the heaviest first. */
const HEADINGS = /** @type {[string, string][]} */ ([
  ["settle", "To settle first"],
  ["look", "To look at"],
  ["note", "To know"],
]);

/** What a finding says, its lengths told from the exact figures of its bay. @param {any} finding @param {any} run */
function found({ say, value, where: { bay } }, run) {
  const figures = Object.values(run.bays[bay]?.at ?? {}).flatMap((one) => Object.values(one));
  return el("li", null, said(say, [value, ...figures]));
}

/** @param {any} run */
function findings(run) {
  return HEADINGS.map(([severity, heading]) => {
    const lines = run.findings.filter((/** @type {any} */ one) => one.severity === severity);
    if (!lines.length) return null;
    const items = lines.map((/** @type {any} */ one) => found(one, run));
    return el("section", { class: `findings ${severity}` }, el("h3", null, heading), el("ul", null, ...items));
  });
}

/** @param {any} run @param {Survey} survey */
function next(run, survey) {
  if (!run.next_readings.length) return null;
  const items = run.next_readings.map((/** @type {any} */ { say, why }) =>
    el("li", null, el("strong", null, say), ". ", el("span", { class: "quiet" }, why)),
  );
  const ways = el(
    "p",
    { class: "row" },
    link("Walk", at(survey.id, "walk", run.id), { class: "button" }),
    link("Cross-checks", at(survey.id, "checks", run.id), { class: "button" }),
  );
  return el("section", null, el("h3", null, "What to measure next"), el("ol", null, ...items), ways);
}

/**
 * A table that is folded away, and scrolls by itself where the text is large.
 * @param {string} name
 * @param {string[]} heads
 * @param {HTMLElement[]} rows
 */
function folded(name, heads, rows) {
  const head = el("tr", null, ...heads.map((words) => el("th", { scope: "col" }, words)));
  const table = el("table", null, el("thead", null, head), el("tbody", null, ...rows));
  const frame = el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": name }, table);
  return el("details", null, el("summary", null, name), frame);
}

/** @param {any} run @param {import("./asbuilt-plan.js").Plan} plan */
function bayTable(run, plan) {
  const joists = run.joists.length;
  const mark = (/** @type {number} */ bay) => {
    const mine = plan.bays.filter((one) => one.bay === bay);
    const off = mine
      .filter((one) => one.off)
      .map((one) => `${one.line} ${length(Math.abs(one.off))} ${one.off > 0 ? "wide" : "narrow"}`);
    const doubt = mine.filter((one) => one.doubtful).map((one) => `${one.line} doubtful`);
    return [...off, ...doubt].join(", ");
  };
  const rows = run.bays.map((/** @type {any} */ { bay, at: lines }) =>
    el(
      "tr",
      null,
      el("th", { scope: "row" }, bayName(bay, joists)),
      ...run.lines.map((/** @type {string} */ line) =>
        el("td", { class: "number" }, figure(lines[line]?.centres, lines[line]?.centres_sd)),
      ),
      el("td", null, mark(bay)),
    ),
  );
  return folded("Centres of each bay, as a table", ["Bay", ...run.lines, "Mark"], rows);
}

/** @param {any} run */
function joistTable(run) {
  const every = [...run.joists, run.walls.end];
  const rows = every.map((/** @type {any} */ one) =>
    el(
      "tr",
      null,
      el("th", { scope: "row" }, joistName(one.index, run.joists.length)),
      ...run.lines.map((/** @type {string} */ line) =>
        el("td", { class: "number" }, figure(one.at[line]?.x, one.at[line]?.sd)),
      ),
      el("td", { class: "number" }, one.breadth ? figure(one.breadth.value) : ""),
    ),
  );
  return folded("Each joist from the start wall, as a table", ["Joist", ...run.lines, "Breadth"], rows);
}

/** @param {any} run */
function spacing({ nominal }) {
  if (!nominal.centres) return "The spacing the joists were set out to cannot be told yet.";
  return `Set out to ${length(nominal.centres)} centres. `;
}

/** How to read the drawing. @param {import("./asbuilt-plan.js").Plan} plan */
function key({ bays }) {
  const worst = Math.max(...bays.map(({ sd }) => sd ?? 0));
  const sure = worst > 0 ? `, each within ${spread(worst)} in 19 cases of 20` : "";
  return `Between joists the centres${imperial() ? "" : " in mm"}${sure}; at the walls the clear gap. Read them from the right. The start wall is on the left, the near edge at the bottom. Hatched bays are off the spacing.`;
}

/** @param {any} run @param {Map<string, any>} entries @param {Survey} survey */
function section(run, entries, survey) {
  const heading = el("h2", null, run.title || `Run ${run.id}`);
  const plan = planOf(run, entries);
  if (!plan)
    return el(
      "section",
      null,
      heading,
      el("p", null, "No joist has a place yet. Walk the run first."),
      ...findings(run),
      next(run, survey),
    );
  const label = `Run ${run.id}, drawn to scale: ${count(run.joists.length, "joist")}. The tables below hold the same figures.`;
  const guessed = plan.tied
    ? ""
    : "How far the tape lines lie apart is not determined, so the drawing is to scale along them only. ";
  const lost = plan.missing.length
    ? `Not drawn, for nothing places them: ${plan.missing.map((joist) => joistName(joist)).join(", ")}. `
    : "";
  return el(
    "section",
    null,
    heading,
    el("p", null, spacing(run), guessed, lost),
    el(
      "div",
      { class: "scroll", tabindex: "0", role: "region", "aria-label": `Drawing of run ${run.id}` },
      drawPlan(plan, label),
    ),
    el("p", { class: "quiet" }, key(plan)),
    inFeet("Readings are quoted in millimetres, as they were read."),
    ...findings(run),
    next(run, survey),
    bayTable(run, plan),
    joistTable(run),
  );
}

/**
 * The as-built that is shown, and where it was worked out. The service and the phone reckon alike; what
 * counts is that every reading on this phone is in it.
 * @typedef {{body: any, words: string}} Shown
 */

/**
 * @param {Survey} survey
 * @param {any} own what this phone made of the survey as it stands; null where it is not there
 * @returns {Shown | null} null where there is none yet
 */
function shown({ asBuilt, asBuiltState: { fetchedAt, stale } }, own) {
  if (asBuilt && !stale) return { body: asBuilt, words: `Worked out by the service ${ago(fetchedAt)}.` };
  const sent = asBuilt ? "Not every reading has been to the service and back." : "The service has not answered yet.";
  if (own) return { body: own, words: `Worked out on this phone, with every reading on it. ${sent}` };
  if (!asBuilt) return null;
  const words = "Readings have come since. It is fetched again after the next sending.";
  return { body: asBuilt, words: `Worked out by the service ${ago(fetchedAt)}. ${words}` };
}

/** @param {any} asBuilt */
function settled({ settled: yes }) {
  return yes
    ? "✓ Settled: no reading stands against the others."
    : "✗ Not settled: a reading stands against the others. See below.";
}

/** What stands there before anything is worked out. @param {HTMLElement} body @param {import("../screens.js").Book} book @param {boolean} failed */
function drawNone(body, book, failed) {
  if (!failed) return fill(body, el("p", { role: "status" }, "Working it out …"));
  const words =
    "This phone could not work out the as-built. The service does it too: it comes here after a sending, and stays on this phone.";
  const send = button("Send now", () => void book.sync.now(), { class: "first" });
  return fill(body, el("p", null, words), el("p", null, send));
}

/** What the service makes of it for paper. @param {Survey} survey */
function papers({ id }) {
  const units = imperial() ? "?units=imperial" : "";
  const sheet = (/** @type {string} */ name, /** @type {string} */ words) =>
    link(words, `/api/surveys/${id}/sheets/${name}.pdf${units}`, { class: "button", target: "_blank" });
  return el("p", { class: "row" }, sheet("as-built", "As-built to print"), sheet("labels", "Labels to print"));
}

/** @param {HTMLElement} body @param {Survey} survey @param {Shown} shown */
function draw(body, survey, { body: asBuilt, words }) {
  const entries = new Map(survey.entries.map((entry) => [entry.id, entry]));
  const stray = asBuilt.findings.map((/** @type {any} */ one) => el("li", null, said(one.say)));
  return fill(
    body,
    el("p", { class: "verdict" }, settled(asBuilt)),
    el("p", { class: "quiet" }, words),
    stray.length > 0 && el("ul", null, ...stray),
    ...asBuilt.runs.map((/** @type {any} */ run) => section(run, entries, survey)),
    papers(survey),
    cautions("Before anyone builds on it", "decide"),
  );
}

/**
 * Shows the as-built, the service's where it knows every reading and else this phone's own, and again
 * when another comes.
 * @type {import("../screens.js").Mount}
 */
export async function mount(host, { book, survey }) {
  const rules = /** @type {import("../reconcile/types.js").Rules} */ (await loadPack());
  const body = el("div");
  fill(host, el("h1", null, "As-built"), body);
  /** @type {any} */
  let own = null;
  /** @type {any} */
  let seen;
  const show = (failed = false) => {
    const found = shown(survey, own);
    // Redrawn only for another as-built: a table that was opened must not fall shut.
    if (found && found.body === seen) return;
    seen = found?.body;
    if (found) draw(body, survey, found);
    else drawNone(body, book, failed);
  };
  const watch = new Watch(survey, rules, (asBuilt) => {
    own = asBuilt;
    show(asBuilt === null);
  });
  const again = () => show();
  survey.addEventListener("change", again);
  show();
  const unmount = () => {
    watch.close();
    survey.removeEventListener("change", again);
  };
  return { title: "As-built", unmount };
}
