/**
 * Cross-checks of a run: which are worth taking, which are taken, and taking one.
 * @module screens/checks
 */
import { checksOf, GROUPS, takenFor } from "../checks-list.js";
import { fixedJoists } from "../closure/faces.js";
import { closure } from "../closure/notices.js";
import { loadPack } from "../closure/pack.js";
import { field, readWhole } from "../form.js";
import { together } from "../judged.js";
import { Watch } from "../reconcile/watch.js";
import { at } from "../router.js";
import { el, fill, link } from "../ui.js";
import { untouched } from "../untouched.js";
import { measure } from "./measure.js";

/** @typedef {import("../checks-list.js").Check} Check */
/** @typedef {import("../screens.js").Survey} Survey */

/**
 * @typedef {object} Room
 * @property {Survey} survey
 * @property {any} run
 * @property {number | undefined} fixed how many joists it has, where that is fixed
 * @property {(check: Check, list: Check[]) => void} take
 */

/** @param {Survey} survey */
const standing = (survey) => survey.entries.filter((entry) => survey.standing.has(entry.id));

/** @param {Check} check @param {Check[]} list @param {Room} room */
function row(check, list, { survey, run, fixed, take }) {
  const taken = takenFor(check, run.id, fixed, standing(survey));
  const values = taken.map((entry) => entry.value).join(", ");
  const state = taken.length
    ? el("span", { class: "figure" }, `✓ ${values}`)
    : el("span", { class: "quiet" }, "not taken");
  return el(
    "li",
    null,
    el(
      "button",
      { type: "button", class: "way", onclick: () => take(check, list) },
      el("strong", null, check.words),
      state,
    ),
  );
}

/** @param {Check[]} checks @param {Room} room */
function groups(checks, room) {
  return GROUPS.map(([group, heading, why]) => {
    const list = checks.filter((check) => check.group === group);
    if (!list.length) return null;
    const rows = el("ul", { class: "plain ways" }, ...list.map((check) => row(check, list, room)));
    const body = [el("p", { class: "quiet" }, why), rows];
    // What comes for every joist is folded away until it is wanted.
    const long = list.length > 8 && el("details", null, el("summary", null, `${heading}, all ${list.length}`), rows);
    return el("section", null, el("h2", null, heading), ...(long ? [body[0], long] : body));
  });
}

/** The way to another joist than the usual three. @param {Room} room */
function elsewhere(room) {
  const joist = field("Another joist", { whole: true, hint: "What may be read along any one joist." });
  const list = el("div");
  const show = () => {
    const number = readWhole(joist, {
      must: true,
      least: 1,
      most: room.run.joists || 10_000,
      what: "the number of a joist",
    });
    if (number === undefined || number === null) return joist.input.focus();
    fill(list, ...groups(checksOf(room.run, room.fixed, number), room));
  };
  const form = el("form", { novalidate: true }, joist.node, el("button", { type: "submit" }, "Show it"));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    show();
  });
  return el("section", null, el("h2", null, "Elsewhere"), form, list);
}

/** @param {Room} room */
function intro({ survey, run, fixed }) {
  if (fixed !== undefined)
    return el("p", { class: "quiet" }, "Take what you can. Each one lets the survey check itself.");
  return el(
    "p",
    null,
    "Nobody has said yet where the end wall is. Say it in the walk, and the overalls and diagonals appear here. ",
    link("Walk", at(survey.id, "walk", run.id)),
  );
}

/**
 * Shows the list, and the one check that is being taken.
 * @type {import("../screens.js").Mount}
 */
export async function mount(host, { survey, run: id }) {
  const pack = await loadPack();
  const find = () => survey.head.runs.find((one) => one.id === id);
  if (!find()) throw new Error(`This survey has no run ${id}.`);
  const body = el("div");
  const [told, amiss] = [el("div", { class: "said", role: "status" }), el("div")];
  /** What was told last, and what does not add up. @type {[string, string]} */
  let [last, wrong] = ["", ""];
  const show = () => fill(told, last, last && wrong && " ✗ Not all adds up.");
  const tell = (/** @type {string} */ words) => ((last = words), show());
  const way = link("See what does not add up", at(survey.id, "closure", id), { class: "button" });
  const warn = untouched(() =>
    fill(amiss, wrong && el("p", { class: "verdict" }, `✗ ${wrong}`), wrong && el("p", null, way)),
  );
  const rules = /** @type {import("../reconcile/types.js").Rules} */ (pack);
  // On the spot, as in the walk.
  const watch = new Watch(survey, rules, (asBuilt) => {
    wrong = together(closure(survey, id, pack), asBuilt, id)[0]?.say ?? "";
    show();
    warn();
  });
  let stop = () => {};
  const leave = () => {
    stop();
    stop = () => {};
  };
  const showList = () => {
    leave();
    const room = { survey, run: find(), fixed: fixedJoists(survey, id), take };
    fill(body, told, amiss, intro(room), ...groups(checksOf(room.run, room.fixed), room), elsewhere(room));
  };
  /** @param {Check} check @param {Check[]} list the checks of its group, gone through in order */
  const take = (check, list) => {
    leave();
    const run = find();
    const taken = (/** @type {Check} */ one) => takenFor(one, id, fixedJoists(survey, id), standing(survey));
    const after = list.slice(list.indexOf(check) + 1).find((one) => !taken(one).length);
    const before = taken(check).at(-1);
    const back = () => (showList(), host.querySelector("h1")?.focus());
    const next = () => (after ? take(after, list) : back());
    stop = measure(body, { survey, run, check, pack, before, told, tell }, { next, back });
    window.scrollTo(0, 0);
  };
  fill(host, el("h1", { tabindex: "-1" }, `Cross-checks, run ${id}`), body);
  showList();
  const unmount = () => (watch.close(), leave());
  return { title: `Cross-checks, run ${id}`, unmount };
}
