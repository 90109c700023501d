/**
 * The first visit: has the whole page kept on this phone, in one piece, then begins it. Where it
 * cannot be kept, the page begins all the same and takes its files one by one.
 * @module door
 */

/** How long the keeping may take before the page begins without it [ms]. */
const PATIENCE = 20_000;

/** @param {ServiceWorkerRegistration} registration @returns {Promise<unknown>} when the worker is at work, or will never be */
function atWork(registration) {
  return new Promise((resolve) => {
    navigator.serviceWorker.addEventListener("controllerchange", resolve, { once: true });
    const fresh = registration.installing;
    fresh?.addEventListener("statechange", () => fresh.state === "redundant" && resolve(null));
    setTimeout(resolve, PATIENCE);
  });
}

async function keep() {
  const workers = navigator.serviceWorker;
  if (!workers || workers.controller) return;
  const registration = await workers.register("/sw.js", { updateViaCache: "none" });
  // One at work that leaves this page alone was told so by the browser: it was loaded past it.
  if (registration && registration.active?.state !== "activated") await atWork(registration);
}

/** The rest of the head and the body come from the page's own document; this one's address stays. */
async function begin() {
  const answer = await fetch("/index.html");
  if (!answer.ok) throw new Error(`the service answered ${answer.status}`);
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const links = [...page.querySelectorAll("link")];
  const styles = links.filter(({ rel }) => rel === "stylesheet");
  const dressed = styles.map((style) => new Promise((resolve) => (style.onload = style.onerror = resolve)));
  document.head.append(...links.filter(({ rel }) => rel === "modulepreload"), ...styles);
  await Promise.all(dressed);
  document.body.replaceWith(page.body);
  await import("./app/main.js");
}

async function enter() {
  const said = /** @type {HTMLElement} */ (document.getElementById("said"));
  said.textContent = "One moment. The page is being kept on this phone.";
  try {
    await keep().catch(() => undefined);
    await begin();
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    said.textContent = `The page did not come: ${why}. Load it again when the service is in reach.`;
  }
}

/** A code in the address is taken out before anything else; most visits carry none. */
async function hide() {
  if (location.hash.startsWith("#pair=")) (await import("./app/pairing/fragment.js")).hideSecret();
}

void hide().then(enter);
