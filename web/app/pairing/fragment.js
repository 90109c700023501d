/**
 * The secret that a QR code carries in the page's address. It is taken out of the address before
 * anything else happens, so that no history, bookmark or picture of the screen keeps it.
 * @module pairing/fragment
 */

const MARK = "#pair=";

/** The screen that pairs. */
export const PAIR = "#/pair";

/** @type {string | null} */
let secret = null;

/** Takes the secret out of the address, where there is one, and puts the screen that pairs in its place. */
export function hideSecret() {
  if (!location.hash.startsWith(MARK)) return;
  secret = location.hash.slice(MARK.length);
  history.replaceState(null, "", location.pathname + PAIR);
}

/**
 * The secret that came with the address.
 * @returns {string | null} given once
 */
export function takeSecret() {
  const taken = secret;
  secret = null;
  return taken;
}
