/**
 * Closure on the spot: what does not add up, in plain words, while one still kneels there. Nothing
 * here blocks; the service's adjustment judges later with everything it knows.
 * @module closure/notices
 */
import { bayName, joistName } from "../words.js";
import { chain } from "./chain.js";
import { innerGaps, usualBreadth } from "./expect.js";
import { faceName } from "./faces.js";
import { readingSd, rule } from "./pack.js";
import { mean, median, sameFaces, tally } from "./tally.js";
import { culprit, isSwapped, seenBays } from "./wants.js";

/** @typedef {import("./chain.js").Chain} Chain */
/** @typedef {import("./tally.js").Across} Across */
/** @typedef {import("./tally.js").Tally} Tally */
/** @typedef {import("./types.js").Pack} Pack */
/** @typedef {import("./types.js").SurveyLike} SurveyLike */
/** @typedef {import("./wants.js").Seen} Seen */

/**
 * One thing that does not add up.
 * @typedef {object} Notice
 * @property {"sum" | "repeat" | "line" | "neighbour" | "breadth" | "suspect" | "common"} code
 * @property {string} key the same as long as the same readings stand
 * @property {string} say what was seen, and what to do
 * @property {string[]} readings the ids that bear on it, the one to take again first
 * @property {number} off how much is at stake [mm]
 * @property {number} limit what would still pass [mm]
 * @property {string} rule the rule behind the limit
 * @property {string} [line]
 * @property {number} [bay]
 * @property {number} [joist]
 */

/**
 * What the checks work on.
 * @typedef {object} Room
 * @property {Tally} tally
 * @property {Pack} pack
 * @property {Chain[]} chains one a tape line
 * @property {Seen[]} seen
 */

const whole = Math.round;

/**
 * @param {Notice["code"]} code
 * @param {string[]} readings
 * @param {Omit<Notice, "code" | "key" | "readings">} rest
 * @returns {Notice}
 */
function notice(code, readings, rest) {
  return { code, key: `${code} ${[...readings].sort().join(" ")}`, readings, ...rest };
}

/**
 * @param {Room} room
 * @param {number} variance [mm²]
 * @returns {number} what chance may still explain [mm]
 */
function chance({ pack }, variance) {
  return Math.max(rule(pack, "closure.least"), rule(pack, "closure.factor") * Math.sqrt(variance));
}

/** @param {Room} room @returns {Notice[]} the same two faces read twice, and differently */
function repeats(room) {
  const { tally: sorted, pack } = room;
  return sameFaces(sorted.across).flatMap((group) => {
    if (group.length < 2) return [];
    const values = group.map(({ value }) => value);
    const off = Math.max(...values) - Math.min(...values);
    const limit = chance(room, 2 * readingSd(pack, mean(group), sorted.tape) ** 2);
    if (off <= limit) return [];
    const [{ line, from, to }] = group;
    const what = `${faceName(from, sorted.joists)} to ${faceName(to, sorted.joists)}, ${line} line`;
    const say = `${what}: read as ${values.map(whole).join(" and ")}. Read it once more, and strike out the one that is wrong.`;
    const ids = group.map(({ entry }) => entry.id).reverse();
    return [notice("repeat", ids, { say, off, limit, rule: "closure.factor", line, bay: from[0] })];
  });
}

/**
 * @param {Room} room
 * @param {Seen} seen
 * @param {number} wanted [mm]
 * @param {string} witnesses who wants it
 */
function sayBay({ tally: sorted }, { line, bay, way }, wanted, witnesses) {
  const swapped = isSwapped(way.value, wanted) ? " Two digits swapped?" : "";
  return `${bayName(bay, sorted.joists)} on the ${line} line reads ${whole(way.value)}. ${witnesses} ${whole(wanted)}.${swapped} Take it again.`;
}

/** @param {Room} room @returns {Notice[]} sums that do not meet a longer reading */
function sums(room) {
  const { seen, chains, tally: sorted } = room;
  return chains.flatMap(({ line, loops }) =>
    loops.flatMap(({ link, way }) => {
      const missing = link.value - way.value;
      const limit = chance(room, link.variance + way.variance);
      if (Math.abs(missing) <= limit) return [];
      const long = /** @type {Across} */ (sorted.across.find(({ entry }) => entry.id === link.ids[0]));
      const bay = culprit(
        seen.filter((one) => one.line === line),
        way.ids,
        missing,
        2 * limit,
      );
      const about = { off: Math.abs(missing), limit, rule: "closure.factor", line };
      if (!bay) return [notice("sum", [...link.ids, ...way.ids], { ...about, say: saySum(room, long, way, missing) })];
      const witnesses = `${bay.others.map((other) => `The ${other.line} line`).join(" and ")} and the longer reading both want about`;
      const ids = [...bay.way.ids, ...link.ids, ...bay.others.flatMap((other) => other.way.ids)];
      return [
        notice("sum", ids, { ...about, bay: bay.bay, say: sayBay(room, bay, bay.others[0].way.value, witnesses) }),
      ];
    }),
  );
}

/**
 * @param {Room} room
 * @param {Across} long the longer reading
 * @param {import("./chain.js").Way} way
 * @param {number} missing [mm]
 */
