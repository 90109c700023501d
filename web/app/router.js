/**
 * Which screen an address means. Addresses live after the `#`, so that the one stored page serves
 * them all with no network.
 * @module router
 */

import { hideSecret } from "./pairing/fragment.js";

/**
 * @typedef {object} Route
 * @property {string} screen the screen's name
 * @property {Record<string, string>} params what the address carries: `id` of a survey, `run`, `bay`
 */

/** Each pattern and its screen; the first that fits is taken. */
const PATTERNS = /** @type {[string, string][]} */ ([
  ["/", "surveys"],
  ["/new", "new"],
  ["/ready", "ready"],
  ["/settings", "settings"],
  ["/pair", "pair"],
  ["/phones", "phones"],
  ["/s/:id", "survey"],
  ["/s/:id/walk/:run", "walk"],
  ["/s/:id/walk/:run/:bay", "walk"],
  ["/s/:id/checks/:run", "checks"],
  ["/s/:id/sheet/:run", "sheet"],
  ["/s/:id/features/:run", "features"],
  ["/s/:id/book", "fieldbook"],
  ["/s/:id/closure/:run", "closure"],
  ["/s/:id/as-built", "asbuilt"],
  ["/s/:id/plan", "plan"],
  ["/s/:id/laying", "laying"],
  ["/s/:id/loads", "loads"],
  ["/s/:id/stored", "stored"],
  ["/s/:id/runs", "runs"],
]);

/**
 * @param {string[]} wanted
 * @param {string[]} given
 * @returns {Record<string, string> | null}
 */
function fit(wanted, given) {
  if (wanted.length !== given.length) return null;
  /** @type {Record<string, string>} */
  const params = {};
  const fits = wanted.every((part, at) => {
    if (!part.startsWith(":")) return part === given[at];
    params[part.slice(1)] = decode(given[at]);
    return given[at] !== "";
  });
  return fits ? params : null;
}

/** @param {string} part a broken escape is taken as it stands */
function decode(part) {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

/**
 * What an address means.
 * @param {string} hash such as `#/s/<id>/walk/A`
 * @returns {Route} an address that means nothing gives the screen `lost`
 */
export function parse(hash) {
  const given = hash.replace(/^#/, "").replace(/\/+$/, "").split("/");
  for (const [pattern, screen] of PATTERNS) {
    const params = fit(pattern.replace(/\/+$/, "").split("/"), given);
    if (params) return { screen, params };
  }
  return { screen: "lost", params: {} };
}

/**
 * The address of a place in a survey.
 * @param {string} id
 * @param {...string} rest such as `walk`, `A`
 * @returns {string} such as `#/s/<id>/walk/A`
 */
export function at(id, ...rest) {
  return `#/${["s", id, ...rest].map(encodeURIComponent).join("/")}`;
}

/**
 * Goes to an address. Going where one already is shows that screen afresh.
 * @param {string} hash
 */
export function go(hash) {
  if (location.hash === hash) window.dispatchEvent(new HashChangeEvent("hashchange"));
  else location.hash = hash;
}

/**
 * Calls back with the route now and at each change of the address.
 * @param {(route: Route) => void} show
 */
export function watch(show) {
  const again = () => {
    // A scanned code may come to a page that is open already.
    hideSecret();
    show(parse(location.hash));
  };
  window.addEventListener("hashchange", again);
  again();
}
