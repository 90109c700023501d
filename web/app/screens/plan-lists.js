/**
 * The lists of a plan: what was picked, what to buy, what to cut, in which order to lay.
 * @module screens/plan-lists
 */
import { figure, length, measured, spread } from "../lengths.js";
import { inFeet } from "../sentences.js";
import { el } from "../ui.js";
import { bayName, count } from "../words.js";

/** @param {any[]} many @param {string} id @returns {any} the one of that id */
const byId = (many, id) => many.find((one) => one.id === id);

/** What each edge of a piece is. */
const EDGES = /** @type {Record<string, string>} */ ({ tongue: "its tongue", groove: "its groove", cut: "sawn" });

/**
 * How one piece is cut.
 * @param {any} piece
 * @param {any} deck
 */
export function pieceWords(piece, deck) {
  const { id, board, at, length: long, width, left, right, near, far } = piece;
  const from = at > 0.5 ? `${measured(at)} from the board's left-hand end, then ${measured(long)}` : measured(long);
  const whole = long >= deck.deck.board.length - 0.5;
  const cut = whole ? "The whole length of the board." : `Mark ${from}. Face up, as it will lie.`;
  const narrow = width < deck.deck.board.width - 0.5 ? ` Ripped to ${measured(width)} at its widest.` : "";
  return el(
    "div",
    null,
    el("h3", null, `Piece ${id}, from board ${board}`),
    el("p", null, cut, narrow),
    el(
      "p",
      { class: "quiet" },
      `Left end ${EDGES[left]}, right end ${EDGES[right]}; near edge ${EDGES[near]}, far edge ${EDGES[far]}.`,
    ),
  );
}

/** What a noggin is for. */
const USES = /** @type {Record<string, string>} */ ({
  perimeter: "under the deck's edge",
  frame: "of a frame under an end joint",
  strutting: "of a strutting row",
});

/** @param {any} noggin */
function nogginWords({ id, length: long, sd, use, between, section, along, out_of_square: askew }) {
  const skew = askew ? ` One face ${measured(askew)} longer than the other: cut the ends to the joists.` : "";
  const way = along ? "along the joists" : `between ${between.join(" and ")}`;
  return `${id}: cut ${measured(long)} ${spread(sd)} from ${length(section.breadth)} × ${measured(section.depth)}, ${way}, ${USES[use] ?? use}.${skew}`;
}

/**
 * The noggins of one bay.
 * @param {number} bay
 * @param {any} deck
 * @param {number} joists how many the run has
 */
export function bayWords(bay, deck, joists) {
  const mine = deck.noggins.filter((/** @type {any} */ one) => one.bay === bay);
  const added = deck.added_joists.filter((/** @type {any} */ one) => one.bay === bay);
  const lines = [
    ...added.map(
      (/** @type {any} */ one) =>
        `Added joist ${one.id}: ${(one.lengths ?? [one.length]).map(measured).join(" and ")}. ${one.why}`,
    ),
    ...mine.map(nogginWords),
  ];
  return el(
    "div",
    null,
    el("h3", null, `Bay ${bayName(bay, joists)}`),
    lines.length
      ? el("ul", null, ...lines.map((words) => el("li", null, words)))
      : el("p", null, "Nothing to cut in this bay."),
  );
}

/** @param {string} name @param {...Node} body */
const folded = (name, ...body) => el("details", null, el("summary", null, name), ...body);

/** @param {import("../book/types.js").PaperRecord | undefined} paper what the plan does otherwise than the one before it */
export function changedNodes(paper) {
  const said = paper?.body?.changes?.say ?? [];
  return (
    said.length > 0 &&
    folded("What changed", el("ul", null, ...said.map((/** @type {string} */ words) => el("li", null, words))))
  );
}

/** @param {string} name @param {string[]} heads @param {(string | number)[][]} rows the first of each is its name */
export function table(name, heads, rows) {
  const head = el("tr", null, ...heads.map((words) => el("th", { scope: "col" }, words)));
  const lines = rows.map(([first, ...rest]) =>
    el(
      "tr",
      null,
      el("th", { scope: "row" }, first),
      ...rest.map((one) => el("td", { class: typeof one === "number" || /\.\d\d$/.test(one) ? "number" : null }, one)),
    ),
  );
  const body = el("table", null, el("thead", null, head), el("tbody", null, ...lines));
  return el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": name }, body);
}

