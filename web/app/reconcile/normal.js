/**
 * Normal equations: factor, solve, and the variances that statistics need.
 *
 * Unknowns are laid out from wall to wall, the border last: what belongs nowhere on that line, and what curved
 * rows touch, so that a step along these leaves the rest standing. An ordinary loft has one block before the
 * border, a long run several, see `chain.js`. A weak hold on every unknown keeps the matrix regular; what the
 * readings do not determine shows by its variance.
 * @module reconcile/normal
 */
import { Chain } from "./chain.js";
import { BORDER } from "./equations.js";
import { dot, Factor } from "./factor.js";
import { rowsOf } from "./sparse.js";

/** @typedef {import("./equations.js").Equations} Equations */
/** @typedef {import("./types.js").Terms} Terms */
/** @typedef {[Terms, number, ...unknown[]][]} More rows with their weights [1/mm²] */
/** @typedef {import("./sparse.js").Rows} Rows */

/** The standard deviation [mm] of the hold that keeps undetermined unknowns near their present value. */
export const HOLD = 1e5;
/** Above this standard deviation [mm] an unknown is not determined by the readings. */
export const UNDETERMINED = 500;

const ONE_BLOCK = 220,
  BLOCK = 60,
  // With more unknowns than this in its curved rows a long run keeps them in its blocks.
  MOST_BENT = 60;

/**
 * How unknowns are laid out: the place of each; the start of each block, and the border's; the rows that have
 * all their unknowns there.
 * @typedef {{place: Int32Array, bounds: number[], bent: Set<number>}} Layout
 */

/**
 * Chooses the blocks and the border.
 * @param {Equations} equations
 * @param {number} [oneBlock] up to how many unknowns stay together
 * @param {number} [block] how many a block holds, about
 * @returns {Layout}
 */
export function layOut({ places, terms, curves }, oneBlock = ONE_BLOCK, block = BLOCK) {
  const together = places.length <= oneBlock,
    late = new Set([...curves.keys()].flatMap((row) => terms[row].map(([u]) => u))),
    isLate = together || late.size <= MOST_BENT;
  const blocks = together ? places.map((at) => Math.min(at, 0)) : byPlace(places, block);
  if (isLate) for (const u of late) blocks[u] = BORDER;
  if (!together) for (const hub of hubs(terms, blocks)) blocks[hub] = BORDER;
  const last = Math.max(0, ...blocks) + 1,
    keys = blocks.map((b) => (b === BORDER ? last : b));
  const place = new Int32Array(places.length),
    bounds = [0];
  [...keys.keys()].sort((a, b) => keys[a] - keys[b] || a - b).forEach((u, at) => (place[u] = at));
  for (let b = 0; b < last; b++) bounds.push(bounds[b] + keys.filter((key) => key === b).length);
  return { place, bounds, bent: new Set(isLate ? curves.keys() : []) };
}

/**
 * Gives each unknown a block, so that a block holds whole places.
 * @param {number[]} places
 * @param {number} size
 */
function byPlace(places, size) {
  /** @type {number[]} */
  const sizes = new Array(Math.max(0, ...places) + 1).fill(0);
  for (const place of places) if (place !== BORDER) sizes[place]++;
  let sum = 0;
  const at = sizes.map((count) => Math.floor((sum += count) / size));
  // Renumber without gaps, since one crowded place may skip a number.
  const known = [...new Set(at)];
  return places.map((place) => (place === BORDER ? BORDER : known.indexOf(at[place])));
}

/**
 * The unknowns to put in the border so that no row spans blocks further than one.
 * @param {Terms[]} terms
 * @param {number[]} blocks
 */
function hubs(terms, blocks) {
  const isWide = (/** @type {number[]} */ row) => {
    const own = row.map((c) => blocks[c]);
    return Math.max(...own) - Math.min(...own) > 1;
  };
  let wide = terms.map((row) => row.map(([c]) => c).filter((c) => blocks[c] !== BORDER)).filter(isWide);
  const found = [];
  while (wide.length) {
    /** @type {Map<number, number>} */
    const seen = new Map();
    for (const c of wide.flat()) seen.set(c, (seen.get(c) ?? 0) + 1);
    const [hub] = [...seen].reduce((best, next) => (next[1] > best[1] ? next : best));
    found.push(hub);
    wide = wide.map((row) => row.filter((c) => c !== hub)).filter(isWide);
  }
  return found;
}

