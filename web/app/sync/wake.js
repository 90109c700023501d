/**
 * When the page comes back to life: it becomes visible, or the network returns. The one place outside
 * the screens that looks at the document, and only at whether it is seen.
 * @module sync/wake
 */

/** Whether the page is seen. @returns {boolean} */
export const isSeen = () => document.visibilityState === "visible";

/**
 * Calls back each time the page becomes visible or the network comes or goes.
 * @param {() => void} woken
 */
export function onWake(woken) {
  document.addEventListener("visibilitychange", () => isSeen() && woken());
  // A page shown again from the browser's memory gets no load event.
  addEventListener("pageshow", ({ persisted }) => persisted && woken());
  addEventListener("online", woken);
  addEventListener("offline", woken);
}
