/**
 * The network of one run: its unknowns, and a row for every reading that stands.
 * @module reconcile/network
 */
import { BORDER, Equations } from "./equations.js";
import { between, Spot } from "./plane.js";
import { scaleSigma, sigma, tapeOf } from "./weights.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Face} Face */
/** @typedef {import("./types.js").Pack} Pack */
/** @typedef {import("./types.js").Run} Run */
/** @typedef {import("./types.js").Survey} Survey */
/** @typedef {import("./types.js").Terms} Terms */
/** @typedef {import("./plane.js").Line} Line */
/** @typedef {import("./weights.js").Tape} Tape */

/** The kinds of entry that hold a measured length. */
export const READING_KINDS = ["across", "along", "diagonal", "breadth", "depth", "level", "bearing"];
/** Where a face lies, as a share of the breadth from the joist's centre. @type {Record<string, number>} */
export const SIDES = { left: -0.5, centre: 0, right: 0.5, face: 0 };
/** The places along a joist that are not tape lines. */
export const ENDS = ["near_edge", "near_support", "far_support", "far_edge"];

const GUESS_CENTRES = 400,
  GUESS_APART = 3000;

/** A reading that has no place in its run; the message says why, in plain words. */
class Misplaced extends Error {}

/** @param {string} name */
const noLine = (name) => new Misplaced(`the run has no tape line “${name}”`);

/** The equations of one run, and the way back from them to joists and readings. */
export class Network {
  equations = new Equations();
  /**
   * The unknowns by their keys: `x|joist|line`, `breadth|joist`, `origin_x|line`, `origin_y|line`,
   * `direction|line`, `scale|tape`, `along|joist|place`, `depth|joist`, `level|joist|line`,
   * `bearing|joist|end`, `usual`.
   * @type {Map<string, number>}
   */
  unknowns = new Map();
  /** The parts of those keys, by number. @type {any[][]} */
  keys = [];
  /** The row of each reading placed, by id. @type {Map<string, number>} */
  rows = new Map();
  /** Every reading of the run, by id. @type {Map<string, Entry>} */
  entries = new Map();
  /** Why a reading could not be placed, by id. @type {Map<string, string>} */
  misplaced = new Map();

  /**
   * Builds the network from the readings of a run that stand.
   * @param {Survey} survey
   * @param {Run} run
   * @param {Pack} pack
   */
  constructor(survey, run, pack) {
    this.run = run;
    this.pack = pack;
    this.end = run.joists + 1;
    this.tapeUsual = survey.tape;
    const keeps = survey.entries.filter(({ kind, id }) => kind === "keep" && survey.standing.has(id));
    /** The ids of readings that a person stands by, whatever the others say. */
    this.kept = new Set(keeps.map(({ target }) => String(target)));
    /** The order of the places along a joist. @type {Map<string, number>} */
    this.order = new Map(run.lines.map((name, i) => [name, i + 2]));
    ENDS.forEach((name, i) => this.order.set(name, i < 2 ? i : i + run.lines.length));
    for (const entry of survey.entries) {
      if (entry.run !== run.id || !READING_KINDS.includes(entry.kind)) continue;
      this.entries.set(entry.id, entry);
      if (survey.standing.has(entry.id)) this.#add(entry);
    }
  }

  /** @param {Entry} entry */
  #add(entry) {
    const { kind, id } = entry;
    try {
      if (kind === "across") this.rows.set(id, this.#across(entry));
      else if (kind === "along") this.rows.set(id, this.#along(entry));
      else if (kind === "diagonal") this.rows.set(id, this.#diagonal(entry));
      else this.rows.set(id, this.#own(entry));
    } catch (reason) {
      if (!(reason instanceof Misplaced)) throw reason;
      this.misplaced.set(id, reason.message);
    }
  }

  // --- unknowns ---------------------------------------------------------------------------

  /**
   * The number of an unknown, by the parts of its key.
   * @param {...(string | number)} key
   * @returns {number | undefined}
   */
  find(...key) {
    return this.unknowns.get(key.join("|"));
  }

  /**
   * The same; it is made where there is none yet.
   * @param {any[]} key
   * @param {number} start [mm]
   * @param {number} [place]
   * @returns {number}
   */
  unknown(key, start, place = BORDER) {
    const name = key.join("|");
    let number = this.unknowns.get(name);
    if (number === undefined) {
      number = this.equations.unknown(start, place);
      this.unknowns.set(name, number);
      this.keys[number] = key;
    }
    return number;
  }

  /** The rows that are no readings: a tape's scale, the usual timber. @returns {number[]} */
  passive() {
    const readings = new Set(this.rows.values());
    return [...this.equations.read.keys()].filter((row) => !readings.has(row));
  }

  /** @param {number} joist @param {string} line @returns {number | null} null for the start wall */
  #position(joist, line) {
    return joist === 0 ? null : this.unknown(["x", joist, line], joist * GUESS_CENTRES, joist);
  }

  /** @param {number} joist @param {string} line */
  #spot(joist, line) {
    return new Spot(this.#position(joist, line), this.#line(line));
  }

  /** @param {string} name @returns {Line | null} */
  #line(name) {
    const index = this.run.lines.lastIndexOf(name);
    if (index === 0) return null;
    return {
      originX: this.unknown(["origin_x", name], 0),
      originY: this.unknown(["origin_y", name], index * GUESS_APART),
      direction: this.unknown(["direction", name], 0),
    };
  }

  /**
   * The term of a tape's scale in a length.
   * @param {Entry} entry
   * @param {Tape} tape
   * @returns {[number, number]} per m
   */
  #stretch(entry, tape) {
    const known = this.find("scale", tape.name);
    const number = known ?? this.unknown(["scale", tape.name], 0);
    if (known === undefined) this.equations.row([[number, 1]], 0, scaleSigma(tape, this.pack));
    // A slip of the decimal point must not become a lever that bends the scale of all others.
    return [number, Math.min(entry.value, this.pack["tape.longest"]) / 1000];
  }

