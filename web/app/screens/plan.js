/**
 * The deck plan: every board, joint and noggin, worked out by the service and kept on the phone for
 * the day the boards are laid.
 * @module screens/plan
 */
import { cautions } from "../cautions.js";
import { oldWords, laidOf, progressOf, progressWords } from "../laid.js";
import { at } from "../router.js";
import { inUnits } from "../sentences.js";
import { button, el, fill, link, say, why } from "../ui.js";
import { ago, count } from "../words.js";
import { choicesForm } from "./plan-choices.js";
import { drawDeck, showPicked } from "./plan-drawing.js";
import { bayWords, boardCuts, changedNodes, laying, pieceWords, rulesHeld, shopping, stockCuts } from "./plan-lists.js";

/** @typedef {import("../screens.js").Survey} Survey */
/** @typedef {import("../screens.js").Book} Book */
/** @typedef {import("../book/types.js").PaperRecord} Paper */
/** @typedef {import("../laid.js").Progress} Progress */

/** @param {any} proof */
function proofWords({ boards, boards_lower_bound: least, optimal, gap }) {
  const best = optimal
    ? "No plan within the rules costs less."
    : `Not proved the best: at most ${Math.ceil(gap * 100)} in 100 could be saved.`;
  const fewest = boards > least ? ` None can do with fewer than ${least}.` : " None can do with fewer.";
  return `${count(boards, "board")}.${fewest} ${best}`;
}

/**
 * The drawing of a deck, and beneath it what a touch on it tells.
 * @param {any} deck
 * @param {Progress} progress
 * @param {number} joists how many the run has
 */
function drawing(deck, progress, joists) {
  const frame = el("div", {
    class: "scroll",
    tabindex: "0",
    role: "region",
    "aria-label": `Drawing of deck ${deck.id}`,
  });
  const told = el("div", { class: "picked-words" });
  /** @type {import("./plan-drawing.js").Hands} */
  const hands = {
    show: "boards",
    laid: laidOf(deck, progress),
    picked: {},
    pick: (what) => {
      hands.picked = what;
      showPicked(frame, what);
      fill(told, pickedWords(deck, hands, joists));
      say(told.textContent ?? "");
    },
  };
  const draw = () => {
    fill(frame, drawDeck(deck, hands, joists));
    fill(told, pickedWords(deck, hands, joists));
  };
  const keys = [button("Boards", () => turn("boards")), button("Timber below", () => turn("timber"))];
  const turn = (/** @type {"boards" | "timber"} */ show) => {
    hands.show = show;
    hands.picked = {};
    keys.forEach((key, at) => key.setAttribute("aria-pressed", String((at === 0) === (show === "boards"))));
    draw();
  };
  turn("boards");
  return [el("div", { class: "row", role: "group", "aria-label": "What the drawing shows" }, ...keys), frame, told];
}

/** @param {any} deck @param {import("./plan-drawing.js").Hands} hands @param {number} joists */
function pickedWords(deck, { show, picked: { piece, bay } }, joists) {
  const found = piece && deck.pieces.find((/** @type {any} */ { id }) => id === piece);
  if (found) return pieceWords(found, deck);
  if (bay !== undefined) return bayWords(bay, deck, joists);
  return el("p", { class: "quiet" }, `Touch ${show === "boards" ? "a board for its cut" : "a bay for its noggins"}.`);
}

/**
 * One deck: its drawing, then its lists.
 * @param {any} deck
 * @param {any} plan
 * @param {Progress} progress
 * @param {number} joists how many the run has
 */
function deckSection(deck, plan, progress, joists) {
  const told = deck.cautions.map((/** @type {any} */ one) => el("li", null, one.say));
  const others = deck.alternatives.map((/** @type {any} */ one) => el("li", null, one.say));
  return el(
    "section",
    null,
    el("h2", null, plan.decks.length > 1 ? `Deck ${deck.id}` : "The deck"),
    el("p", { class: "verdict" }, proofWords(deck.proof)),
    el("p", null, deck.thickness.say),
    told.length > 0 && el("ul", { class: "told" }, ...told),
    ...drawing(deck, progress, joists),
    others.length > 0 && el("p", null, "Other plans:"),
    others.length > 0 && el("ul", null, ...others),
    boardCuts(deck),
    stockCuts(deck),
    laying(deck),
    rulesHeld(deck, plan.cited),
  );
}

