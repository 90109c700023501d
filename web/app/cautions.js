/**
 * The cautions of the loft, said where they belong.
 * @module cautions
 */
import { el } from "./ui.js";

const CAUTIONS = {
  climb: [
    "Kneel on boards laid across the joists. Never step or lean between them: the ceiling below will not hold you.",
    "Take a light that leaves both hands free. Tell someone that you are up there.",
    "Wear a mask and gloves against dust and fibres. Old, grey or crumbling insulation may hold asbestos. Stop, leave it alone, and have it looked at.",
    "Cables may be live and may lie under the insulation. Do not pull them and do not kneel on them.",
  ],
  cut: [
    "Joists are not to be cut on the word of this page. An opening through joists needs trimming that a structural engineer has designed.",
    "Trussed rafters are thin timbers joined by metal plates. They must not be cut, notched or drilled.",
  ],
  decide: [
    "This is a survey. It does not say that a floor will hold. A structural engineer and building control decide that, by the rules where you are.",
  ],
};

/**
 * A list of cautions under a heading.
 * @param {string} heading
 * @param {...("climb" | "cut" | "decide")} which
 * @returns {HTMLElement}
 */
export function cautions(heading, ...which) {
  const lines = which.flatMap((name) => CAUTIONS[name]);
  return el(
    "section",
    { class: "cautions" },
    el("h2", null, heading),
    el("ul", null, ...lines.map((words) => el("li", null, words))),
  );
}