function saySum({ tally: sorted }, { line, from, to, value }, way, missing) {
  const span = `${faceName(from, sorted.joists)} to ${faceName(to, sorted.joists)}`;
  const more = `${Math.abs(whole(missing))} ${missing > 0 ? "more" : "less"}`;
  const assumed = way.assumed ? " Where no breadth was read, the usual one was counted." : "";
  return `${line[0].toUpperCase()}${line.slice(1)} line, ${span}: the parts add up to ${whole(way.value)}, the reading over all of it is ${whole(value)}, which is ${more}.${assumed} One of them slipped.`;
}

/** @param {Room} room @returns {Notice[]} the same bay unlike along two lines */
function unlikeLines(room) {
  const { seen, pack, chains, tally: sorted } = room;
  const usual = median(innerGaps(sorted, chains)) ?? 0;
  const limit = rule(pack, "closure.lines");
  const { lines } = sorted.run;
  return seen.flatMap(({ line, bay, way, others }) =>
    others
      .filter(
        (other) => lines.indexOf(other.line) > lines.indexOf(line) && Math.abs(other.way.value - way.value) > limit,
      )
      .map((other) => {
        const swapped = isSwapped(way.value, other.way.value) ? " Two digits swapped?" : "";
        const say = `${bayName(bay, sorted.joists)} reads ${whole(way.value)} on the ${line} line and ${whole(other.way.value)} on the ${other.line} line.${swapped} The joists may run out of true there, or one reading slipped.`;
        // The one that is less like the other bays is the one to take again first.
        const odder = Math.abs(way.value - usual) > Math.abs(other.way.value - usual);
        const ids = odder ? [...way.ids, ...other.way.ids] : [...other.way.ids, ...way.ids];
        return notice("line", ids, {
          say,
          off: Math.abs(other.way.value - way.value),
          limit,
          rule: "closure.lines",
          line: odder ? line : other.line,
          bay,
        });
      }),
  );
}

/** @param {Room} room @returns {Notice[]} a bay unlike all others that no other line confirms */
function unlikeNeighbours(room) {
  const { seen, chains, pack, tally: sorted } = room;
  const gaps = innerGaps(sorted, chains);
  const limit = rule(pack, "closure.neighbour");
  const usual = median(gaps);
  if (usual === null || gaps.length < rule(pack, "closure.enough")) return [];
  const inner = seen.filter(({ bay }) => bay > 0 && bay !== sorted.joists);
  const odd = inner.filter(({ way, others }) => !others.length && Math.abs(way.value - usual) > limit);
  return odd.map(({ line, bay, way }) => {
    const swapped = isSwapped(way.value, usual) ? " Two digits swapped?" : "";
    const say = `${bayName(bay, sorted.joists)} reads ${whole(way.value)}. The other bays are about ${whole(usual)}.${swapped} Look once more, or go on if it is so.`;
    return notice("neighbour", way.ids, {
      say,
      off: Math.abs(way.value - usual),
      limit,
      rule: "closure.neighbour",
      line,
      bay,
    });
  });
}

/** @param {Room} room @returns {Notice[]} a breadth unlike the others */
function unlikeBreadths({ tally: sorted, pack }) {
  const usual = usualBreadth(sorted, pack);
  const limit = rule(pack, "closure.breadth");
  const known = sorted.breadths.size > 2 || sorted.run.member?.breadth !== undefined;
  const odd = [...sorted.breadths].filter(([, read]) => known && Math.abs(mean(read) - usual) > limit);
  return odd.map(([joist, read]) => {
    const value = whole(mean(read));
    const doubled = Math.abs(value - 2 * usual) <= limit ? " Two joists side by side?" : "";
    const say = `${joistName(joist, sorted.joists)} reads ${value} broad. The others are about ${whole(usual)}.${doubled} Look once more, or go on if it is so.`;
    return notice(
      "breadth",
      read.map(({ id }) => id),
      { say, off: Math.abs(value - usual), limit, rule: "closure.breadth", joist, bay: Math.max(0, joist - 1) },
    );
  });
}

/**
 * One bay gives one notice: where a sum already names it, the other checks keep quiet about it.
 * @param {Notice[]} notices the weightiest kinds first
 * @returns {Notice[]}
 */
function once(notices) {
  /** @type {Set<number>} */
  const told = new Set();
  return notices.filter(({ code, bay }) => {
    if (code === "breadth" || bay === undefined) return true;
    const known = told.has(bay);
    told.add(bay);
    return !known;
  });
}

/**
 * What does not add up in a run, weightiest first.
 * @param {SurveyLike} survey
 * @param {string} run the run's id
 * @param {Pack} pack the rule pack, for the limits
 * @returns {Notice[]} none where all that can be checked agrees
 * @throws {Error} where the survey has no such run
 */
export function closure(survey, run, pack) {
  const sorted = tally(survey, run);
  const chains = sorted.run.lines.map((line) => chain(sorted, line, pack));
  const room = { tally: sorted, pack, chains, seen: seenBays(sorted, chains) };
  const found = [repeats, sums, unlikeLines, unlikeNeighbours, unlikeBreadths].flatMap((check) => check(room));
  return once(found);
}
