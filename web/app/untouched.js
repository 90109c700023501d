/**
 * Nothing is drawn anew under a finger.
 * @module untouched
 */

/** What waits until no finger is on the page; null while none is. @type {Set<() => void> | null} */
let waiting = null;
const lifted = () => {
  const drawn = waiting ?? [];
  waiting = null;
  drawn.forEach((draw) => draw());
};
addEventListener("pointerdown", () => (waiting ??= new Set()), true);
addEventListener("click", lifted);
addEventListener("pointercancel", lifted);
// A touch that becomes no click lets go as well, a little later than a click would come.
addEventListener("pointerup", () => setTimeout(lifted, 400));

/**
 * What draws a list anew, but never under a finger: a touch of what is taken away would do nothing.
 * @param {() => void} draw
 * @returns {() => void}
 */
export function untouched(draw) {
  return () => void (waiting ? waiting.add(draw) : draw());
}
