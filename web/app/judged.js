/**
 * What a person is told of readings that do not fit: closure on the spot at once, and the check of
 * all readings together as soon as it is there. The two never say different things of one reading.
 * @module judged
 */

/** @typedef {import("./closure/notices.js").Notice} Notice */
/** @typedef {Record<string, any>} AsBuilt */

/**
 * A notice that rests on all readings together: which reading would settle it, where one would, and
 * what the readings in question may be put down to, for the field book.
 * @typedef {Notice & {settle: Record<string, any> | null, settleSay: string, reason: string}} Judged
 */

/** What each slip of the hand is called in the field book. @type {Record<string, string>} */
const REASONS = {
  wrong_digit: "a wrong digit",
  digits_swapped: "digits swapped",
  digit_lost: "a digit lost",
  digit_added: "a digit too many",
  digit_doubled: "a digit twice",
  hundred_misread: "the hundred misread",
  ten_misread: "the ten misread",
  hooked_at_100: "hooked at 100",
  centimetres: "centimetres for millimetres",
  inches: "read in inches",
  wrong_face: "read to the wrong face",
  breadth_forgotten: "a breadth forgotten",
  breadth_counted_twice: "a breadth counted twice",
  wrong_bay: "the wrong bay",
};

/**
 * The notices of one run's as-built.
 * @param {AsBuilt} asBuilt of the survey as it stands
 * @param {string} run the run's id
 * @returns {Judged[]} in the order in which they should be looked at
 */
export function judged(asBuilt, run) {
  const own = asBuilt.runs.find((/** @type {any} */ one) => one.id === run);
  if (!own) return [];
  const found = own.findings.filter((/** @type {any} */ { code }) =>
    ["reading.suspect", "readings.common_cause"].includes(code),
  );
  return found.map((/** @type {any} */ one) => noticeOf(one, own));
}

/** @param {any} finding @param {any} run @returns {Judged} */
function noticeOf({ code, say, value, rule, where }, run) {
  const { readings } = where;
  const first = run.suspects.find((/** @type {any} */ one) => one.reading === readings[0]);
  const advice = first && run.next_readings.find((/** @type {any} */ one) => one.case === first.case && one.parts);
  return {
    code: code === "reading.suspect" ? "suspect" : "common",
    key: `${code} ${[...readings].sort().join(" ")}`,
    say,
    readings,
    off: Math.abs(value ?? 0),
    limit: 0,
    rule,
    settle: advice?.take ?? null,
    settleSay: advice?.say ?? "",
    reason: REASONS[first?.cause] ?? "does not fit the other readings",
  };
}

/**
 * Closure's notices with those of the check. The check weighs every reading with every other, so sums
 * and repeats are its own to tell; what only looks unusual stays with closure, where the check is silent.
 * @param {Notice[]} closure
 * @param {AsBuilt | null} asBuilt of the survey as it stands; null while it is not there
 * @param {string} run the run's id
 * @returns {(Notice | Judged)[]}
 */
export function together(closure, asBuilt, run) {
  if (!asBuilt) return closure;
  const ours = judged(asBuilt, run);
  const told = new Set(ours.flatMap(({ readings }) => readings));
  const rest = closure.filter(
    ({ code, readings }) => code !== "sum" && code !== "repeat" && !readings.some((id) => told.has(id)),
  );
  return [...ours, ...rest];
}
