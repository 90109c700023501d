/**
 * What a person may choose for this phone.
 * @module screens/settings
 */
import { choice } from "../form.js";
import { PAIR } from "../pairing/fragment.js";
import { choose, settings } from "../settings.js";
import { el, fill, link, say } from "../ui.js";

const WORDS = /** @type {const} */ ({
  hand: {
    legend: "The hand that holds the phone",
    options: [
      ["right", "right"],
      ["left", "left"],
    ],
    hint: "What you touch most in the walk lies on that side.",
  },
  theme: {
    legend: "Paper",
    options: [
      ["auto", "as the phone is set"],
      ["light", "light, for daylight"],
      ["dark", "dark, for the loft"],
    ],
    hint: "",
  },
  sound: {
    legend: "Sound when a reading is saved",
    options: [
      ["on", "on"],
      ["off", "off"],
    ],
    hint: "",
  },
  units: {
    legend: "Lengths that were worked out",
    options: [
      ["mm", "in millimetres"],
      ["imperial", "in feet, inches and sixteenths"],
    ],
    hint: "Readings are typed, kept and spoken of in millimetres whatever is chosen here, and so are files.",
  },
});

/**
 * @param {keyof typeof WORDS} name
 * @returns {HTMLElement}
 */
function one(name) {
  const { legend, options, hint } = WORDS[name];
  const onpick = (/** @type {string} */ value) =>
    say(choose(name, value) ? "Kept." : "This browser does not keep it. It holds until the page is closed.");
  return choice(legend, /** @type {any} */ (options), settings()[name], { hint, onpick }).node;
}

/**
 * Shows the choices; each is kept at once.
 * @type {import("../screens.js").Mount}
 */
export function mount(host) {
  fill(
    host,
    el("h1", null, "Settings"),
    el("p", { class: "quiet" }, "Each choice is kept at once, on this phone alone."),
    one("hand"),
    one("theme"),
    one("sound"),
    one("units"),
    el("h2", null, "Phones"),
    el("p", null, "On the laptop: let a phone in, or put one out. On a phone: pair it with the laptop."),
    el(
      "p",
      { class: "row" },
      link("Paired phones", "#/phones", { class: "button" }),
      link("Pair this phone", PAIR, { class: "button" }),
    ),
    el("h2", null, "If the page misbehaves"),
    el("p", null, "The repair page fetches the page's own files afresh. It keeps every reading."),
    el("p", null, link("Open the repair page", "/repair.html", { class: "button" })),
  );
  return { title: "Settings" };
}
