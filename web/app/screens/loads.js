/**
 * What the joists carry: each joist by the check that governs it, with its working. It screens; it
 * approves nothing.
 * @module screens/loads
 */
import { figure, imperial, length, measured } from "../lengths.js";
import { inFeet, inUnits } from "../sentences.js";
import { button, el, fill, sheetWidth, svg, why } from "../ui.js";
import { ago, count, joistName } from "../words.js";
import { form, things } from "./load-choices.js";
import { cited, table } from "./plan-lists.js";

/** @typedef {import("../screens.js").Survey} Survey */
/** @typedef {import("../book/types.js").PaperRecord} Paper */
/** @typedef {import("./load-choices.js").Choices} Choices */
/** @typedef {import("./load-choices.js").Ask} Ask */

/** Each outcome's sign and words; the sign tells it without colour. */
const OUTCOMES = /** @type {Record<string, [string, string]>} */ ({
  holds: ["✓", "passes these checks"],
  holds_if_deck_fixed: ["~", "passes only if the deck is glued and screwed"],
  does_not_hold: ["✗", "does not hold for this use"],
  not_to_be_relied_on: ["!", "not to be relied on"],
  refused: ["!", "an engineer must look"],
  not_checked: ["?", "not checked"],
});

/** @param {any} joist @returns {[string, string]} */
function outcome({ verdict, sure }) {
  const [sign, words] = OUTCOMES[verdict] ?? ["?", verdict];
  return sure === false ? [`${sign}?`, `${words}, as measured; measure again`] : [sign, words];
}

/** @param {number | null} value a share of one; null where there is no figure */
const share = (value) => (value === null ? "no figure" : `${Math.round(value * 100)}\u00a0of\u00a0100`);

/**
 * The joists on a rod, each with its sign.
 * @param {any} run of the load check
 * @param {any} built the run of the as-built
 */
function rod(run, built) {
  const line = built?.lines[0];
  const at = (/** @type {number} */ index) => built?.joists[index - 1]?.at[line]?.x;
  const end =
    built?.walls.end.at[line]?.x ?? Math.max(0, ...run.joists.map((/** @type {any} */ one) => at(one.index) ?? 0));
  if (!end) return null;
  const wide = Math.max(sheetWidth(), run.joists.length * 22);
  const px = (/** @type {number} */ mm) => Math.round((mm / end) * (wide - 16) + 8);
  const marks = run.joists
    .filter((/** @type {any} */ { index }) => at(index) !== null && at(index) !== undefined)
    .map((/** @type {any} */ joist, /** @type {number} */ turn) => {
      const x = px(at(joist.index));
      const name =
        turn % 2 ? null : svg("text", { x, y: 62, "text-anchor": "middle", class: "name" }, joistName(joist.index));
      return svg(
        "g",
        null,
        svg("rect", { x: x - 2, y: 24, width: 4, height: 22, class: "joist" }),
        svg("text", { x, y: 17, "text-anchor": "middle", class: "sign" }, outcome(joist)[0]),
        name,
      );
    });
  const words = run.joists.map((/** @type {any} */ one) => `${joistName(one.index)} ${outcome(one)[1]}`).join(", ");
  return el(
    "div",
    { class: "scroll", tabindex: "0", role: "region", "aria-label": "The joists on a rod" },
    svg(
      "svg",
      {
        viewBox: `0 0 ${wide} 66`,
        role: "img",
        "aria-label": words,
        class: "plan",
        style: { width: `${wide / 16}rem`, "max-width": "none" },
      },
      svg("path", { d: `M8 24H${wide - 8}V46H8Z`, class: "lath" }),
      ...marks,
    ),
  );
}

/** Signs of a working that stand for a length of the loft [mm]. */
const MEASURED = ["b", "h", "l", "span", "depth", "left", "cut", "h_ef", "x"];