/** The solved normal matrix of one design. */
export class Normal {
  /**
   * @param {Rows} design
   * @param {Float64Array} weights of the rows [1/mm²]
   * @param {Layout} layout
   * @param {Normal | null} [before] another, from which no straight row differs
   * @param {More} [more] further rows of unknowns that curved rows have, each with its weight
   */
  constructor(design, weights, { place, bounds, bent }, before = null, more = []) {
    const further = rowsOf(more.map(([terms]) => terms)),
      heavy = Float64Array.from(more, ([, weight]) => weight);
    this.place = place;
    // With curved rows in its blocks a run is worked out anew each time.
    this.chain = (bent.size && before?.chain) || new Chain(place.length, bounds, HOLD ** -2);
    const { chain } = this,
      { inner, width } = chain;
    if (!chain.factors.length) {
      addRows(chain, design, weights, place, (row) => !bent.has(row));
      if (!bent.size) addRows(chain, further, heavy, place);
      chain.factor();
    }
    const corner = chain.corner.slice();
    if (bent.size) {
      const border = {
        add: (/** @type {number} */ u, /** @type {number} */ v, /** @type {number} */ value) => {
          corner[(u - inner) * width + v - inner] += value;
        },
      };
      addRows(border, design, weights, place, (row) => bent.has(row));
      addRows(border, further, heavy, place);
    }
    this.root = new Factor(corner, width);
  }

  /**
   * The unknowns' steps for a right-hand side A'P(read - computed).
   * @param {Float64Array} right
   * @returns {Float64Array}
   */
  solve(right) {
    const { place, chain, root } = this,
      { half, inner } = chain;
    const ordered = new Float64Array(right.length);
    right.forEach((value, u) => (ordered[place[u]] = value));
    const own = chain.forward(ordered.subarray(0, inner)),
      tail = ordered.subarray(inner);
    half.forEach((column, j) => (tail[j] -= dot(column, own)));
    root.back(root.forward(tail));
    half.forEach((column, j) => {
      for (let u = 0; u < inner; u++) own[u] -= column[u] * tail[j];
    });
    chain.back(own);
    return right.map((_, u) => ordered[place[u]]);
  }

  /**
   * The variance [mm²] of each linear function of the unknowns. A row may touch one block, the next
   * and the border, as an observation row does.
   * @param {Rows} rows
   * @returns {Float64Array}
   */
  spread({ starts, columns, values }) {
    const { place, chain, root } = this,
      { inner, whole, width } = chain,
      every = Array.from({ length: width }, (_, j) => j),
      // What the border has no part in is the same for all that share the chain.
      known = chain.known.get(columns) ?? [];
    chain.known.set(columns, known);
    return Float64Array.from({ length: starts.length - 1 }, (_, i) => {
      /** @type {number[]} */
      const places = [],
        /** @type {number[]} */
        own = [],
        rest = every.map(() => 0);
      for (let k = starts[i]; k < starts[i + 1]; k++) {
        const at = place[columns[k]],
          value = values[k];
        if (at >= inner) rest[at - inner] += value;
        else {
          places.push(at);
          own.push(value);
          for (let j = 0; j < width; j++) rest[j] -= value * whole[j][at];
        }
      }
      return (known[i] ??= chain.variance(places, own)) + root.variance(every, rest);
    });
  }
}

/**
 * Adds the share of rows to a normal matrix.
 * @param {{add: (u: number, v: number, value: number) => void}} matrix
 * @param {Rows} design
 * @param {Float64Array} weights
 * @param {Int32Array} place
 * @param {(row: number) => boolean} [which] all, unless told
 */
function addRows(matrix, { starts, columns, values }, weights, place, which = () => true) {
  for (let i = 0; i < weights.length; i++)
    if (weights[i] && which(i))
      for (let a = starts[i]; a < starts[i + 1]; a++)
        for (let b = starts[i]; b <= a; b++) {
          const u = place[columns[a]],
            v = place[columns[b]];
          matrix.add(Math.max(u, v), Math.min(u, v), weights[i] * values[a] * values[b]);
        }
}
