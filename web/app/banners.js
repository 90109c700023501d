/**
 * The messages that must be seen whatever screen is open. Each says what is so, and what to do.
 * @module banners
 */
import { PAIR } from "./pairing/fragment.js";
import { startUpdates } from "./sync/update.js";
import { button, el, fill, giveFile, link, why } from "./ui.js";
import { count } from "./words.js";

/** @typedef {import("./book/book.js").Book} Book */

/**
 * One message. `stop` is for what must be seen to before going on.
 * @param {{stop?: boolean}} weight
 * @param {string} words
 * @param {...HTMLElement} acts
 */
function banner({ stop }, words, ...acts) {
  return el(
    "div",
    { class: stop ? "banner stop" : "banner" },
    el("p", null, words),
    acts.length > 0 && el("div", { class: "row" }, ...acts),
  );
}

/**
 * Gives the surveys with unsaved entries as files, from memory, so that nothing hangs on the storage.
 * @param {Book} book
 */
async function giveUnsaved(book) {
  const ids = new Set([...book.failing.values()].map(({ survey }) => survey.id));
  for (const id of ids) {
    const survey = await book.openSurvey(id);
    giveFile(await survey.exportFile(), "unsaved-survey.json");
  }
}

/** @param {Book} book */
function notStored(book) {
  const [first] = book.failing.values();
  if (!first) return null;
  const many = count(book.failing.size, "entry is", "entries are");
  const words = `${many} not stored yet. The phone said: ${first.error.message}. Nothing is lost while this page stays open. It keeps trying by itself.`;
  const again = button("Try again now", () => book.tryAgain());
  return banner(
    { stop: true },
    words,
    again,
    button("Keep the survey as a file", () => void giveUnsaved(book)),
  );
}

/** @param {Book} book */
function outdated(book) {
  if (!book.outdated) return null;
  const words = "This page was updated in another tab, and can store nothing more here. Load it again to go on.";
  return banner(
    { stop: true },
    words,
    button("Load it again", () => location.reload()),
  );
}

/**
 * iOS deletes what a page in a browser tab stored after seven days without use; a page on the home
 * screen is spared (WebKit's own announcement of 2020, as the web remembers it).
 */
function inIosTab() {
  const ios =
    /iPhone|iPad|iPod/.test(navigator.userAgent) || (navigator.platform === "MacIntel" && navigator.maxTouchPoints > 1);
  return ios && !matchMedia("(display-mode: standalone)").matches;
}

/** @param {() => void} close */
function notInstalled(close) {
  const words =
    "This page is not on the home screen: the phone may delete what is stored here after 7 days without use. Put it there before you measure. What is stored here does not move by itself.";
  return banner({}, words, button("I have read it", close));
}

/** @param {Book} book */
function unpaired(book) {
  const { unpaired: code, toGo } = book.sync.state;
  if (!code || location.hash === PAIR) return null;
  const ended = code === "not-paired" ? "is not paired with the laptop" : "is not paired with the laptop any more";
  const here = toGo.entries ? ` ${count(toGo.entries, "entry waits", "entries wait")} to go over.` : "";
  const words = `This phone ${ended}. Everything that is here stays here.${here}`;
  return banner({}, words, link("Pair this phone", PAIR, { class: "button" }));
}

/** @param {() => void} apply @param {() => void} later */
function newer(apply, later) {
  const words = "A newer version of this page is ready. Take it when nothing is half typed.";
  return banner({}, words, button("Take it now", apply), button("Later", later));
}

/** @param {string} why @param {() => void} close */
function wentWrong(why, close) {
  const words = `Something went wrong on this page: ${why}. What was saved has not been touched. Load the page again if it stops answering.`;
  return banner(
    {},
    words,
    button("Load it again", () => location.reload()),
    button("Close this", close),
  );
}

/** @param {(why: string) => void} tell called with what nobody caught */
function watchErrors(tell) {
  addEventListener("error", (event) => tell(why(event.error ?? event.message)));
  addEventListener("unhandledrejection", (event) => tell(why(event.reason)));
}

/**
 * Watches for what must be said, as long as the page lives.
 * @param {Book} book
 */
export function startBanners(book) {
  const host = /** @type {HTMLElement} */ (document.getElementById("banners"));
  let ios = inIosTab();
  /** @type {(() => void) | null} */
  let apply = null;
  let wrong = "";
  const close = () => {
    ios = false;
    draw();
  };
  const later = () => {
    apply = null;
    draw();
  };
  const calm = () => {
    wrong = "";
    draw();
  };
  let said = "";
  const draw = () => {
    const [first] = book.failing.values();
    const { unpaired: out, toGo } = book.sync.state;
    const pairing = out && [out, toGo.entries, location.hash === PAIR];
    const failing = [book.failing.size, first?.error.message];
    const now = JSON.stringify([failing, book.outdated, Boolean(apply), ios, pairing, wrong]);
    // A button that is made anew at each try would slip away under the finger.
    if (now === said) return;
    said = now;
    fill(
      host,
      notStored(book),
      outdated(book),
      apply && newer(() => apply?.(), later),
      ios && notInstalled(close),
      unpaired(book),
      wrong && wentWrong(wrong, calm),
    );
  };
  book.addEventListener("failed", draw);
  book.addEventListener("outdated", draw);
  book.addEventListener("state", draw);
  addEventListener("hashchange", draw);
  watchErrors((why) => {
    wrong = why;
    draw();
  });
  startUpdates((take) => {
    apply = take;
    draw();
  });
  draw();
}
