/**
 * Listens to a keyboard, or to a laser that types like one: characters, then Enter.
 * @module parts/hardware
 */

/** @typedef {import("./typed.js").Typed} Typed */

const CHARS = /^[0-9.,mcinft'" ]$/i;

/** @param {EventTarget | null} target true where the person writes text */
function isWriting(target) {
  return target instanceof Element && target.closest("input, textarea, select, [contenteditable], dialog") !== null;
}

/**
 * Listens until told to stop. After characters Enter saves, wherever the focus is; a key that was
 * reached by Tab is pressed by Enter as ever.
 * @param {Typed} typed
 * @param {{save: () => void, escape?: () => void, ready?: () => boolean}} acts `ready` false leaves
 *   every key alone
 * @returns {() => void} stops listening
 */
export function listenToKeys(typed, { save, escape = () => {}, ready = () => true }) {
  let typing = false;
  /** @type {Record<string, () => void>} */
  const special = { Backspace: typed.erase, Escape: escape };
  // A space is part of a length that is being typed; else it presses the button that has the focus.
  const isText = (/** @type {string} */ key) => CHARS.test(key) && (key !== " " || typing);
  const enter = (/** @type {KeyboardEvent} */ event) => {
    if (!typing && event.target instanceof Element && event.target.closest("button, a")) return;
    event.preventDefault();
    save();
    typing = false;
  };
  const act = (/** @type {KeyboardEvent} */ event) => {
    if (event.key === "Enter") return enter(event);
    if (event.key === "Tab") typing = false;
    const press = special[event.key] ?? (isText(event.key) && (() => typed.char(event.key)));
    if (!press) return;
    event.preventDefault();
    typing = event.key !== "Escape";
    press();
  };
  const listen = (/** @type {KeyboardEvent} */ event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || isWriting(event.target)) return;
    if (event.key === "Escape") return special.Escape();
    if (ready()) act(event);
  };
  document.addEventListener("keydown", listen);
  return () => document.removeEventListener("keydown", listen);
}
