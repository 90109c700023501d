/**
 * The engine off the page's own thread, so that no key ever waits for it. Of several requests that
 * have come meanwhile only the latest is answered.
 * @module reconcile/worker
 */
import { reconcile } from "./asbuilt.js";

/** @typedef {{number: number, folded: import("./types.js").Folded, rules: import("./types.js").Rules}} Request */
/** @typedef {{number: number, asBuilt?: Record<string, any>, error?: string}} Answer */

/** @type {Request | null} */
let latest = null;

/** Answers the request that came last. */
function answer() {
  const { number, folded, rules } = /** @type {Request} */ (latest);
  latest = null;
  /** @type {Answer} */
  let found;
  try {
    found = { number, asBuilt: reconcile(folded, rules) };
  } catch (error) {
    found = { number, error: String(error) };
  }
  self.postMessage(found);
}

self.addEventListener("message", ({ data }) => {
  // Later requests that wait already are taken in before the first is begun.
  if (!latest) setTimeout(answer);
  latest = data;
});
