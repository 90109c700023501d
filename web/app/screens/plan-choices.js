/**
 * What the person may choose of a plan.
 * @module screens/plan-choices
 */
import { choice, field, focusWrong, readWhole } from "../form.js";
import { measured } from "../lengths.js";
import { button, el } from "../ui.js";

/** @typedef {Record<string, string>} Choices as the service takes them */

/** @param {Choices} choices */
function fields(choices) {
  const [length = "", width = ""] = (choices.board ?? "").split("x");
  const whole = (/** @type {string} */ label, /** @type {string} */ value, hint = "", unit = "mm") =>
    field(label, { value, hint, unit, whole: true });
  return {
    deck: field("Board thickness", {
      value: choices.deck ?? "",
      options: [
        ["", "as the joists need"],
        ["18", measured(18)],
        ["22", measured(22)],
      ],
    }),
    length: whole("Length of a board", length, "Its cover: without the tongue. Leave empty for the usual size."),
    width: whole("Width of a board", width),
    had: whole("Boards there already", choices.had ?? "", "", "boards"),
    gap: whole("Gap at the walls", choices.gap ?? "", "Leave empty for the gap that the rule gives."),
    board: field("Price of a board", { value: choices["price.board"] ?? "", hint: "Your own, in any money." }),
    edge: choice(
      "Lay from",
      [
        ["near", "the near edge"],
        ["far", "the far edge"],
      ],
      choices.start_wall ?? "near",
    ),
    first: choice(
      "First course",
      [
        ["auto", "as fits best"],
        ["full", "a full board"],
        ["equal", "as wide as the last"],
      ],
      choices.first ?? "auto",
    ),
  };
}

/**
 * The form of the choices.
 * @param {Choices} choices those made last
 * @param {(choices: Choices) => void} plan what a touch on the button does
 * @returns {HTMLElement}
 */
export function choicesForm(choices, plan) {
  const { edge, first, ...texts } = fields(choices);
  const form = el(
    "form",
    { novalidate: true },
    ...Object.values(texts).map(({ node }) => node),
    edge.node,
    first.node,
    el(
      "p",
      null,
      button("Plan it so", () => read(), { class: "first" }),
    ),
  );
  const read = () => {
    const given = {
      length: readWhole(texts.length, { least: 600, most: 6000 }),
      width: readWhole(texts.width, { least: 200, most: 1500 }),
      had: readWhole(texts.had, { most: 10_000, what: "a whole number" }),
      gap: readWhole(texts.gap, { most: 50 }),
    };
    const price = texts.board.text().replace(",", ".");
    texts.board.wrong(/^(\d{1,6}(\.\d{1,2})?)?$/.test(price) ? "" : "Give a price such as 14 or 14.50.");
    if (given.length && !given.width) texts.width.wrong("Give the width too.");
    if (given.width && !given.length) texts.length.wrong("Give the length too.");
    if (focusWrong(form)) return;
    /** @type {[string, string | number | null | undefined | false][]} */
    const all = [
      ["deck", texts.deck.text()],
      ["board", given.length && given.width && `${given.length}x${given.width}`],
      ["had", given.had],
      ["gap", given.gap],
      ["price.board", price],
      ["start_wall", edge.value()],
      ["first", first.value()],
    ];
    const chosen = all.filter(([, value]) => value !== "" && value !== null && value !== undefined && value !== false);
    plan(Object.fromEntries(chosen.map(([name, value]) => [name, String(value)])));
  };
  return el("details", null, el("summary", null, "Choose otherwise"), form);
}
