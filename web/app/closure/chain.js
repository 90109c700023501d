/**
 * Ties the faces of one tape line together: every reading is a link between two faces. Links that
 * tie something new make a tree; each link left over closes a loop, and a loop must add up.
 * @module closure/chain
 */
import { byPlace, faceKey } from "./faces.js";
import { readingSd, rule } from "./pack.js";
import { mean, sameFaces } from "./tally.js";

/** @typedef {import("./tally.js").Across} Across */
/** @typedef {import("./tally.js").Tally} Tally */
/** @typedef {import("./types.js").Face} Face */
/** @typedef {import("./types.js").Pack} Pack */

/**
 * @typedef {object} Link
 * @property {string} a key of the face nearer to the start wall
 * @property {string} b key of the other face
 * @property {number} value from a to b [mm]
 * @property {number} variance [mm²]
 * @property {string[]} ids the readings it comes from; none where the usual breadth stands in
 * @property {number} reach how many joists it spans
 */

/**
 * @typedef {object} Way
 * @property {number} value from the one face to the other [mm]
 * @property {number} variance [mm²]
 * @property {string[]} ids the readings along it
 * @property {boolean} assumed true where the usual breadth stood in for one not taken
 */

/**
 * @typedef {object} Chain
 * @property {string} line
 * @property {{link: Link, way: Way}[]} loops each leftover link, and the way round it
 * @property {(from: Face, to: Face) => Way | null} between null where nothing ties the two
 */

/**
 * @param {Across[]} group readings of the same faces
 * @param {Tally} tally
 * @param {Pack} pack
 * @returns {Link}
 */
function acrossLink(group, { tape }, pack) {
  const [{ from, to }] = group;
  const value = mean(group);
  const variance = readingSd(pack, value, tape) ** 2 / group.length;
  const ids = group.map(({ entry }) => entry.id);
  return { a: faceKey(from), b: faceKey(to), value, variance, ids, reach: to[0] - from[0] };
}

/**
 * The breadth of a joist: as read, else the run's usual breadth, known less well.
 * @param {number} joist
 * @param {Tally} tally
 * @param {Pack} pack
 * @returns {{value: number, variance: number, ids: string[]} | null} null where neither is known
 */
export function breadthOf(joist, { breadths, run, tape }, pack) {
  const read = breadths.get(joist);
  if (read) {
    const value = mean(read);
    return { value, variance: readingSd(pack, value, tape) ** 2 / read.length, ids: read.map(({ id }) => id) };
  }
  const usual = run.member?.breadth;
  if (!usual) return null;
  const variance = rule(pack, "usual.breadth.common") ** 2 + rule(pack, "usual.breadth.each") ** 2;
  return { value: usual, variance, ids: [] };
}

/**
 * @param {number} joist
 * @param {Tally} tally
 * @param {Pack} pack
 * @returns {Link[]} left to right, and both halves about the centre
 */
function breadthLinks(joist, tally, pack) {
  const breadth = breadthOf(joist, tally, pack);
  if (!breadth) return [];
  const [left, centre, right] = ["left", "centre", "right"].map((side) => faceKey([joist, side]));
  const half = { value: breadth.value / 2, variance: breadth.variance / 4, ids: breadth.ids, reach: 0 };
  return [
    { a: left, b: centre, ...half },
    { a: centre, b: right, ...half },
  ];
}

/**
 * @param {Tally} tally
 * @param {string} line
 * @param {Pack} pack
 * @returns {Link[]} short links first, so that long readings are the ones that close loops
 */
function linksOf(tally, line, pack) {
  const own = tally.across.filter((reading) => reading.line === line);
  const touched = new Set(
    own
      .flatMap(({ from, to }) => [from, to])
      .filter(([, side]) => side !== "face")
      .map(([joist]) => joist),
  );
  const across = sameFaces(own).map((group) => acrossLink(group, tally, pack));
  const breadths = [...touched].flatMap((joist) => breadthLinks(joist, tally, pack));
  return [...breadths, ...across.sort((one, other) => one.reach - other.reach)];
}

/** @typedef {Map<string, {to: string, link: Link, sign: 1 | -1}[]>} Tree */

/**
 * @param {Tree} tree
 * @param {string} from
 * @param {string} to
 * @returns {Way | null}
 */
function walkTree(tree, from, to) {
  /** @type {Map<string, {back: string, link: Link, sign: 1 | -1} | null>} */
  const seen = new Map([[from, null]]);
  for (const at of seen.keys()) {
    if (at === to) return trace(seen, to);
    for (const { to: next, link, sign } of tree.get(at) ?? []) {
      if (!seen.has(next)) seen.set(next, { back: at, link, sign });
    }
  }
  return null;
}

/**
 * @param {Map<string, {back: string, link: Link, sign: 1 | -1} | null>} seen
 * @param {string} end
 * @returns {Way} from where the search began to `end`
 */
function trace(seen, end) {
  const way = { value: 0, variance: 0, ids: /** @type {string[]} */ ([]), assumed: false };
  for (let step = seen.get(end); step; step = seen.get(step.back)) {
    way.value += step.sign * step.link.value;
    way.variance += step.link.variance;
    way.ids.push(...step.link.ids);
    way.assumed ||= step.link.ids.length === 0;
  }
  return { ...way, ids: [...new Set(way.ids)] };
}

/**
 * @param {Tree} tree
 * @param {Link} link
 */
function grow(tree, link) {
  const from = tree.get(link.a) ?? [];
  const to = tree.get(link.b) ?? [];
  tree.set(link.a, [...from, { to: link.b, link, sign: 1 }]);
  tree.set(link.b, [...to, { to: link.a, link, sign: -1 }]);
}

/** The chains made of a tally, by tape line: several parts ask for the same. @type {WeakMap<Tally, Map<string, Chain>>} */
const tiedBefore = new WeakMap();

/**
 * Ties the faces of one tape line together.
 * @param {Tally} tally
 * @param {string} line
 * @param {Pack} pack
 * @returns {Chain}
 */
export function chain(tally, line, pack) {
  const known = tiedBefore.get(tally) ?? new Map();
  tiedBefore.set(tally, known);
  const found = known.get(line) ?? tie(tally, line, pack);
  known.set(line, found);
  return found;
}

/**
 * @param {Tally} tally
 * @param {string} line
 * @param {Pack} pack
 * @returns {Chain}
 */
function tie(tally, line, pack) {
  /** @type {Tree} */
  const tree = new Map();
  /** @type {{link: Link, way: Way}[]} */
  const loops = [];
  for (const link of linksOf(tally, line, pack)) {
    const way = walkTree(tree, link.a, link.b);
    if (way) loops.push({ link, way });
    else grow(tree, link);
  }
  const between = (/** @type {Face} */ from, /** @type {Face} */ to) => {
    const way = walkTree(tree, faceKey(from), faceKey(to));
    return way && byPlace(from, to) > 0 ? { ...way, value: -way.value } : way;
  };
  return { line, loops, between };
}

/**
 * The clear gap of a bay, read or worked out from running readings.
 * @param {Chain} chain
 * @param {Tally} tally
 * @param {number} bay
 * @returns {Way | null}
 */
export function gapWay({ between }, { joists }, bay) {
  const from = /** @type {Face} */ (bay === 0 ? [0, "face"] : [bay, "right"]);
  const to = /** @type {Face} */ (bay === joists ? [bay + 1, "face"] : [bay + 1, "left"]);
  return between(from, to);
}
