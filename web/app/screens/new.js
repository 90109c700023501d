/**
 * A new survey: its name, its runs of joists, its tape.
 * @module screens/new
 */
import { newHead } from "../book/entry.js";
import { field, focusWrong } from "../form.js";
import { at } from "../router.js";
import { nextRunId, runForm, tapeForm } from "../run-form.js";
import { button, el, fill, say, why } from "../ui.js";

/** @typedef {ReturnType<typeof runForm>} RunForm */

/**
 * The run forms and the button that adds one.
 * @returns {{node: HTMLElement, read: () => import("../run-form.js").RunHead[] | null}}
 */
function runForms() {
  /** @type {RunForm[]} */
  const forms = [];
  const list = el("div");
  const add = () => {
    const form = runForm(nextRunId(forms.map((one) => one.id)));
    forms.push(form);
    list.append(form.node);
    return form;
  };
  add();
  const another = button("Add another run", () => add().node.querySelector("input")?.focus());
  const hint = el(
    "span",
    { class: "hint" },
    "A run is a set of joists side by side. Where they change, a new run begins; where they lap over a spine wall, the same may go on.",
  );
  const read = () => {
    const runs = forms.map((form) => form.read());
    return runs.includes(null) ? null : /** @type {import("../run-form.js").RunHead[]} */ (runs);
  };
  return { node: el("div", null, list, el("p", null, another, hint)), read };
}

/**
 * Shows the form.
 * @type {import("../screens.js").Mount}
 */
export function mount(host, { book, go }) {
  const title = field("Name of the survey", { hint: "Such as the house and the part of the loft.", most: 200 });
  const tape = tapeForm();
  const runs = runForms();
  const failed = el("p", { class: "wrong", hidden: true, role: "alert" });
  const form = el("form", { novalidate: true }, title.node, runs.node, tape.node, failed);
  form.append(el("p", { class: "row" }, el("button", { class: "first", type: "submit" }, "Make the survey")));
  let busy = false;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    title.wrong(title.text() ? "" : "Give the survey a name.");
    const read = runs.read();
    if (focusWrong(form) || !read || busy) return;
    busy = true;
    try {
      const id = await book.createSurvey(newHead(title.text(), tape.read(), read));
      say("The survey is stored on this phone.");
      go(at(id));
    } catch (error) {
      busy = false;
      failed.hidden = false;
      failed.textContent = `The survey could not be stored: ${why(error)}. What you typed is still here. Try again.`;
    }
  });
  fill(host, el("h1", null, "New survey"), form);
  return { title: "New survey" };
}
