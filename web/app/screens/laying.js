/**
 * Laying the deck: one step at a time, large, with what to mark and cut; ticked when done. What is
 * ticked is kept on the phone and outlives the page.
 * @module screens/laying
 */
import { figure, inUnits, measured } from "../lengths.js";
import { at } from "../router.js";
import { button, el, fill, link, say, sheetWidth, svg } from "../ui.js";
import { count } from "../words.js";
import { drawStage } from "./plan-drawing.js";

/** @typedef {{deck: any, step: any}} Task a step of the work, of its deck */
/** @typedef {{plan: string, done: number}} Kept how many tasks are done, and of which plan */

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
 * Shows the step that comes now.
 * @type {import("../screens.js").Mount}
 */
export async function mount(host, { book, survey }) {
  const title = "Laying the deck";
  const paper = inUnits(await book.sync.paper(survey.id, "plan"));
  const tasks = paper?.body ? tasksOf(paper.body) : [];
  if (!tasks.length) {
    const words = "There is no plan on this phone yet.";
    fill(
      host,
      el("h1", null, title),
      el("p", null, words),
      el("p", null, link("To the deck plan", at(survey.id, "plan"), { class: "button first" })),
    );
    return { title };
  }
  const [name, key] = [nameOf(paper?.body), `laid.${survey.id}`];
  /** @type {Kept | undefined} */
  const kept = await book.kept(key);
  let done = kept?.plan === name ? Math.min(kept.done, tasks.length) : 0;
  const go = async (/** @type {number} */ to) => {
    await book.keep(key, { plan: name, done: to });
    done = to;
    draw();
    window.scrollTo(0, 0);
    say(done < tasks.length ? `Step ${done + 1}. ${tasks[done].step.say}` : "All steps are done.");
  };
  const draw = () => {
    const over = done >= tasks.length;
    const other = kept && kept.plan !== name && done === 0;
    fill(
      host,
      el("h1", null, over ? "The deck is laid" : `Step ${done + 1} of ${tasks.length}`),
      other && el("p", { class: "told" }, "The plan is another one than the ticks were made on. The steps begin anew."),
      el("p", { class: "quiet" }, standing(tasks, done)),
      ...(over ? [] : stepNodes(tasks, done)),
      el(
        "p",
        { class: "row step-keys" },
        done > 0 && button("Back one", () => void go(done - 1)),
        !over && button("Done, next", () => void go(done + 1), { class: "first" }),
      ),
      done > 0 && !over && el("p", null, link(OTHERWISE, at(survey.id, "features", tasks[done].deck.run))),
    );
  };
  draw();
  return { title: `${title}, ${count(tasks.length, "step")}` };
}
