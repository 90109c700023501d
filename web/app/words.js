/**
 * How places and times are written on every screen.
 * @module words
 */

/**
 * A joist or a wall by name: `wall`, `J4`, `end wall`.
 * @param {number} joist 0 is the start wall
 * @param {number} [joists] the number of joists in the run, if it is fixed
 * @returns {string}
 */
export function joistName(joist, joists) {
  if (joist === 0) return "wall";
  return joist === (joists ?? -2) + 1 ? "end wall" : `J${joist}`;
}

/**
 * A bay by its joists: `wall–J1`, `J4–J5`, `J14–end wall`.
 * @param {number} bay 0 is the bay at the start wall
 * @param {number} [joists] the number of joists in the run, if it is fixed
 * @returns {string}
 */
export function bayName(bay, joists) {
  return `${joistName(bay, joists)}–${joistName(bay + 1, joists)}`;
}

/**
 * A count with its noun, which no line's end parts: `1 reading`, `3 readings`.
 * @param {number} count
 * @param {string} one
 * @param {string} [many]
 * @returns {string}
 */
export function count(count, one, many = `${one}s`) {
  return `${count}\u00a0${count === 1 ? one : many}`;
}

/**
 * How long ago, in words.
 * @param {string | number | Date | null | undefined} when
 * @param {number} [now] [ms since 1970]
 * @returns {string}
 */
export function ago(when, now = Date.now()) {
  const at = when === null || when === undefined ? NaN : new Date(when).getTime();
  if (Number.isNaN(at)) return "never";
  const minutes = Math.floor((now - at) / 60_000);
  if (minutes < 1) return "just now";
  if (minutes < 60) return `${count(minutes, "minute")} ago`;
  if (minutes < 48 * 60) return `${count(Math.floor(minutes / 60), "hour")} ago`;
  return `${count(Math.floor(minutes / 1440), "day")} ago`;
}

/**
 * A date and time in the phone's own manner.
 * @param {string | number | Date} when
 * @returns {string}
 */
export function moment(when) {
  const at = new Date(when);
  if (Number.isNaN(at.getTime())) return "no date";
  return at.toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}
