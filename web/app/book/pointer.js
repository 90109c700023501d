/**
 * Changing a survey's head at a path: an RFC 6901 JSON Pointer in which runs go by their id.
 * @module book/pointer
 */
import { headFault } from "./check.js";

/** @typedef {Record<string, any>} Part */

/** What a survey *is* does not change. */
const FIXED = new Set(["format", "version", "id", "created", "entries"]);

/** @param {unknown} part @returns {part is Part} */
const isObject = (part) => typeof part === "object" && part !== null && !Array.isArray(part);

/** @param {Part} part @param {string} name */
const own = (part, name) => (Object.hasOwn(part, name) ? part[name] : undefined);

/**
 * A copy of an object with one field put. A computed name never touches the prototype.
 * @param {Part} part
 * @param {string} name
 * @param {unknown} value
 * @returns {Part}
 */
const withField = (part, name, value) => ({ ...part, [name]: value });

/** @param {string} path @returns {string[]} the names along a pointer; none where it is not one */
function stepsOf(path) {
  if (!path.startsWith("/")) return [];
  return path
    .slice(1)
    .split("/")
    .map((step) => step.replaceAll("~1", "/").replaceAll("~0", "~"));
}

/**
 * An object missing on the way is made, so that one measure of a timber can be given alone.
 * @param {unknown} part
 * @param {string[]} steps
 * @param {unknown} value
 * @returns {Part | null} null where the path does not fit
 */
function put(part, [first, ...rest], value) {
  if (!isObject(part)) return null;
  if (!rest.length) return withField(part, first, value);
  const inner = put(Object.hasOwn(part, first) ? part[first] : {}, rest, value);
  return inner && withField(part, first, inner);
}

/**
 * @param {Part} head
 * @param {string[]} steps
 * @param {unknown} value
 * @returns {Part | null}
 */
function putInRun(head, [id, ...rest], value) {
  const runs = [...(own(head, "runs") ?? [])];
  const place = runs.findIndex((run) => run.id === id);
  const found = place < 0 ? undefined : runs[place];
  const whole = () => (isObject(value) ? { id, ...value } : null);
  const changed = rest.length ? put(found, rest, value) : whole();
  if (!changed || changed.id !== id) return null;
  runs.splice(place < 0 ? runs.length : place, 1, changed);
  return withField(head, "runs", runs);
}

/**
 * The head with a value at a path: `/title`, `/tape/class`, `/runs/A` (adds or replaces a run),
 * `/runs/A/lines`, `/runs/A/member/breadth`, or a field not known here.
 * @template {Part} H
 * @param {H} head
 * @param {string} path
 * @param {unknown} value
 * @returns {H} unchanged where path or value do not fit
 */
export function apply(head, path, value) {
  const steps = stepsOf(path);
  if (!steps.length || FIXED.has(steps[0]) || (steps[0] === "runs" && steps.length === 1)) return head;
  const changed = steps[0] === "runs" ? putInRun(head, steps.slice(1), value) : put(head, steps, value);
  // A value that no head could have come with has no effect either.
  return changed && !headFault(changed) ? /** @type {H} */ (changed) : head;
}
