/**
 * Laying the deck: one step at a time, large, with what to mark and cut; ticked when done. What is
 * ticked is kept on the phone and outlives the page.
 * @module screens/laying
 */
import { figure, measured } from "../lengths.js";
import { at } from "../router.js";
import { inUnits, said } from "../sentences.js";
import { button, el, fill, link, say, sheetWidth, svg } from "../ui.js";
import { count } from "../words.js";
import { keyOf, laidFile, landedForm } from "./landed.js";
import { drawStage } from "./plan-drawing.js";

/** @typedef {import("../book/types.js").PaperRecord} Paper */
/** @typedef {{deck: any, step: any}} Task a step of the work, of its deck */
/** @typedef {{plan: string, done: number, noted?: import("./landed.js").Noted}} Kept how many tasks are done, of which plan, and what landed elsewhere */

/** Height of the drawn board, and of what stands above and below it [px]. */
const LATH = 34;
const ABOVE = 22;
const BELOW = 20;

/** @param {any} plan @returns {Task[]} */
const tasksOf = (plan) =>
  plan.decks.flatMap((/** @type {any} */ deck) => deck.sequence.map((/** @type {any} */ step) => ({ deck, step })));

/**
 * What tells one plan from another, so that ticks are never taken over to a plan they are not of.
 * @param {any} plan
 */
function nameOf(plan) {
  const parts = plan.decks.map((/** @type {any} */ { id, pieces, sequence }) => [
    id,
    sequence.length,
    ...pieces.map((/** @type {any} */ one) => `${one.id} ${one.board} ${Math.round(one.at)} ${Math.round(one.length)}`),
  ]);
  return JSON.stringify(parts);
}

/**
 * One board as a rod: its pieces with their lengths, what is waste hatched by crossed lines.
 * @param {any[]} pieces of one strip, from its left-hand end
 * @param {number} length of the board [mm]
 */
function boardRod(pieces, length) {
  const wide = sheetWidth();
  const k = (wide - 4) / length;
  const px = (/** @type {number} */ mm) => Math.round((2 + mm * k) * 10) / 10;
  const end = pieces.length ? pieces[pieces.length - 1].at + pieces[pieces.length - 1].length : 0;
  const shapes = pieces.map(({ id, at: from, length: long }) =>
    svg(
      "g",
      null,
      svg("rect", { x: px(from), y: ABOVE, width: Math.max(1, long * k), height: LATH, class: "piece" }),
      svg(
        "text",
        { x: px(from + long / 2), y: ABOVE + LATH / 2, dy: "0.35em", "text-anchor": "middle", class: "fig" },
        id,
      ),
      svg("text", { x: px(from + long / 2), y: ABOVE - 7, "text-anchor": "middle", class: "fig" }, figure(long)),
    ),
  );
  const waste =
    length - end > 5 &&
    svg("path", {
      d: `M${px(end)} ${ABOVE}L${px(length)} ${ABOVE + LATH}M${px(end)} ${ABOVE + LATH}L${px(length)} ${ABOVE}M${px(end)} ${ABOVE}H${px(length)}v${LATH}H${px(end)}`,
      class: "dim",
    });
  const words = svg("text", { x: 2, y: ABOVE + LATH + 15, class: "fig" }, "left-hand end, face up");
  const size = {
    viewBox: `0 0 ${wide} ${ABOVE + LATH + BELOW}`,
    style: { width: `${wide / 16}rem`, "max-width": "100%" },
  };
  const label = `Cut: ${pieces.map(({ id, length: long }) => `${id} ${measured(long)}`).join(", ")}`;
  return svg("svg", { ...size, role: "img", "aria-label": label, class: "plan deck" }, ...shapes, waste || null, words);
}

/** @param {Task} task */
function cutting({ deck, step }) {
  const boards = deck.boards.filter((/** @type {any} */ { id }) => step.boards.includes(id));
  return boards.map((/** @type {any} */ board) => {
    const strips = (board.strips ?? [board.cuts]).map((/** @type {string[]} */ ids) =>
      ids.map((id) => deck.pieces.find((/** @type {any} */ one) => one.id === id)),
    );
    return el(
      "section",
      null,
      el("h2", null, `Board ${board.id}`),
      ...strips.map((/** @type {any[]} */ pieces) => boardRod(pieces, deck.deck.board.length)),
    );
  });
}

