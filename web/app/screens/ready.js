/**
 * Whether this phone is ready for the loft, line by line, before the network goes.
 * @module screens/ready
 */
import { cautions } from "../cautions.js";
import { readyTests } from "../ready/ready.js";
import { button, el, fill, say } from "../ui.js";

/** Told by shape and word; the tone comes last. */
const MARKS = /** @type {const} */ ({
  true: ["✓", "yes", "yes"],
  false: ["✗", "not yet", "no"],
  null: ["?", "cannot tell", "open"],
});

/**
 * @param {{name: string, ok: boolean | null, say: string, remedy?: string}} test
 * @returns {HTMLElement}
 */
function line({ name, ok, say: words, remedy }) {
  const [sign, word, shape] = MARKS[/** @type {"true" | "false" | "null"} */ (String(ok))];
  return el(
    "li",
    { class: `test ${shape}` },
    el("span", { class: "sign", "aria-hidden": "true" }, sign),
    el(
      "span",
      null,
      el("strong", null, `${name}: ${word}.`),
      ` ${words}`,
      ok !== true && remedy && el("span", { class: "remedy" }, remedy),
    ),
  );
}

/** @param {{ok: boolean | null}[]} tests */
function verdict(tests) {
  if (tests.every((test) => test.ok === true)) return ["✓", "Ready for the loft. The network may go."];
  if (tests.some((test) => test.ok === false)) return ["✗", "Not ready yet. See to the lines marked ✗ first."];
  return ["?", "Ready as far as this phone can tell. Read the lines marked ?."];
}

/**
 * Shows the tests and makes them again on a touch.
 * @type {import("../screens.js").Mount}
 */
export function mount(host, { book }) {
  const outcome = el("p", { class: "verdict", role: "status" }, "Looking…");
  const list = el("ul", { class: "plain tests" });
  const look = async () => {
    const tests = await readyTests(book);
    const [sign, words] = verdict(tests);
    fill(outcome, el("span", { class: "sign", "aria-hidden": "true" }, sign), words);
    fill(list, ...tests.map(line));
    say(words);
  };
  const again = button("Look again", () => void look());
  fill(
    host,
    el("h1", null, "Ready for the loft?"),
    outcome,
    list,
    el("p", null, again),
    cautions("Before you climb", "climb", "decide"),
  );
  void look();
  return { title: "Ready for the loft" };
}
