/**
 * What is asked of the load check: the use of the floor, its weight, and what is put on it.
 * @module screens/load-choices
 */
import { choice, field, focusWrong, readWhole } from "../form.js";
import { button, el } from "../ui.js";

/** @typedef {Record<string, string>} Choices */
/** @typedef {(choices: Choices) => void} Ask */

/** What a thing's fields are called: key, label, unit. */
const SIZES = [
  ["width", "Its width, across the joists"],
  ["length", "Its length, along them"],
  ["height", "Its height"],
  ["x", "From the start wall to its middle"],
  ["y", "From the first tape line to its middle"],
];

/** Things put on the floor, several at once. @param {Choices} choices @param {Ask} ask */
export function things(choices, ask) {
  const there = (choices.thing ?? "").split("\n").filter(Boolean);
  const put = (/** @type {string[]} */ all) => {
    const { thing: _, ...rest } = choices;
    ask(all.length ? { ...rest, thing: all.join("\n") } : rest);
  };
  const name = field("What it is");
  const mass = field("Its mass", { unit: "kg", most: 8 });
  const sizes = SIZES.map(
    ([key, label]) => /** @type {const} */ ([key, field(label, { unit: "mm", hint: "May be left empty." })]),
  );
  const moving = choice(
    "What it does",
    [
      ["still", "stands still"],
      ["walked_on", "moves, or is walked on"],
      ["jumped_on", "is jumped on or dropped"],
    ],
    "still",
  );
  const read = () => {
    const heavy = mass.text().replace(",", ".");
    name.wrong(name.text() ? "" : "Give it a name.");
    mass.wrong(Number(heavy) > 0 ? "" : "Give a number such as 80.");
    const lengths = sizes.map(([key, one]) => [key, readWhole(one)]);
    if (focusWrong(node)) return;
    const given = [
      ["mass", heavy],
      ["moving", moving.value()],
      ...lengths.filter(([, value]) => typeof value === "number"),
    ];
    put([...there, [name.text().replace(/\s*[,=]\s*/g, " "), ...given.map((pair) => pair.join("="))].join(",")]);
  };
  const node = el(
    "form",
    { novalidate: true },
    el(
      "ul",
      null,
      ...there.map((text, at) =>
        el(
          "li",
          null,
          `${text.replaceAll(",", ", ").replaceAll("=", " ").replaceAll("_", " ")} `,
          button("Take it away", () => put(there.filter((_, other) => other !== at))),
        ),
      ),
    ),
    name.node,
    mass.node,
    ...sizes.map(([, one]) => one.node),
    moving.node,
    el(
      "p",
      null,
      button("Put it there", () => read(), { class: "first" }),
    ),
  );
  return el("details", { open: there.length > 0 }, el("summary", null, "Something heavy on the floor"), node);
}

/** What the floor is for, and what it weighs. @param {Choices} choices @param {Ask} ask */
export function form(choices, ask) {
  const use = choice(
    "What the loft is for",
    [
      ["storage", "light storage"],
      ["occasional", "a room now and then"],
      ["domestic", "a room to live in"],
    ],
    choices.use ?? "storage",
  );
  const ceiling = choice(
    "The ceiling below",
    [
      ["unknown", "not known"],
      ["plasterboard", "plasterboard"],
      ["plaster", "old plaster"],
      ["none", "none"],
    ],
    choices.ceiling ?? "unknown",
  );
  const dead = field("Permanent load, all of it", {
    value: choices.dead ?? "",
    unit: "kN/m²",
    most: 8,
    hint: "Leave empty to have it built from layers. 0.50 is about 50 kg on a square metre.",
  });
  const node = el(
    "form",
    { novalidate: true },
    use.node,
    ceiling.node,
    dead.node,
    el(
      "p",
      null,
      button("Check it so", () => read(), { class: "first" }),
    ),
  );
  const read = () => {
    const text = dead.text().replace(",", ".");
    dead.wrong(text === "" || Number(text) >= 0 ? "" : "Give a number such as 0.5.");
    if (focusWrong(node)) return;
    const { dead: _, ...rest } = choices;
    ask({ ...rest, use: use.value(), ceiling: ceiling.value(), ...(text && { dead: text }) });
  };
  return el("details", null, el("summary", null, "For another use"), node);
}
