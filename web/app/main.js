/**
 * Starts the page: settings, field book, screens, sending, updates.
 * @module main
 */
import { startBanners } from "./banners.js";
import { openBook } from "./book/book.js";
import { go, watch } from "./router.js";
import { mountScreen } from "./screens.js";
import { applySettings } from "./settings.js";
import { button, el, fill, why } from "./ui.js";

const host = /** @type {HTMLElement} */ (document.getElementById("main"));

/** A hash link to `#main` would be taken for an address, so the skip link moves the focus itself. */
function wireSkip() {
  const skip = document.querySelector(".skip");
  skip?.addEventListener("click", (event) => {
    event.preventDefault();
    host.focus();
  });
}

/** @param {unknown} error why the field book would not open */
function sayNotOpen(error) {
  fill(
    host,
    el("h1", { tabindex: "-1" }, "The field book does not open"),
    el("p", null, "This browser did not give us its storage. Nothing that was saved has been touched."),
    el("p", null, "Close other tabs of this page, leave private browsing, and try again."),
    el("p", { class: "quiet" }, `What the browser said: ${why(error)}`),
    el(
      "p",
      { class: "row" },
      button("Try again", () => location.reload(), { class: "first" }),
    ),
  );
}

async function start() {
  applySettings();
  wireSkip();
  try {
    const book = await openBook();
    startBanners(book);
    watch((route) => void mountScreen(host, route, { book, go }));
  } catch (error) {
    sayNotOpen(error);
  }
}

void start();