  /** @param {number} joist */
  #breadth(joist) {
    return this.unknown(["breadth", joist], this.run.member.breadth || 0, joist);
  }

  // --- checks of what a reading names -----------------------------------------------------

  /** @param {number} number */
  #joist(number) {
    if (number < 0 || number > this.end)
      throw new Misplaced(`J${number} is beyond the run, which has ${this.run.joists} joists`);
    return number;
  }

  /** @param {string} name */
  #knownLine(name) {
    if (!this.run.lines.includes(name)) throw noLine(name);
    return name;
  }

  /** @param {Entry} entry @param {boolean} hooked @returns {[Tape, number]} */
  #tape(entry, hooked) {
    const tape = tapeOf(entry, this.tapeUsual, this.pack);
    return [tape, sigma(entry, tape, this.pack, hooked)];
  }

  // --- rows -------------------------------------------------------------------------------

  /** @param {Entry} entry */
  #across(entry) {
    const line = this.#knownLine(entry.line);
    const [from, to] = [this.#face(entry.from), this.#face(entry.to)];
    const way = from[0] - to[0] || from[1] - to[1];
    if (!way) throw new Misplaced("it is read from a face to the same face");
    const [tape, spread] = this.#tape(entry, entry.from[1] !== "centre");
    const terms = new Map([this.#stretch(entry, tape)]);
    const add = (/** @type {number} */ u, /** @type {number} */ k) => terms.set(u, (terms.get(u) ?? 0) + k);
    const ends = way < 0 ? [from, to] : [to, from];
    ends.forEach(([joist, side], i) => {
      const sign = i ? 1 : -1,
        x = this.#position(joist, line);
      if (x !== null) add(x, sign);
      if (side && joist < this.end) add(this.#breadth(joist), sign * side);
    });
    return this.equations.row([...terms], entry.value, spread);
  }

  /** @param {Face} face @returns {[number, number]} the joist, and the side of it; 0 for a wall */
  #face([joist, face]) {
    const wall = this.#joist(joist) === 0 || joist === this.end;
    return [joist, wall ? 0 : SIDES[face]];
  }

  /** A size of one joist: breadth, depth, bearing or level. @param {Entry} entry */
  #own(entry) {
    const { kind } = entry,
      joist = this.#joist(entry.joist);
    if (joist === 0 || joist === this.end) throw new Misplaced("a wall has no such size");
    if (kind === "level") this.#knownLine(entry.line);
    const [, spread] = this.#tape(entry, true);
    const more = { level: [entry.line], bearing: [entry.end] }[kind] ?? [];
    const number = kind === "breadth" ? this.#breadth(joist) : this.unknown([kind, joist, ...more], 0, joist);
    return this.equations.row([[number, 1]], entry.value, spread);
  }

  /** @param {Entry} entry */
  #diagonal(entry) {
    const [a, b] = [entry.from, entry.to].map(([joist, line]) => this.#spot(this.#joist(joist), this.#knownLine(line)));
    if (String(entry.from) === String(entry.to)) throw new Misplaced("it is read from a point to the same point");
    const [tape, spread] = this.#tape(entry, false);
    const [columns, curve] = between(a, b, [this.#stretch(entry, tape)]);
    return this.equations.curve(columns, curve, entry.value, spread);
  }

  /** @param {Entry} entry */
  #along(entry) {
    const joist = this.#joist(entry.joist);
    const places = [entry.from, entry.to].map((/** @type {string} */ name) => {
      const at = this.order.get(name);
      if (at === undefined) throw noLine(name);
      return { name, at, isEnd: ENDS.includes(name) };
    });
    const [first, last] = places.sort((a, b) => a.at - b.at);
    if (first.name === last.name) throw new Misplaced("it is read from a place to the same place");
    const [tape, spread] = this.#tape(entry, first.isEnd || last.isEnd);
    /** @type {Terms} */
    const extra = [this.#stretch(entry, tape)];
    /** @type {Spot[]} */
    const spots = [];
    places.forEach(({ name, isEnd }, i) => {
      // An end is measured from the first tape line.
      if (isEnd) extra.push([this.unknown(["along", joist, name], 0, joist), i ? 1 : -1]);
      // Across a lap one timber is measured, straight on, and not from the one to the other.
      else if (i && this.run.lapped.some((pair) => pair[0] === first.name && pair[1] === name))
        spots.push(new Spot(this.#position(joist, first.name), this.#line(name)));
      else if (name !== this.run.lines[0]) spots.push(this.#spot(joist, name));
    });
    if (!spots.length) return this.equations.row(extra, entry.value, spread);
    // From a further line out to a far end the chord counts backwards.
    const sign = spots.length > 1 || !last.isEnd ? 1 : -1;
    if (spots.length === 1) spots.unshift(this.#spot(joist, this.run.lines[0]));
    const [columns, curve] = between(spots[0], spots[1], extra, sign);
    return this.equations.curve(columns, curve, entry.value, spread);
  }
}
