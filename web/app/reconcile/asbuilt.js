/**
 * The as-built (`baywalk.as-built` 1), reckoned on the phone as the service reckons it.
 * @module reconcile/asbuilt
 */
import { fromNear, parted } from "../lines.js";
import { nextReadings } from "./advice/advice.js";
import { finding } from "./findings/common.js";
import { findings } from "./findings/findings.js";
import { measure } from "./geometry.js";
import { ENDS, READING_KINDS } from "./network.js";
import { nominal } from "./nominal.js";
import { features, outline } from "./outline.js";
import { json } from "./questions.js";
import { round } from "./rounding.js";
import { solve } from "./solve.js";
import { common, readings, suspectJson, suspects } from "./verdicts.js";

/** @typedef {import("./findings/common.js").Finding} Finding */
/** @typedef {import("./findings/common.js").View} View */
/** @typedef {import("./questions.js").Figure} Figure */
/** @typedef {import("./solve.js").Solved} Solved */
/** @typedef {import("./types.js").Folded} Folded */
/** @typedef {import("./types.js").Rules} Rules */
/** @typedef {import("./types.js").Survey} Survey */

/**
 * The as-built of a survey; lengths in mm, angles in degrees. It never throws for what was read: a
 * reading that fits nowhere, or a place that nothing determines, becomes a finding.
 * @param {Folded} folded as the field book's fold gives it
 * @param {Rules} rules the rule pack
 * @returns {Record<string, any>}
 */
export function reconcile(folded, rules) {
  const pack = Object.fromEntries(Object.entries(rules.rules).map(([id, { value }]) => [id, value]));
  const { head } = folded;
  const whole = (/** @type {Record<string, any>} */ { id, title, joists, lines: given, member, laps = [] }) => {
    const lines = fromNear(given || []),
      sides = parted(lines, laps);
    const lapped = sides.slice(1).map(([line], i) => [...sides[i].slice(-1), line]);
    return {
      ...{ id, title: title || "", joists: joists || 0, lines, laps, sides, lapped, member: member || {} },
    };
  };
  /** @type {Survey} */
  const survey = { ...folded, tape: head.tape || {}, runs: (head.runs || []).map(whole) };
  const runs = solve(survey, pack).map(runOf);
  return {
    format: "baywalk.as-built",
    version: 1,
    survey: head.id,
    title: head.title ?? "",
    rules: rules.id,
    runs,
    findings: stray(survey),
    settled: runs.every((run) => run.settled),
  };
}

/** Tells of readings whose run the survey does not have. @param {Survey} survey @returns {Finding[]} */
function stray({ entries, standing, runs }) {
  const known = new Set(runs.map(({ id }) => id));
  return entries
    .filter(({ id, kind, run }) => READING_KINDS.includes(kind) && standing.has(id) && !known.has(run))
    .sort((a, b) => (a.id < b.id ? -1 : 1))
    .map(({ id, kind, run }) => {
      const say = `A reading (${kind}) is left out: the survey has no run “${run ?? "None"}”.`;
      return finding("reading.no_run", "look", say, { reading: id });
    });
}

/** @param {Solved} solved @returns {Record<string, any>} */
function runOf(solved) {
  const geometry = measure(solved),
    family = nominal(geometry, solved.pack),
    suspected = suspects(solved);
  /** @type {View} */
  const view = { solved, geometry, nominal: family, suspects: suspected, features: features(solved, geometry) };
  const { run } = solved,
    shared = common(solved);
  const doubtful = new Set([...suspected.map(({ reading }) => reading), ...(shared?.readings ?? [])]);
  const each = Array.from({ length: run.joists + 2 }, (_, joist) => joist);
  return {
    ...{ id: run.id, title: run.title, lines: run.lines, member: run.member },
    ...(run.lapped.length ? { laps: run.lapped } : {}),
    walls: { start: wall(view, 0), end: wall(view, run.joists + 1) },
    joists: each.slice(1, -1).map((joist) => joistOf(view, joist)),
    bays: each.slice(0, -1).map((bay) => bayOf(view, bay)),
    readings: readings(solved, doubtful),
    suspects: suspected.map(suspectJson),
    common_cause: shared,
    fit: fitOf(solved),
    nominal: family
      ? { centres: family.centres, family: family.family, confidence: round(family.confidence, 4) }
      : { centres: null, family: null, confidence: 0 },
    findings: findings(view),
    next_readings: nextReadings(view),
    outline: outline(solved, geometry),
    features: view.features,
    settled: !suspected.length && !shared,
  };
}

