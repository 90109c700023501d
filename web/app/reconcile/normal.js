/**
 * Normal equations: factor, solve, and the variances that statistics need.
 *
 * Unknowns are laid out from wall to wall, the border (what belongs nowhere on that line) last. An
 * ordinary loft is one matrix; a long run is cut into blocks, see `chain.js`. A weak hold on every
 * unknown keeps the matrix regular; what the readings do not determine shows by its variance.
 * @module reconcile/normal
 */
import { Chain } from "./chain.js";
import { BORDER } from "./equations.js";
import { Factor } from "./factor.js";

/** @typedef {import("./equations.js").Equations} Equations */
/** @typedef {import("./types.js").Terms} Terms */
/** @typedef {import("./sparse.js").Rows} Rows */

/** The standard deviation [mm] of the hold that keeps undetermined unknowns near their present value. */
export const HOLD = 1e5;
/** Above this standard deviation [mm] an unknown is not determined by the readings. */
export const UNDETERMINED = 500;

const ONE_BLOCK = 220,
  BLOCK = 60;

/**
 * How unknowns are laid out: the place of each; the start of each block, and where the last ends; the curved
 * rows, and the place from which on these have their unknowns, where all stand in one block.
 * @typedef {{place: Int32Array, bounds: number[], bent: Set<number>, head: number}} Layout
 */

/**
 * Chooses the blocks and the border.
 * @param {Equations} equations
 * @param {number} [oneBlock] up to how many unknowns stay together
 * @param {number} [block] how many a block holds, about
 * @returns {Layout}
 */
export function layOut({ places, terms, curves }, oneBlock = ONE_BLOCK, block = BLOCK) {
  const together = places.length <= oneBlock;
  const blocks = together ? places.slice() : byPlace(places, block);
  if (!together) for (const hub of hubs(terms, blocks)) blocks[hub] = BORDER;
  const last = Math.max(0, ...blocks) + 1;
  const keys = blocks.map((b) => (b === BORDER ? last : b)),
    bent = new Set(curves.keys());
  // What curves touch goes last, so that a step along them leaves the factor of all before it standing.
  const late = new Set(together ? [...bent].flatMap((row) => terms[row].map(([u]) => u)) : []);
  for (const u of late) keys[u] += last + 1;
  const place = new Int32Array(places.length),
    bounds = [0];
  [...keys.keys()].sort((a, b) => keys[a] - keys[b] || a - b).forEach((u, at) => (place[u] = at));
  for (let b = 0; b < last; b++) bounds.push(bounds[b] + keys.filter((key) => key === b).length);
  return { place, bounds: together ? [0, places.length] : bounds, bent, head: places.length - late.size };
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
   * @param {number} [hold] a weight [1/mm²] that holds some unknowns where they are
   * @param {Iterable<number>} [held] those unknowns, of the border, all of curved rows
   */
  constructor(design, weights, { place, bounds, bent, head }, before = null, hold = 0, held = []) {
    this.place = place;
    const size = place.length,
      cut = bounds.length > 2 || bounds[1] < size;
    const earlier = before?.solved instanceof Whole ? before.solved : null;
    /** @type {Chain | Whole} */
    this.solved = cut ? new Chain(size, bounds, HOLD ** -2) : new Whole(size, HOLD ** -2, head, earlier);
    if (!earlier) addRows(this.solved, design, weights, place, (row) => !bent.has(row));
    if (this.solved instanceof Whole) this.solved.keep();
    addRows(this.solved, design, weights, place, (row) => bent.has(row));
    for (const u of held) this.solved.add(place[u], place[u], hold);
    this.solved.factor();
  }

  /**
   * The unknowns' steps for a right-hand side A'P(read - computed).
   * @param {Float64Array} right
   * @returns {Float64Array}
   */
  solve(right) {
    const ordered = new Float64Array(right.length);
    right.forEach((value, u) => (ordered[this.place[u]] = value));
    const solved = this.solved.solve(ordered);
    return right.map((_, u) => solved[this.place[u]]);
  }

  /**
   * The variance [mm²] of each linear function of the unknowns. A row may touch one block, the next
   * and the border, as an observation row does.
   * @param {Rows} rows
   * @returns {Float64Array}
   */
  spread({ starts, columns, values }) {
    return this.solved.spread({ starts, columns: columns.map((u) => this.place[u]), values });
  }
}

/**
 * Adds each row's share to a normal matrix.
 * @param {Chain | Whole} matrix
 * @param {Rows} design
 * @param {Float64Array} weights
 * @param {Int32Array} place
 * @param {(row: number) => boolean} which
 */
function addRows(matrix, { starts, columns, values }, weights, place, which) {
  for (let i = 0; i < weights.length; i++)
    if (weights[i] && which(i))
      for (let a = starts[i]; a < starts[i + 1]; a++)
        for (let b = starts[i]; b <= a; b++) {
          const u = place[columns[a]],
            v = place[columns[b]];
          matrix.add(Math.max(u, v), Math.min(u, v), weights[i] * values[a] * values[b]);
        }
}

/** A normal matrix in one piece. */
class Whole {
  /**
   * @param {number} size
   * @param {number} held what the hold adds
   * @param {number} head the place from which on curved rows have their unknowns
   * @param {Whole | null} before one with the same straight rows
   */
  constructor(size, held, head, before) {
    this.size = size;
    this.head = head;
    this.before = before;
    this.matrix = before ? before.straight.slice() : new Float64Array(size * size);
    if (!before) for (let i = 0; i < size; i++) this.matrix[i * size + i] = held;
    /** @type {Float64Array} */
    this.straight = this.matrix;
    /** @type {Factor | null} */
    this.root = null;
  }

  /** @param {number} u @param {number} v not above u @param {number} value */
  add(u, v, value) {
    this.matrix[u * this.size + v] += value;
  }

  /** Keeps the straight rows' share for others. */
  keep() {
    if (this.head < this.size) this.straight = this.before?.straight ?? this.matrix.slice();
  }

  factor() {
    this.root = new Factor(this.matrix, this.size, this.head, this.before?.root);
    this.before = null;
  }

  /** @param {Float64Array} right @returns {Float64Array} */
  solve(right) {
    const root = /** @type {Factor} */ (this.root);
    return root.back(root.forward(right));
  }

  /** @param {Rows} rows by place @returns {Float64Array} */
  spread({ starts, columns, values }) {
    const root = /** @type {Factor} */ (this.root);
    return Float64Array.from({ length: starts.length - 1 }, (_, i) =>
      root.variance(columns, values, starts[i], starts[i + 1]),
    );
  }
}
