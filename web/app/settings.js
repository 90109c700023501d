/**
 * What the person chose for this phone: theme, hand, sound, units. Kept on the phone alone, apart from the
 * readings, and read before the first paint.
 * @module settings
 */

/**
 * @typedef {object} Settings
 * @property {"auto" | "light" | "dark"} theme
 * @property {"left" | "right"} hand the hand that holds the phone
 * @property {"on" | "off"} sound a short sound when a reading is saved
 * @property {"mm" | "imperial"} units what lengths that were worked out are written in
 */

/** What each setting may be; the first is taken when nothing was chosen. */
const CHOICES = /** @type {const} */ ({
  theme: ["auto", "light", "dark"],
  hand: ["right", "left"],
  sound: ["on", "off"],
  units: ["mm", "imperial"],
});

const KEY = "baywalk.settings";

/** @returns {Record<string, unknown>} what is kept; nothing where the browser keeps nothing */
function kept() {
  try {
    return JSON.parse(localStorage.getItem(KEY) ?? "{}") ?? {};
  } catch {
    return {};
  }
}

/**
 * The settings as they stand.
 * @returns {Settings}
 */
export function settings() {
  const stored = kept();
  const chosen = Object.entries(CHOICES).map(([name, allowed]) => {
    const value = /** @type {never} */ (stored[name]);
    return [name, allowed.includes(value) ? value : allowed[0]];
  });
  return Object.fromEntries(chosen);
}

/** Puts theme and hand on the page's root, where the styles look for them. */
export function applySettings() {
  const { theme, hand } = settings();
  document.documentElement.dataset.theme = theme;
  document.documentElement.dataset.hand = hand;
}

/**
 * Keeps one choice and applies it.
 * @param {keyof Settings} name
 * @param {string} value
 * @returns {boolean} false where the browser would not keep it; it then holds until the page closes
 */
export function choose(name, value) {
  document.documentElement.dataset[name] = value;
  try {
    localStorage.setItem(KEY, JSON.stringify({ ...settings(), [name]: value }));
    return true;
  } catch {
    return false;
  }
}
