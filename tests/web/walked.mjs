// A made-up run for the tests of the walk: true faces first, and readings taken from them.
import { readFileSync } from "node:fs";

export const pack = JSON.parse(readFileSync(new URL("../../shared/rules/uk.json", import.meta.url), "utf8"));

let serial = 0;

/** An entry with an id of its own. */
export function entry(kind, fields) {
  serial += 1;
  return { id: `e${serial}`, n: serial, kind, run: "A", ...fields };
}

/** A survey of one run; every entry stands unless it is struck. */
export function survey(entries, run = {}) {
  const struck = new Set(entries.filter(({ kind }) => kind === "strike").map(({ target }) => target));
  const standing = new Set(entries.map(({ id }) => id).filter((id) => !struck.has(id)));
  const head = { runs: [{ id: "A", joists: 5, lines: ["near", "far"], member: { breadth: 47, depth: 147 }, ...run }] };
  // A survey never changes its list of entries but makes another.
  return { head, entries: [...entries], standing };
}

const wallOr = (joists, joist, side) => [joist, joist === 0 || joist === joists + 1 ? "face" : side];

/** The clear gap of a bay. */
export function gap(line, bay, value, joists = 5) {
  return entry("across", { line, from: wallOr(joists, bay, "right"), to: wallOr(joists, bay + 1, "left"), value });
}

export const breadth = (joist, value = 47) => entry("breadth", { joist, value });

/** A running reading from the wall. */
export function running(line, to, value, { hook = "h1", zero = [0, "face"] } = {}) {
  return entry("across", { line, from: zero, to, value, hook });
}

/** A whole clean run: both lines, gaps as given, breadths 47. */
export function walked(near, far = near) {
  const joists = near.length - 1;
  const breadths = Array.from({ length: joists }, (_, at) => breadth(at + 1));
  return [...near.map((value, bay) => gap("near", bay, value, joists)), ...breadths, ...far.map((value, bay) => gap("far", bay, value, joists))];
}