/** @param {any} check */
function working({ name, formula, numbers, source, demand, capacity, unit }) {
  const own = (/** @type {string} */ sign, /** @type {any} */ value) =>
    imperial() && MEASURED.includes(sign) ? ` (${length(value)})` : "";
  const given = Object.entries(numbers ?? {}).map(([sign, value]) => `${sign} = ${round(value)}${own(sign, value)}`);
  return el(
    "li",
    null,
    el("strong", null, name),
    `: ${formula}. ${given.join(", ")}. ${round(demand)} against ${round(capacity)} ${unit}. `,
    el("span", { class: "quiet" }, source),
  );
}

/** @param {unknown} value */
const round = (value) => (typeof value === "number" ? Number(value.toPrecision(4)) : String(value));

/** @param {string | null} heading @param {any[]} [some] texts, or what has its own words */
function listed(heading, some = []) {
  if (!some.length) return [];
  const list = el("ul", null, ...some.map((one) => el("li", null, one.say ?? one)));
  return heading ? [el("h3", null, heading), list] : [list];
}

/** @param {any} joist */
function joistDetails(joist) {
  const {
    index,
    spans,
    width_carried: width,
    breadth,
    depth,
    grade,
    checks,
    evidence,
    fixes,
    cautions,
    say,
    governing,
  } = joist;
  const [sign, words] = outcome(joist);
  const by = governing
    ? ` ${governing.holds ? "Nearest to" : "Furthest beyond"} its limit: ${governing.name}, ${share(governing.utilisation)}.`
    : "";
  const rows = checks.map((/** @type {any} */ one) => [
    one.line === "floor" ? `${one.name}, floor load` : one.name,
    share(one.utilisation),
    one.holds ? (one.sure ? "✓" : "✓? measure again") : "✗",
  ]);
  return el(
    "details",
    null,
    el("summary", null, el("span", null, `${sign} ${joistName(index)}: ${words}.`)),
    el("p", null, `${say}${by}`),
    ...listed(null, cautions),
    el(
      "p",
      { class: "quiet" },
      `Span ${spans.map(measured).join(" + ") || "?"}, carries a width of ${measured(width)}, ${figure(breadth)} × ${measured(depth)} ${grade ?? ""}.`,
    ),
    rows.length > 0 && table(`Checks of ${joistName(index)}`, ["Check", "Used", "Holds"], rows),
    ...listed("What would help", fixes),
    ...listed("Beside it, the published tables", evidence),
    rows.length > 0 && el("details", null, el("summary", null, "The working"), el("ul", null, ...checks.map(working))),
  );
}

/**
 * An opening: what is asked about the roof, one question at a time, and then what would carry it.
 * @param {any} opening @param {Choices} choices @param {Ask} ask
 */
function openingNode({ say, roof, trimmers, trimming }, choices, ask) {
  const question = roof?.ask;
  const answer = (/** @type {string} */ given) =>
    button(given, () => ask({ ...choices, roof: `${choices.roof ? `${choices.roof},` : ""}${question.id}=${given}` }));
  const options = (/** @type {any} */ timber) =>
    timber.options.map((/** @type {any} */ one) => `${one.what} ${share(one.utilisation)}`).join(", ");
  return el(
    "div",
    { class: "told" },
    el("p", null, say),
    question &&
      el(
        "p",
        { role: "group", "aria-label": question.say },
        ...question.answers.flatMap((/** @type {string} */ one) => [answer(one), " "]),
      ),
    choices.roof &&
      el(
        "p",
        null,
        button("Answer about the roof anew", () => ask({ ...choices, roof: "" })),
      ),
    ...listed(null, [
      ...trimmers.map(
        (/** @type {any} */ one) =>
          `Trimmer at the ${one.end} end: ${one.hangers.join(", ")} kN hang on it, ${one.end_hangers.join(" and ")} kN at its ends; ${options(one)}.`,
      ),
      ...trimming.map((/** @type {any} */ one) => `${joistName(one.joist)} beside it: ${options(one)}.`),
    ]),
  );
}