/** @param {any[]} quantities */
export function shopping(quantities) {
  const priced = quantities.some(({ cost }) => cost !== null && cost !== undefined);
  const rows = quantities.map(({ what, size, buy, unit, cost }) => [
    `${what}${size ? `, ${size}` : ""}`,
    // Goods are counted in the plural; of one there is one.
    count(buy, unit.replace(/s$/, ""), unit),
    ...(priced ? [cost?.toFixed(2) ?? "no price given"] : []),
  ]);
  const why = quantities.map(({ what, why: words }) => el("li", null, `${what}: ${words}`));
  return [
    table("What to buy", ["What", "Buy", ...(priced ? ["Cost"] : [])], rows),
    inFeet("Goods are named in millimetres, as they are sold."),
    folded("How each was reckoned", el("ul", null, ...why)),
  ];
}

/** @param {any} deck */
export function boardCuts({ boards, pieces }) {
  const lines = boards.map((/** @type {any} */ board) => {
    const strips = board.strips ?? [board.cuts];
    const words = strips.map((/** @type {string[]} */ ids) =>
      ids.map((id) => `${id} ${figure(byId(pieces, id)?.length)}`).join(" | "),
    );
    const rest = board.offcut > 1 ? `, ${figure(board.offcut)} left` : "";
    return el("li", null, el("strong", null, board.id), `: ${words.join("; ripped, the other strip: ")}${rest}`);
  });
  return folded(
    `What each board is cut into (${count(boards.length, "board")})`,
    el("ul", { class: "steps plain" }, ...lines),
  );
}

/** @param {any} deck */
export function stockCuts({ timbers }) {
  const lines = timbers.map((/** @type {any} */ one) => {
    const cuts = one.cuts.map((/** @type {any} */ { item, length }) => `${item} ${figure(length)}`).join(" | ");
    return el(
      "li",
      null,
      el("strong", null, `${one.id}, ${measured(one.stock)}`),
      `: one end squared, ${cuts}, ${figure(one.offcut)} left`,
    );
  });
  return folded(
    `What the timber is cut into (${count(timbers.length, "length")})`,
    el("ul", { class: "steps plain" }, ...lines),
  );
}

/**
 * What to mark, one list for all that is measured from one place.
 * @param {any[]} marks
 */
export function markNodes(marks) {
  /** @type {[string, Node[]][]} */
  const groups = [];
  for (const { hook, to, value, along } of marks) {
    if (groups.at(-1)?.[0] !== hook) groups.push([hook, []]);
    groups.at(-1)?.[1].push(el("li", null, el("strong", null, figure(value)), along && ` ${along}`, `: ${to}`));
  }
  return groups.map(([hook, rows]) => {
    // No hook holds on a tongue.
    const [from, not] = hook.startsWith("the right-hand") ? ["Measure from", ", not its tongue"] : ["Hook on", ""];
    return el("div", null, `${from} ${hook}${not}. Mark`, el("ul", null, ...rows));
  });
}

/** @param {any} deck */
export function laying({ sequence }) {
  const steps = sequence.map((/** @type {any} */ { say, marks }) => el("li", null, say, ...markNodes(marks)));
  return folded(`The laying order (${count(steps.length, "step")})`, el("ol", { class: "steps" }, ...steps));
}

/** @param {any} deck @param {Record<string, any>} rules */
export function rulesHeld({ checks }, rules) {
  const lines = checks.map((/** @type {any} */ { rule, holds, say }) => {
    const source = rules?.[rule]?.source;
    return el("li", null, holds ? "✓ " : "✗ ", say, source && el("span", { class: "quiet" }, ` (${source})`));
  });
  return folded(`Rules checked (${count(checks.length, "rule")})`, el("ul", { class: "plain steps" }, ...lines));
}

/** Every rule that was used, with where it comes from. @param {Record<string, any>} rules */
export function cited(rules) {
  const one = (/** @type {any} */ { say, source, edition, clause, mark }) =>
    el(
      "li",
      null,
      `${say} `,
      el(
        "span",
        { class: "quiet" },
        [source, edition, clause, mark === "memory" && "from memory"].filter(Boolean).join(", "),
      ),
    );
  return el(
    "details",
    null,
    el("summary", null, "The rules and where they come from"),
    el("ul", null, ...Object.values(rules).map(one)),
  );
}