/** @param {Task[]} tasks how many at the start are done by the plan itself */
function doneOf(tasks) {
  const open = tasks.findIndex(({ step }) => !step.done);
  return tasks.some(({ step }) => step.done) ? (open < 0 ? tasks.length : open) : 0;
}

/** What is laid stays: it is set out as it lies, and the plan goes on from its edge. */
const OTHERWISE = "It lies otherwise: set out the deck laid so far, then plan the rest again";

/** @param {Task[]} tasks @param {number} done */
function standing(tasks, done) {
  const of = (/** @type {"pieces" | "noggins"} */ what) =>
    [tasks.slice(0, done), tasks].map((some) => new Set(some.flatMap(({ step }) => step[what])).size);
  const [[laid, pieces], [fixed, timbers]] = [of("pieces"), of("noggins")];
  return `Pieces laid ${laid} of ${pieces}. Noggins, frames and cleats fixed ${fixed} of ${timbers}.`;
}

/** @param {Task[]} tasks @param {number} done @returns {import("./plan-drawing.js").Stage} */
function stageOf(tasks, done) {
  const ids = (/** @type {Task[]} */ some) => new Set(some.flatMap(({ step }) => [...step.noggins, ...step.pieces]));
  const [past, now] = [ids(tasks.slice(0, done)), ids(tasks.slice(done, done + 1))];
  return (id) => (now.has(id) ? "now" : past.has(id) ? "done" : "later");
}

/** @param {Task[]} tasks @param {number} done */
function stepNodes(tasks, done) {
  const { deck, step } = tasks[done];
  const marks = step.marks.map((/** @type {any} */ { hook, to, value, along }) =>
    el("li", null, `Hook on ${hook}. Mark `, el("strong", null, figure(value)), `${along ? ` ${along}` : ""}: ${to}.`),
  );
  const cuts = cutting(tasks[done]);
  return [
    el("p", { class: "step-words" }, step.say),
    el(
      "div",
      { class: "scroll", tabindex: "0", role: "region", "aria-label": "Drawing of the deck" },
      drawStage(deck, stageOf(tasks, done), `The deck at step ${done + 1}`),
    ),
    marks.length > 0 && el("ul", { class: "large" }, ...marks),
    ...cuts,
    cuts.length > 0 &&
      el("p", null, "Crossed is waste. Saw on its side of the mark, so that the saw's cut is lost there."),
  ];
}

/**
 * The plan as it is kept here, and how far it is laid.
 * @typedef {object} Work
 * @property {Paper | undefined} raw
 * @property {Paper | undefined} paper the same in the units chosen
 * @property {Task[]} tasks
 * @property {string} name
 * @property {number} done
 * @property {import("./landed.js").Noted} noted
 * @property {boolean} anew ticks were made on another plan
 */

/** @param {Paper | undefined} raw @param {Kept | undefined} kept @returns {Work} */
function workOf(raw, kept) {
  const paper = inUnits(raw);
  const [tasks, name] = paper?.body ? [tasksOf(paper.body), nameOf(paper.body)] : [[], ""];
  const mine = kept?.plan === name ? kept : { done: doneOf(tasks), noted: {} };
  const done = Math.min(mine.done, tasks.length);
  return { raw, paper, tasks, name, done, noted: mine.noted ?? {}, anew: Boolean(kept) && mine !== kept && !done };
}

/** @param {Work} work what the plan does otherwise than the one before it */
function changedNodes({ paper }) {
  const said = paper?.body?.changes?.say ?? [];
  if (!said.length) return false;
  const rows = said.map((/** @type {string} */ words) => el("li", null, words));
  return el("details", null, el("summary", null, "What changed"), el("ul", null, ...rows));
}

/**
 * @param {Work} work
 * @param {string} survey
 * @param {(to: number) => void} go
 * @param {(landed: import("./landed.js").Landed) => void} again
 */
