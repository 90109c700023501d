/**
 * Says in words what an entry of the field book holds.
 * @module entry-words
 */
import { bayName, joistName } from "./words.js";

/** @typedef {Record<string, any>} Entry */
/** @typedef {(entry: Entry, joists?: number) => string} Tell */

const PLACES = /** @type {Record<string, string>} */ ({
  near_support: "the near support",
  far_support: "the far support",
  near_edge: "the near edge",
  far_edge: "the far edge",
});

/**
 * A place along a joist in words.
 * @param {string} place a tape line's name, a support or an edge
 * @returns {string}
 */
function placeName(place) {
  return PLACES[place] ?? `the ${place} line`;
}

/**
 * @param {unknown} face `[joist, face]`
 * @param {number} [joists]
 */
function faceWords(face, joists) {
  if (!Array.isArray(face)) return "?";
  const [joist, side] = face;
  const name = joistName(Number(joist), joists);
  const wall = joist === 0 || name === "end wall";
  return wall ? name : `${name} ${side}`;
}

/** @param {Entry} entry */
const along = ({ from, to }) => `${placeName(from)} to ${placeName(to)}`;

/** @param {Entry} entry @param {number} [joists] */
const where = (entry, joists) => {
  if (Number.isInteger(entry.bay)) return bayName(entry.bay, joists);
  return Number.isInteger(entry.joist) ? joistName(entry.joist, joists) : "";
};

/** What a part of the head is called. */
const SET = /** @type {Record<string, string>} */ ({
  title: "name",
  joists: "number of joists",
  ended: "end wall reached",
  member: "usual timber",
  lines: "tape lines",
});

/** @type {Record<string, Tell>} */
const TELL = {
  across: (entry, joists) =>
    `${entry.line} line, ${faceWords(entry.from, joists)} to ${faceWords(entry.to, joists)}${entry.hook ? ", running" : ""}`,
  along: (entry, joists) => `along ${joistName(entry.joist, joists)}, ${along(entry)}`,
  diagonal: ({ from, to }, joists) =>
    `diagonal, ${joistName(from?.[0], joists)} at the ${from?.[1]} line to ${joistName(to?.[0], joists)} at the ${to?.[1]} line`,
  breadth: (entry, joists) => `breadth of ${joistName(entry.joist, joists)}`,
  depth: (entry, joists) => `depth of ${joistName(entry.joist, joists)}`,
  level: (entry, joists) => `level of ${joistName(entry.joist, joists)} at the ${entry.line} line`,
  bearing: (entry, joists) => `bearing of ${joistName(entry.joist, joists)}, ${entry.end} end`,
  remark: (entry, joists) => `remark${prefix(where(entry, joists))}`,
  photo: (entry, joists) => `photo${prefix(where(entry, joists))}`,
  unreached: (entry, joists) => {
    const { of = "", line, end } = entry;
    const side = line ? `${line} line` : end ? `${end} end` : "";
    return `could not be reached${[where(entry, joists), of, side].map(prefix).join("")}`;
  },
  feature: (entry, joists) => `${entry.feature}${prefix(where(entry, joists))}`,
  set: ({ path }) => {
    const [, first, run, last] = String(path).split("/");
    return first === "runs" ? `run ${run}${prefix(SET[last] ?? last)}` : (SET[first] ?? first);
  },
  strike: () => "struck out",
  keep: () => "looked at again and kept",
  restore: () => "taken back into the book",
};

/** @param {string} words */
function prefix(words) {
  return words ? `, ${words}` : "";
}

/**
 * What an entry is about, without its figure: `near line, J3 right to J4 left`.
 * @param {Entry} entry
 * @param {number} [joists] the number of joists of its run, if it is fixed
 * @returns {string} a kind not known here is named as it is
 */
export function entryWords(entry, joists) {
  const tell = TELL[String(entry.kind)];
  return tell ? tell(entry, joists) : String(entry.kind);
}

/** @param {Entry} entry */
function sizes({ width, length, across, along: up }) {
  const size = `${width} across × ${length} along`;
  return across === undefined ? size : `${size}, set out ${across} across and ${up ?? 0} along`;
}

/** @type {Record<string, (entry: Entry) => string>} */
const FIGURE = {
  set: ({ value }) =>
    typeof value === "object" ? "" : value === true ? "yes" : value === false ? "no" : String(value),
  remark: ({ text }) => String(text ?? ""),
  photo: ({ caption }) => String(caption ?? ""),
  strike: ({ reason }) => String(reason ?? ""),
  unreached: ({ reason }) => String(reason ?? ""),
  feature: (entry) => {
    if (entry.width !== undefined) return sizes(entry);
    const parts = ["depth", "length", "from_near_support"].filter((key) => entry[key] !== undefined);
    return [...parts.map((key) => `${key.replace(/_/g, " ")} ${entry[key]}`), entry.note ?? ""]
      .filter(Boolean)
      .join(", ");
  },
};

/**
 * What an entry says: its length in mm, or its text.
 * @param {Entry} entry
 * @returns {string} empty where it says nothing more
 */
export function entryFigure(entry) {
  const own = FIGURE[String(entry.kind)];
  if (own) return own(entry);
  return typeof entry.value === "number" ? String(entry.value) : "";
}

/**
 * True for the kinds that are readings of a length.
 * @param {Entry} entry
 * @returns {boolean}
 */
export function isReading(entry) {
  return ["across", "along", "diagonal", "breadth", "depth", "level", "bearing"].includes(entry.kind);
}
