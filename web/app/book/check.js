/**
 * Whether a head or an entry is sound: what the service would take. A kind or a field not known here
 * is sound as it is, for a later page may have written it.
 * @module book/check
 */
import { FORMAT, VERSION } from "./entry.js";
import {
  MAX_JOIST,
  MAX_LENGTH,
  MAX_NESTING,
  MAX_TITLE,
  choice,
  hash,
  id,
  isObject,
  length,
  name,
  pair,
  text,
  time,
  whole,
} from "./values.js";

/** @typedef {import("./types.js").Fault} Fault */
/** @typedef {import("./values.js").Rule} Rule */
/** @typedef {Record<string, Rule>} Rules */

/**
 * What must be there, and what may be.
 * @typedef {object} Form
 * @property {Rules} must
 * @property {Rules} [may]
 */

const face = choice("left", "right", "centre", "face");
const joist = whole(MAX_JOIST);
const reach = length(-MAX_LENGTH);

/** @type {Form} */
const ANY = { must: { id, at: time, by: name, kind: name }, may: { n: whole(Number.MAX_SAFE_INTEGER) } };

/** @param {Rules} must @returns {Form} a reading: its run, its value [mm] and more */
const reading = (must) => ({
  must: { run: name, value: length(), ...must },
  may: { resolution: length(), note: text(), hook: name },
});

const placed = { run: name, line: name, joist, bay: joist };

/** @type {Map<string, Form>} */
const KINDS = new Map(
  Object.entries(
    /** @type {Record<string, Form>} */ ({
      across: reading({ line: name, from: pair(face), to: pair(face) }),
      along: reading({ joist, from: name, to: name }),
      diagonal: reading({ from: pair(name), to: pair(name) }),
      breadth: reading({ joist }),
      depth: reading({ joist }),
      level: reading({ joist, line: name }),
      bearing: reading({ joist, end: choice("near", "far") }),
      strike: { must: { target: id, reason: text() } },
      restore: { must: { target: id }, may: { reason: text() } },
      set: { must: { path: text(1_000), value: () => "" } },
      photo: {
        must: { sha256: hash },
        may: { ...placed, width: whole(MAX_LENGTH), height: whole(MAX_LENGTH), caption: text() },
      },
      remark: { must: { text: text() }, may: placed },
      unreached: { must: { run: name }, may: { ...placed, reason: text() } },
      feature: {
        must: { run: name, feature: name },
        may: {
          ...placed,
          from: pair(face),
          across: reach,
          along: reach,
          width: length(),
          length: length(),
          depth: length(),
          from_near_support: length(),
          edge: text(),
          note: text(),
        },
      },
    }),
  ),
);

/** @param {Rule} rule @returns {Rule} */
const orNull = (rule) => (value) => (value === null ? "" : rule(value));

const MEMBER = {
  breadth: orNull(length()),
  depth: orNull(length()),
  grade: orNull(text(MAX_TITLE)),
  class: orNull(text(MAX_TITLE)),
};

/** @type {Rule} two tape lines */
const two = (value) =>
  Array.isArray(value) && value.length === 2 && value[0] !== value[1] && !value.some(name)
    ? ""
    : "must be a list of two names";

/** @type {Form} */
const RUN = {
  must: { id: name },
  may: {
    title: text(MAX_TITLE),
    joists: joist,
    lines: many(name),
    laps: many(two),
    member: object({ must: {}, may: MEMBER }),
  },
};

/** @type {Form} */
const HEAD = {
  must: { id, title: text(MAX_TITLE), created: time, runs: many(object(RUN)) },
  may: { tape: object({ must: {}, may: { class: text(MAX_TITLE) } }) },
};

/** @param {Form} form @returns {Rule} */
function object(form) {
  return (value) => {
    if (!isObject(value)) return "must be an object";
    const fault = formFault(form, value);
    return fault ? `its ${fault.field} ${fault.why}` : "";
  };
}

/** @param {Rule} inner @returns {Rule} a list, no two members of the same name */
function many(inner) {
  return (value) => {
    if (!Array.isArray(value)) return "must be a list";
    const wrong = value.map(inner).find(Boolean);
    if (wrong) return wrong;
    const names = value.map((member) => (isObject(member) ? member.id : JSON.stringify(member)));
    return new Set(names).size === names.length ? "" : "names one thing twice";
  };
}

/**
 * @param {Form} form
 * @param {Record<string, any>} value
 * @returns {Fault | null}
 */
function formFault({ must, may = {} }, value) {
  for (const [field, rule] of Object.entries({ ...must, ...may })) {
    const given = Object.hasOwn(value, field) && value[field] !== undefined;
    if (!given && !Object.hasOwn(must, field)) continue;
    const why = given ? rule(value[field]) : "is missing";
    if (why) return { field, why };
  }
  return null;
}

/**
 * @param {unknown} part
 * @param {number} depth how deep it may be nested [-]
 * @returns {string} why a value cannot be kept as JSON whatever its field, or ""
 */
function unsound(part, depth) {
  if (typeof part === "string")
    return part.isWellFormed?.() === false ? "holds half of a surrogate pair, which is no character" : "";
  if (typeof part !== "object" || part === null) return "";
  if (depth < 1) return `is nested more than ${MAX_NESTING} deep`;
  const inside = Array.isArray(part) ? part : [...Object.keys(part), ...Object.values(part)];
  for (const inner of inside) {
    const why = unsound(inner, depth - 1);
    if (why) return why;
  }
  return "";
}

/**
 * The first thing wrong with an entry.
 * @param {any} entry
 * @returns {Fault | null}
 */
export function entryFault(entry) {
  if (!isObject(entry)) return { field: "", why: "an entry must be an object" };
  // An entry lies in a list in an object, and the limit counts from the outermost.
  for (const [field, value] of Object.entries(entry)) {
    const why = unsound([field, value], MAX_NESTING - 2);
    if (why) return { field, why };
  }
  return formFault(ANY, entry) ?? formFault(KINDS.get(entry.kind) ?? { must: {} }, entry);
}

/**
 * The first thing wrong with a survey's head.
 * @param {any} head
 * @returns {Fault | null}
 */
export function headFault(head) {
  if (!isObject(head)) return { field: "", why: "a survey must be an object" };
  if (head.format !== FORMAT) return { field: "format", why: `must be ${FORMAT}` };
  if (head.version !== VERSION) return { field: "version", why: `is not known here; version ${VERSION} is` };
  const why = unsound(head, MAX_NESTING);
  return why ? { field: "", why } : formFault(HEAD, head);
}
