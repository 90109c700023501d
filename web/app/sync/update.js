/**
 * The page's own storing and renewing. A newer page is fetched by itself and waits; it is taken only
 * when the person says so, for it must not come over something half typed.
 * @module sync/update
 */
import { onWake } from "./wake.js";

/** How long the new worker may take before the page is loaded again regardless [ms]: on some phones its word never comes. */
const PATIENCE = 3_000;

/** How long a worker may take to answer [ms]. */
const ANSWER = 5_000;

/** @param {() => void} elsewhere called where another tab has taken a newer page */
function watchController(elsewhere) {
  // The very first worker takes over a page that is just as new as itself.
  let first = !navigator.serviceWorker.controller;
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (!first) elsewhere();
    first = false;
  });
}

/**
 * Has the page stored, watches for a newer one, and tells of it.
 * @param {(apply: () => Promise<void>) => void} told called when a newer page is here. `apply` takes it
 *   and loads the page again: ask first where something is typed and not yet stored.
 * @returns {Promise<boolean>} false where this browser cannot store the page
 */
export async function startUpdates(told) {
  const workers = navigator.serviceWorker;
  if (!workers) return false;
  // Where another tab took the newer page, loading this one again is all that is left to do.
  watchController(() => told(async () => location.reload()));
  try {
    const registration = await workers.register("/sw.js", { updateViaCache: "none" });
    watchInstalling(registration, (worker) => told(() => applied(worker)));
    const look = () => void registration.update().catch(() => undefined);
    // Installed pages on some phones never look for a newer one by themselves.
    onWake(look);
    look();
    return true;
  } catch {
    return false;
  }
}

/**
 * @param {ServiceWorkerRegistration} registration
 * @param {(worker: ServiceWorker) => void} offer
 */
function watchInstalling(registration, offer) {
  if (registration.waiting && navigator.serviceWorker.controller) offer(registration.waiting);
  registration.addEventListener("updatefound", () => {
    const fresh = registration.installing;
    fresh?.addEventListener("statechange", () => {
      if (fresh.state === "installed" && navigator.serviceWorker.controller) offer(fresh);
    });
  });
}

/** @param {ServiceWorker} worker @returns {Promise<void>} */
function applied(worker) {
  return new Promise((resolve) => {
    const again = () => {
      resolve();
      location.reload();
    };
    navigator.serviceWorker.addEventListener("controllerchange", again, { once: true });
    setTimeout(again, PATIENCE);
    worker.postMessage({ type: "apply" });
  });
}

/**
 * What the worker that stores the page says of itself.
 * @returns {Promise<{version: string, files: number, kept: number, paths: string[]} | null>} null where none is at work
 */
export async function workerState() {
  const registration = await navigator.serviceWorker?.getRegistration();
  const worker = registration?.active;
  if (!worker) return null;
  return new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = ({ data }) => resolve(data);
    setTimeout(() => resolve(null), ANSWER);
    worker.postMessage({ type: "state" }, [port2]);
  });
}
