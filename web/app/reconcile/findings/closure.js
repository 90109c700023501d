/**
 * Closure: do the readings fit together, and where not, which stands out.
 * @module reconcile/findings/closure
 */
import { millimetres, reading } from "../words.js";
import { finding } from "./common.js";

/** @typedef {import("./common.js").Finding} Finding */
/** @typedef {import("./common.js").View} View */
/** @typedef {import("../types.js").Entry} Entry */
/** @typedef {import("../verdicts.js").Suspect} Suspect */

/** @type {Record<string, string>} */
const CAUSES = {
  wrong_digit: "A wrong digit?",
  digits_swapped: "Digits swapped?",
  digit_lost: "A digit lost?",
  digit_added: "A digit too many?",
  digit_doubled: "A digit twice?",
  hundred_misread: "The hundred misread?",
  ten_misread: "The ten misread?",
  hooked_at_100: "Hooked at 100 and not taken off?",
  centimetres: "Centimetres for millimetres?",
  inches: "The inches side of the tape?",
  wrong_face: "The wrong face of the joist?",
  breadth_forgotten: "A joist's breadth forgotten?",
  breadth_counted_twice: "A joist's breadth counted twice?",
  wrong_bay: "The wrong bay?",
};

/** @type {Record<string, string>} */
const MISTAKES = {
  hooked_at_100: "Was the tape hooked at 100 and the 100 not taken off?",
  wrong_line: "Were they written to the wrong tape line?",
  wrong_numbers: "Are the joists counted one off?",
  numbered_from_other_wall: "Were the joists counted from the other wall?",
};

const NAMED = 3,
  RULE = { rule: "reading.false_alarm" };

/** @param {string} text */
const capital = (text) => text.slice(0, 1).toUpperCase() + text.slice(1);

/** @param {View} view @param {string} id */
const name = ({ solved }, id) => reading(/** @type {Entry} */ (solved.network.entries.get(id)), solved.run.joists);

/**
 * Names what disagrees, one finding a disagreement, and a scatter beyond tape and hand.
 * @param {View} view
 * @returns {Finding[]}
 */
export function closure(view) {
  const cases = [...new Set(view.suspects.map((suspect) => suspect.case))].sort((a, b) => a - b);
  const groups = cases.map((number) => view.suspects.filter((suspect) => suspect.case === number));
  return [...common(view), ...groups.map((group) => disagreement(view, group)), ...kept(view), ...scatter(view)];
}

/** Tells once of a mistake that many readings share. @param {View} view @returns {Finding[]} */
function common(view) {
  const { common: found, run } = view.solved;
  if (!found) return [];
  const { readings, cause } = found,
    last = readings[readings.length - 1];
  const say =
    `${readings.length} readings disagree together, among them ${name(view, readings[0])} and ${name(view, last)}. ` +
    `${MISTAKES[cause]} All of them are left out until you say.`;
  return [finding("readings.common_cause", "settle", say, { run: run.id, readings }, RULE)];
}

/**
 * Tells of one disagreement: the likeliest reading, and the others it may be instead.
 * @param {View} view
 * @param {Suspect[]} group
 */
function disagreement(view, group) {
  const { network, run } = view.solved,
    [first, ...others] = group;
  const what = name(view, first.reading),
    read = network.entries.get(first.reading)?.value;
  const parts = [
    `${capital(what)} reads ${millimetres(read)}.`,
    first.would_read === null
      ? "It does not fit with the others."
      : `The other readings want ${millimetres(first.would_read)}.`,
  ];
  const asked = first.causes.flatMap((cause) => CAUSES[cause] ?? []).slice(0, 2);
  if (asked.length) parts.push(asked.map((text, i) => (i ? text[0].toLowerCase() + text.slice(1) : text)).join(" Or "));
  if (others.length) {
    const names = others.slice(0, NAMED - 1).map((suspect) => name(view, suspect.reading));
    const more = group.length <= NAMED ? "" : " or another";
    parts.push(`Or it is ${names.join(" or ")}${more}: they cannot be told apart yet.`);
  }
  const where = { run: run.id, readings: group.map((suspect) => suspect.reading) };
  const figure = first.slip === null ? undefined : { value: first.slip, sd: 0 };
  const say = [...parts, "Take it again."].join(" ");
  return finding("reading.suspect", "settle", say, where, { figure, ...RULE });
}

/** Tells of readings that a person stands by although the others disagree. @param {View} view @returns {Finding[]} */
function kept(view) {
  const { network, fit, limits, run } = view.solved;
  return [...network.kept].sort().flatMap((id) => {
    const row = network.rows.get(id),
      value = network.entries.get(id)?.value;
    if (row === undefined || !fit.used[row] || Math.abs(fit.w[row]) <= limits.test) return [];
    const want = value + fit.residuals[row] / fit.redundancy[row];
    const say =
      `${capital(name(view, id))} reads ${millimetres(value)} and was kept. ` +
      `The other readings want ${millimetres(want)}.`;
    const figure = { value: value - want, sd: 0 };
    return [finding("reading.kept", "look", say, { run: run.id, readings: [id] }, { figure, ...RULE })];
  });
}

/** @param {View} view @returns {Finding[]} */
function scatter({ solved: { fit, run, pack } }) {
  if (fit.chi2P === null || fit.chi2P >= pack["reading.false_alarm"]) return [];
  const say =
    "The readings scatter more than this tape and a careful hand explain. " +
    "Is the tape's class right? Was one line read twice?";
  const figure = { value: fit.sigma0 ?? 0, sd: 0 };
  return [finding("readings.scatter", "look", say, { run: run.id }, { figure, limit: 1, ...RULE })];
}
