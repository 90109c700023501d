/**
 * Puts one screen at a time on the page, and sees to the bar, the title and the focus.
 * @module screens
 */
import { at } from "./router.js";
import { el, fill, link, why } from "./ui.js";

/** @typedef {import("./book/book.js").Book} Book */
/** @typedef {import("./book/survey.js").Survey} Survey */
/** @typedef {import("./router.js").Route} Route */

/**
 * What every screen is given.
 * @typedef {object} Context
 * @property {Book} book
 * @property {Survey} survey the open survey; on screens outside a survey it is not there
 * @property {string} run the run's id, where the address names one
 * @property {string} [bay] the bay, where the address names one
 * @property {(hash: string) => void} go
 */

/**
 * What a screen gives back. A screen fills its host with one h1 and the rest.
 * @typedef {object} Mounted
 * @property {string} title the name of the page
 * @property {() => void} [unmount] takes the screen's listeners away
 */

/** @typedef {(host: HTMLElement, context: Context) => Mounted | Promise<Mounted>} Mount */

/** @type {Record<string, () => Promise<{mount: Mount}>>} */
const SCREENS = {
  surveys: () => import("./screens/surveys.js"),
  new: () => import("./screens/new.js"),
  survey: () => import("./screens/survey.js"),
  runs: () => import("./screens/runs.js"),
  checks: () => import("./screens/checks.js"),
  sheet: () => import("./screens/field-sheet.js"),
  features: () => import("./screens/features.js"),
  fieldbook: () => import("./screens/fieldbook.js"),
  closure: () => import("./screens/closure.js"),
  asbuilt: () => import("./screens/asbuilt.js"),
  plan: () => import("./screens/plan.js"),
  laying: () => import("./screens/laying.js"),
  loads: () => import("./screens/loads.js"),
  stored: () => import("./screens/stored.js"),
  ready: () => import("./screens/ready.js"),
  settings: () => import("./screens/settings.js"),
  pair: () => import("./screens/pair.js"),
  phones: () => import("./screens/phones.js"),
  lost: () => import("./screens/lost.js"),
  walk: async () => {
    const { mountWalk } = await import("./screens/walk/walk.js");
    return { mount: async (host, context) => ({ title: `Walk ${context.run}`, ...(await mountWalk(host, context)) }) };
  },
};

/** @type {Mounted | null} */
let shown = null;
let turn = 0;
/**
 * The bar above a screen: the way back, and a word on what is still to go.
 * @param {Route} route
 * @param {Survey | null} survey
 */
function drawBar(route, survey) {
  const bar = document.querySelector(".bar");
  if (!bar) return;
  const home = route.screen === "surveys";
  const back = survey && route.screen !== "survey" ? at(survey.id) : "#/";
  const words = survey && route.screen !== "survey" ? survey.head.title || "The survey" : "Surveys";
  fill(
    bar,
    home ? el("strong", null, "Baywalk") : link(`‹ ${words}`, back, { class: "back" }),
    link("Settings", "#/settings", { "aria-current": route.screen === "settings" && "page" }),
  );
}

/**
 * @param {HTMLElement} host
 * @param {unknown} error
 */
function sayFailed(host, error) {
  fill(
    host,
    el("h1", { tabindex: "-1" }, "This screen does not open"),
    el("p", null, "Nothing that was saved has been touched. Go back, or load the page again."),
    el("p", { class: "quiet" }, `What went wrong: ${why(error)}`),
    el("p", null, link("Go to the surveys", "#/", { class: "button" })),
  );
}

/**
 * Takes the old screen away and shows the one the route names. The focus goes to its heading, except
 * at the very first screen, where the browser's own start is left alone.
 * @param {HTMLElement} host
 * @param {Route} route
 * @param {{book: Book, go: (hash: string) => void}} tools
 * @returns {Promise<void>}
 */
export async function mountScreen(host, route, { book, go }) {
  const mine = ++turn;
  const first = shown === null;
  try {
    const { id, run = "", bay } = route.params;
    const [{ mount }, survey] = await Promise.all([SCREENS[route.screen](), id ? book.openSurvey(id) : null]);
    if (mine !== turn) return;
    clear(host, route.screen);
    drawBar(route, survey);
    const context = { book, survey: /** @type {Survey} */ (survey), run, bay, go };
    const mounted = await mount(host, context);
    if (mine !== turn) return void mounted.unmount?.();
    shown = mounted;
    document.title = `${mounted.title} – Baywalk`;
  } catch (error) {
    if (mine !== turn) return;
    clear(host, "lost");
    drawBar({ screen: "lost", params: {} }, null);
    sayFailed(host, error);
    shown = { title: "Does not open" };
  }
  if (!first) toHeading(host);
}

/**
 * @param {HTMLElement} host
 * @param {string} screen
 */
function clear(host, screen) {
  shown?.unmount?.();
  // The way back must not leave a question standing that belongs to the screen before.
  document.querySelectorAll("dialog").forEach((dialog) => dialog.close());
  host.replaceChildren();
  document.body.dataset.screen = screen;
}

/** @param {HTMLElement} host */
function toHeading(host) {
  window.scrollTo(0, 0);
  const heading = host.querySelector("h1");
  heading?.setAttribute("tabindex", "-1");
  heading?.focus({ preventScroll: true });
}
