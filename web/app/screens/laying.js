/**
 * Laying the deck: one step at a time, large, with what to mark and cut; ticked when done. What is
 * ticked is kept on the phone and outlives the page.
 * @module screens/laying
 */
import { keyOf, courseOf, oldWords, nextOpen, pastOf, progressOf, progressWords } from "../laid.js";
import { figure, measured } from "../lengths.js";
import { at } from "../router.js";
import { inUnits, said } from "../sentences.js";
import { button, el, fill, link, say, sheetWidth, svg, why } from "../ui.js";
import { untouched } from "../untouched.js";
import { landedForm } from "./landed.js";
import { drawStage } from "./plan-drawing.js";
import { changedNodes, markNodes } from "./plan-lists.js";

/** @typedef {import("../book/types.js").PaperRecord} Paper */
/** @typedef {import("../screens.js").Survey} Survey */
/** @typedef {import("../laid.js").Progress} Progress */
/** @typedef {import("../laid.js").Task} Task */
/** @typedef {Progress & {paper: Paper | undefined}} Work the plan as it is kept here, and how far it is laid */

/** Height of the drawn board, and of what stands above and below it [px]. */
const LATH = 34;
const ABOVE = 22;
const BELOW = 20;

/**
 * One board as a rod: its pieces with their lengths, what is waste hatched by crossed lines.
 * @param {any[]} pieces of one strip, from its left-hand end
 * @param {number} length of the board [mm]
 */