function keyNodes({ tasks, done, noted }, survey, go, again) {
  const task = tasks[done];
  const laying = task?.step.kind === "course";
  return [
    el(
      "p",
      { class: "row step-keys" },
      done > 0 && button("Back one", () => go(done - 1)),
      task && button("Done, next", () => go(done + 1), { class: "first" }),
    ),
    laying && landedForm(task.deck, task.step, noted[keyOf(task.deck, task.step)], again),
    done > 0 && task && el("p", null, link(OTHERWISE, at(survey, "features", task.deck.run))),
  ];
}

/** @param {Element} host @param {string} title @param {string} survey */
function nothingHere(host, title, survey) {
  const words = "There is no plan on this phone yet.";
  fill(
    host,
    el("h1", null, title),
    el("p", null, words),
    el("p", null, link("To the deck plan", at(survey, "plan"), { class: "button first" })),
  );
  return { title };
}

/**
 * Has the rest planned from what is laid, and says in `state` what came of it.
 * @param {import("../screens.js").Book} book
 * @param {string} survey
 * @param {Work} work
 * @param {HTMLElement} state
 * @returns {Promise<Work | null>} null where there is no other plan
 */
async function planOn(book, survey, { raw, tasks, done, noted }, state) {
  state.textContent = "The rest is being planned.";
  const past = tasks
    .slice(0, done)
    .flatMap(({ deck, step }) => step.pieces.map((/** @type {string} */ id) => `${deck.id} ${id}`));
  const begun = { plan: raw?.body, laid: laidFile(raw?.body, past, noted) };
  try {
    const got = await book.sync.askPaper(survey, "plan", raw?.choices ?? {}, begun);
    state.textContent = said(got.refused ?? "The rest is planned again.");
    return got.refused ? null : workOf(got, undefined);
  } catch (error) {
    const why = error instanceof Error ? error.message : error;
    state.textContent = `The plan did not come: ${why} What you noted is kept.`;
    return null;
  }
}

/**
 * Shows the step that comes now.
 * @type {import("../screens.js").Mount}
 */
export async function mount(host, { book, survey }) {
  const [title, key] = ["Laying the deck", `laid.${survey.id}`];
  /** @type {Kept | undefined} */
  const kept = await book.kept(key);
  let work = workOf(await book.sync.paper(survey.id, "plan"), kept);
  if (!work.tasks.length) return nothingHere(host, title, survey.id);
  const state = el("p", { role: "status" });
  const keep = () => book.keep(key, { plan: work.name, done: work.done, noted: work.noted });
  const go = async (/** @type {number} */ to) => {
    work.done = to;
    await keep();
    draw();
    window.scrollTo(0, 0);
    const { tasks } = work;
    say(to < tasks.length ? `Step ${to + 1}. ${tasks[to].step.say}` : "All steps are done.");
  };
  const again = async (/** @type {import("./landed.js").Landed} */ landed) => {
    const { deck, step } = work.tasks[work.done];
    work.noted = { ...work.noted, [keyOf(deck, step)]: landed };
    // Noted first: it is not lost where the service is out of reach.
    await keep();
    window.scrollTo(0, 0);
    const next = await planOn(book, survey.id, work, state);
    if (!next) return;
    work = next;
    await go(work.done);
  };
  const draw = () => {
    const { tasks, done, anew } = work;
    const over = done >= tasks.length;
    fill(
      host,
      el("h1", null, over ? "The deck is laid" : `Step ${done + 1} of ${tasks.length}`),
      state,
      anew &&
        done === 0 &&
        el("p", { class: "told" }, "The plan is another one than the ticks were made on. The steps begin anew."),
      changedNodes(work),
      el("p", { class: "quiet" }, standing(tasks, done)),
      ...(over ? [] : stepNodes(tasks, done)),
      ...keyNodes(
        work,
        survey.id,
        (to) => void go(to),
        (landed) => void again(landed),
      ),
    );
  };
  draw();
  return { title: `${title}, ${count(work.tasks.length, "step")}` };
}