/** @param {any} plan @param {Survey} survey @param {Progress} progress */
function planNodes(plan, survey, progress) {
  const joists = (/** @type {string} */ run) =>
    survey.asBuilt?.runs.find((/** @type {any} */ one) => one.id === run)?.joists.length ??
    survey.head.runs.find(({ id }) => id === run)?.joists ??
    0;
  const told = plan.told.map((/** @type {string} */ words) => el("li", null, words));
  const known = plan.cautions.map((/** @type {any} */ one) => el("li", null, one.say));
  return [
    told.length > 0 && el("ul", { class: "told" }, ...told),
    el("p", null, "This does not say that the joists carry it."),
    el("p", null, link("See what the joists carry", at(survey.id, "loads"), { class: "button" })),
    ...plan.decks.map((/** @type {any} */ deck) => deckSection(deck, plan, progress, joists(deck.run))),
    el("section", null, el("h2", null, "What to buy"), ...shopping(plan.quantities)),
    el("section", { class: "cautions" }, el("h2", null, "Know before you start"), el("ul", null, ...known)),
  ];
}

/** @param {Paper} paper @param {Survey} survey */
function age(paper, survey) {
  const which = paper.made ? "The plan below is the one before, worked" : "Worked";
  return `${which} out by the service ${ago((paper.made ?? paper).fetchedAt)}, kept on this phone. ${oldWords(paper, survey)}`;
}

/** @param {Paper | undefined} paper @param {Survey} survey @param {Progress} progress @param {(choices: Record<string, string>) => void} ask */
function body(paper, survey, progress, ask) {
  const choices = paper?.choices ?? {};
  if (!paper)
    return [
      el(
        "p",
        null,
        "The service works this out from the as-built. It needs its network once; then it stays on this phone.",
      ),
      el(
        "p",
        null,
        button("Plan it", () => ask({}), { class: "first" }),
      ),
    ];
  const unsettled = paper.refused && survey.asBuilt && !survey.asBuilt.settled;
  return [
    paper.refused && el("p", { class: "told", role: "alert" }, paper.refused),
    paper.body && el("p", { class: "quiet" }, `${age(paper, survey)} ${progressWords(progress)}`),
    changedNodes(paper),
    el(
      "p",
      { class: "row" },
      paper.body && link("Lay it, step by step", at(survey.id, "laying"), { class: "button first" }),
      button("Plan it again", () => ask(choices), { class: paper.body ? "" : "first" }),
      unsettled && button("Plan it all the same", () => ask({ ...choices, anyway: "1" })),
    ),
    choicesForm(choices, (made) => ask(choices.anyway ? { ...made, anyway: "1" } : made)),
    ...(paper.body ? planNodes(paper.body, survey, progress) : []),
  ];
}

/**
 * Shows the plan kept here, and asks for another.
 * @type {import("../screens.js").Mount}
 */
export async function mount(host, { book, survey }) {
  const [state, sheet] = [el("p", { role: "status" }), el("div")];
  /** @type {Paper | undefined} */
  let paper;
  const ask = async (/** @type {Record<string, string>} */ choices) => {
    state.textContent = "The plan is being worked out. A large deck takes some seconds.";
    try {
      paper = await book.sync.askPaper(survey.id, "plan", choices);
      state.textContent = paper.refused ? "" : "The plan is here.";
    } catch (error) {
      state.textContent = `The plan did not come: ${why(error)} What is kept here stays.`;
    }
    await show();
  };
  const show = async () => {
    const progress = progressOf(paper?.body, await book.kept(`laid.${survey.id}`));
    fill(sheet, ...body(inUnits(paper), survey, progress, (choices) => void ask(choices)));
  };
  fill(host, el("h1", null, "Deck plan"), state, sheet, cautions("Before anyone cuts or builds", "cut", "decide"));
  paper = await book.sync.paper(survey.id, "plan");
  await show();
  return { title: "Deck plan" };
}