/** @param {Solved} solved */
function fitOf({ fit: { dof, sigma0, chi2P }, limits }) {
  const short = (/** @type {number | null} */ figure, /** @type {number} */ digits) => figure && round(figure, digits);
  return { dof, sigma0: short(sigma0, 4), chi2_p: short(chi2P, 6), limit: round(limits.test, 3) };
}

/** A joist's or wall's place on each line. @param {View} view @param {number} joist */
function at({ solved: { run }, geometry }, joist) {
  return Object.fromEntries(
    run.lines.map((line) => {
      const x = geometry.x.get(`${joist}|${line}`),
        point = geometry.points.get(`${joist}|${line}`);
      const place = x ? json(x, "x") : { x: null, sd: null };
      return [line, { ...place, point: point ? point.map((c) => round(c, 3)) : null }];
    }),
  );
}

/** @param {View} view @param {number} joist */
function wall(view, joist) {
  const angle = view.geometry.angles.get(String(joist));
  const [value, sd] = angle ? [round(angle.value, 4), round(angle.sd, 4)] : [null, null];
  return { index: joist, at: at(view, joist), angle: value, angle_sd: sd };
}

/** @param {View} view @param {number} joist */
function joistOf(view, joist) {
  const { spans, along, bearing, level } = view.geometry,
    span = spans.get(String(joist));
  const those = (/** @type {Map<string, Figure>} */ map, /** @type {string[]} */ names) => {
    const found = names.flatMap((name) => {
      const figure = map.get(`${joist}|${name}`);
      return figure ? [[name, json(figure)]] : [];
    });
    return found.length ? Object.fromEntries(found) : null;
  };
  return {
    ...wall(view, joist),
    breadth: size(view, "breadth", joist),
    depth: size(view, "depth", joist),
    span: span ? json(span) : null,
    ends: those(along, ENDS),
    bearing: those(bearing, ["near", "far"]),
    level: those(level, view.solved.run.lines),
  };
}

/**
 * A joist's breadth or depth; the usual timber's, marked so, where none was read.
 * @param {View} view
 * @param {"breadth" | "depth"} name
 * @param {number} joist
 */
function size({ solved: { run, pack, assumed }, geometry }, name, joist) {
  const read = geometry[name].get(String(joist)),
    usual = run.member[name];
  if (read) return { ...json(read), ...(name === "breadth" && assumed.includes(joist) ? { usual: true } : {}) };
  if (!usual) return null;
  const breadth = Math.sqrt(pack["usual.breadth.common"] ** 2 + pack["usual.breadth.each"] ** 2);
  return { ...json({ value: usual, sd: name === "breadth" ? breadth : pack["usual.depth"] }), usual: true };
}

/** @param {View} view @param {number} bay */
function bayOf({ solved: { run }, geometry }, bay) {
  const lines = run.lines.map((line) => {
    const { gap, centres } = geometry.bays.get(`${bay}|${line}`) ?? {};
    const { centres: value, sd } = centres ? json(centres, "centres") : { centres: null, sd: null };
    return [line, { ...(gap ? json(gap, "gap") : { gap: null, sd: null }), centres: value, centres_sd: sd }];
  });
  return { bay, at: Object.fromEntries(lines) };
}