/** @param {any} run @param {Survey} survey @param {Choices} choices @param {Ask} ask */
function runSection(run, survey, choices, ask) {
  const built = survey.asBuilt?.runs.find((/** @type {any} */ { id }) => id === run.id);
  const said = run.joists.map((/** @type {any} */ one) => outcome(one).join(" "));
  const tally = [...new Set(said)].map(
    (words) => `${words}: ${count(said.filter((/** @type {string} */ one) => one === words).length, "joist")}`,
  );
  const words = [run.dead, run.deck, run.strutting, ...run.cautions].map((part) => part?.say ?? part).filter(Boolean);
  return el(
    "section",
    null,
    el("h2", null, run.title || `Run ${run.id}`),
    el("ul", { class: "plain verdict" }, ...tally.map((one) => el("li", null, one))),
    rod(run, built),
    ...words.map((one) => el("p", null, one)),
    ...(run.deck?.cautions ?? []).map((/** @type {string} */ one) => el("p", { class: "quiet" }, one)),
    ...run.openings.map((/** @type {any} */ one) => openingNode(one, choices, ask)),
    ...run.joists.map(joistDetails),
  );
}

/** @param {any} lifting */
function lifting({ board, things = [], cautions = [] }) {
  const mass = board && `A board weighs about ${Math.round(board.mass)} kg.`;
  return el(
    "section",
    null,
    el("h2", null, "Getting things up"),
    mass && el("p", null, mass),
    ...things.map((/** @type {any} */ one) => el("p", null, [one, ...one.hatches].map(({ say }) => say).join(" "))),
    el("ul", null, ...cautions.map((/** @type {string} */ one) => el("li", null, one))),
  );
}

/** @param {Paper | undefined} paper @param {Survey} survey @param {Ask} ask */
function body(paper, survey, ask) {
  const choices = paper?.choices ?? {};
  if (!paper?.body)
    return [
      paper?.refused && el("p", { class: "told", role: "alert" }, paper.refused),
      el(
        "p",
        null,
        "The service works this out from the as-built. It needs its network once; then it stays on this phone.",
      ),
      el(
        "p",
        null,
        button("Check the joists", () => ask(choices), { class: "first" }),
      ),
    ];
  const { use, runs, cautions, rules, lifting: lift } = paper.body;
  const { of, fetchedAt } = paper.made ?? paper;
  const old = survey.asBuiltState.etag !== of || survey.asBuiltState.stale;
  return [
    paper.refused && el("p", { class: "told", role: "alert" }, paper.refused),
    el("div", { class: "told" }, ...listed(null, cautions)),
    el("p", { class: "verdict" }, use.say),
    el(
      "p",
      { class: "quiet" },
      `Worked out by the service ${ago(fetchedAt)}. ${old ? "Readings have come since: check again." : ""}`,
    ),
    inFeet(
      "Standards reckon in millimetres: formulas and sags stay in them. What you would measure stands beside in feet and inches.",
    ),
    ...runs.map((/** @type {any} */ run) => runSection(run, survey, choices, ask)),
    cited(rules),
    el("h2", null, "Ask again"),
    el(
      "p",
      null,
      button("Check again", () => ask(choices)),
    ),
    form(choices, ask),
    things(choices, ask),
    lift && lifting(lift),
  ];
}

/**
 * Shows the check kept here, and asks for another.
 * @type {import("../screens.js").Mount}
 */
export async function mount(host, { book, survey }) {
  const [state, sheet] = [el("p", { role: "status" }), el("div")];
  /** @type {Paper | undefined} */
  let paper;
  const ask = async (/** @type {Record<string, string>} */ choices) => {
    state.textContent = "The joists are being checked.";
    try {
      paper = await book.sync.askPaper(survey.id, "capacity", choices);
      state.textContent = "";
    } catch (error) {
      state.textContent = `It did not come: ${why(error)} What is kept here stays.`;
    }
    show();
  };
  const screens =
    "This looks at the joists one by one. It approves nothing. A structural engineer and building control decide what a floor may carry, by the rules where you are.";
  const told = el("p", { class: "told" }, screens);
  const show = () => {
    // The check says it itself, and what goes for this loft besides.
    told.hidden = Boolean(paper?.body);
    fill(sheet, ...body(inUnits(paper), survey, (choices) => void ask(choices)));
  };
  fill(host, el("h1", null, "What the joists carry"), told, state, sheet);
  paper = await book.sync.paper(survey.id, "capacity");
  show();
  return { title: "What the joists carry" };
}
