/**
 * What an address shows that leads nowhere.
 * @module screens/lost
 */
import { el, fill, link } from "../ui.js";

/**
 * Says so, and leads back.
 * @type {import("../screens.js").Mount}
 */
export function mount(host) {
  fill(
    host,
    el("h1", null, "There is nothing here"),
    el("p", null, "The address leads to no screen of this page. Nothing has been lost."),
    el("p", null, link("Go to the surveys", "#/", { class: "button" })),
  );
  return { title: "Nothing here" };
}