function boardRod(pieces, length) {
  const wide = sheetWidth();
  const k = (wide - 4) / length;
  const px = (/** @type {number} */ mm) => Math.round((2 + mm * k) * 10) / 10;
  const ends = [0, ...pieces.map(({ at: from, length: long }) => from + long)];
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
  const waste = ends.flatMap((end, index) => {
    const [from, to] = [px(end), px(pieces[index]?.at ?? length)];
    const cross = `M${from} ${ABOVE}H${to}v${LATH}H${from}L${to} ${ABOVE}M${from} ${ABOVE}l${to - from} ${LATH}`;
    return to - from > 1 ? svg("path", { d: cross, class: "dim" }) : [];
  });
  const words = svg("text", { x: 2, y: ABOVE + LATH + 15, class: "fig" }, "left-hand end, face up");
  const size = {
    viewBox: `0 0 ${wide} ${ABOVE + LATH + BELOW}`,
    style: { width: `${wide / 16}rem`, "max-width": "100%" },
  };
  const label = `Cut: ${pieces.map(({ id, length: long }) => `${id} ${measured(long)}`).join(", ")}`;
  return svg("svg", { ...size, role: "img", "aria-label": label, class: "plan deck" }, ...shapes, ...waste, words);
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

/** @param {Work} work @returns {import("./plan-drawing.js").Stage} */
function stageOf(work) {
  const ids = (/** @type {Task[]} */ some) => new Set(some.flatMap(({ step }) => [...step.noggins, ...step.pieces]));
  const [past, now] = [ids(pastOf(work)), ids([work.tasks[work.done]])];
  return (id) => (now.has(id) ? "now" : past.has(id) ? "done" : "later");
}

/** @param {Work} work */
function stepNodes(work) {
  const { deck, step } = work.tasks[work.done];
  const cuts = cutting(work.tasks[work.done]);
  return [
    // Where nothing is marked, fixed or laid, the words are all there is, and need the room.
    !!(step.marks[0] ?? step.noggins[0] ?? step.pieces[0]) &&
      el(
        "div",
        { class: "scroll stage", tabindex: "0", role: "region", "aria-label": "Drawing of the deck" },
        drawStage(deck, stageOf(work), `The deck at step ${work.done + 1}`),
      ),
    el("div", { class: "large" }, ...markNodes(step.marks)),
    el("p", { class: "step-words" }, step.say),
    ...cuts,
    cuts.length > 0 &&
      el("p", null, "Crossed is waste. Saw on its side of the mark, so that the saw's cut is lost there."),
  ];
}

/** @param {Task} task */
function titleOf({ deck, step }) {
  const [first] = step.pieces;
  return first ? `course ${courseOf(deck, first) + 1}` : step.kind === "raise" ? "packing" : step.kind;
}

/** @typedef {{go: (to: number) => void, take: (landed: import("../laid.js").Landed) => void, again: () => void}} Acts */

/** @param {Work} work @param {string} survey @param {Acts} acts */
function keyNodes({ tasks, done, noted }, survey, { go, take, again }) {
  const task = tasks[done];
  return [
    el(
      "p",
      { class: "row step-keys" },
      done > 0 && button("Back one", () => go(done - 1)),
      task && button("Done, next", () => go(nextOpen(tasks, done + 1)), { class: "first" }),
    ),
    Object.keys(noted).length > 0 && el("p", null, button("Plan in what you noted", again)),
    task?.step.kind === "course" && landedForm(task, noted[keyOf(task)], take),
    task &&
      el(
        "p",
        null,
        link("An opening lies elsewhere: set it out", at(survey, "features", task.deck.run), {
          class: "button slight",
        }),
      ),
  ];
}

/** @param {Element} host @param {string} title @param {string} survey */
function nothingHere(host, title, survey) {
  const words = "There is no plan here yet: make one";
  fill(host, el("h1", null, title), el("p", null, link(words, at(survey, "plan"), { class: "button first" })));
  return { title };
}

/**
 * Brings what comes now into the drawing's own window; the page stands still.
 * @param {Element} host
 */
function bringIn(host) {
  const [stage, now] = [".stage", ".now"].map((name) => host.querySelector(name));
  if (!stage || !now) return;
  const [window, box] = [stage, now].map((one) => one.getBoundingClientRect());
  stage.scrollTop += box.y + box.height / 2 - window.y - window.height / 2;
  stage.scrollLeft += box.x - window.x - 16;
}

/**
 * @param {HTMLElement} host
 * @param {Node} state
 * @param {Work} work
 * @param {Survey} survey
 * @param {Acts} acts
 */
function show(host, state, work, survey, acts) {
  const { tasks, done, paper } = work;
  const old = paper && oldWords(paper, survey);
  const over = done >= tasks.length;
  fill(
    host,
    el("h1", null, over ? "The deck is laid" : `Step ${done + 1} of ${tasks.length}: ${titleOf(tasks[done])}`),
    state,
    ...(over ? [] : stepNodes(work)),
    paper?.refused && el("p", { class: "told", role: "alert" }, paper.refused),
    old && el("p", { class: "told" }, old),
    el("p", { class: "quiet" }, progressWords(work)),
    changedNodes(paper),
    ...keyNodes(work, survey.id, acts),
  );
  bringIn(host);
}

/**
 * Shows the step that comes now.
 * @type {import("../screens.js").Mount}
 */
export async function mount(host, { book, survey }) {
  const [title, key] = ["Laying the deck", `laid.${survey.id}`];
  const state = el("p", { role: "status" });
  const load = async () => {
    const paper = inUnits(await book.sync.paper(survey.id, "plan"));
    return { paper, ...progressOf(paper?.body, await book.kept(key)) };
  };
  /** @type {Work} */
  let work = await load();
  let busy = false;
  if (!work.tasks.length) return nothingHere(host, title, survey.id);
  const keep = () => book.keep(key, { plan: work.name, done: work.done, noted: work.noted });
  /** A plan may have come meanwhile, with what was ticked by then. */
  const renew = async () => {
    if (busy || (await book.sync.paper(survey.id, "plan"))?.fetchedAt === work.paper?.fetchedAt) return false;
    const before = work.name;
    work = await load();
    if (work.name !== before) fill(state, "Another plan is here. See what changed.");
    untouched(draw)();
    return work.name !== before;
  };
  const go = async (/** @type {number} */ to) => {
    if (await renew()) return;
    work.done = to;
    await keep();
    tell();
    draw();
    window.scrollTo(0, 0);
    const { tasks } = work;
    say(to < tasks.length ? `Step ${to + 1}. ${tasks[to].step.say}` : "All steps are done.");
  };
  const again = async () => {
    busy = true;
    fill(state, "The rest is being worked out.");
    window.scrollTo(0, 0);
    try {
      const got = await book.sync.askPaper(survey.id, "plan", work.paper?.choices ?? {});
      work = await load();
      fill(state, said(got.refused ?? "The rest is planned again."));
      if (!got.refused) await keep();
    } catch (error) {
      fill(state, `The plan did not come: ${why(error)} What you noted is kept.`);
    }
    busy = false;
    draw();
  };
  const take = async (/** @type {import("../laid.js").Landed} */ landed) => {
    work.noted = { ...work.noted, [keyOf(work.tasks[work.done])]: landed };
    // Noted first: it is not lost where the service is out of reach.
    await keep();
    await again();
  };
  const tell = () => fill(state, Object.keys(work.noted).length > 0 && "What you noted is not in the plan yet.");
  const acts = { go: (/** @type {number} */ to) => void go(to), take, again };
  const draw = () => show(host, state, work, survey, acts);
  tell();
  draw();
  survey.addEventListener("change", renew);
  return { title, unmount: () => survey.removeEventListener("change", renew) };
}
