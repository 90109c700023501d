/**
 * Where the walk stands: which dimension is asked for now, and how one works.
 * @module screens/walk/state
 */
import { fixedJoists, isOpen, runOf } from "../../closure/faces.js";
import { goesBack, lastHook, nextStep, runningStep, sizeStep } from "../../closure/steps.js";
import { keep } from "./kept.js";

/** @typedef {import("../../book/book.js").Book} Book */
/** @typedef {import("../../book/survey.js").Survey} Survey */
/** @typedef {import("../../closure/steps.js").Hook} Hook */
/** @typedef {import("../../closure/steps.js").Step} Step */
/** @typedef {import("../../closure/steps.js").WayOfWork} WayOfWork */
/** @typedef {import("../../closure/types.js").Entry} Entry */
/** @typedef {import("../../closure/types.js").Face} Face */
/** @typedef {import("./details.js").Detail} Detail */
/** @typedef {import("./kept.js").Kept} Kept */

/**
 * A feature being noted: what was answered so far, and which question is next.
 * @typedef {object} Noting
 * @property {Detail} detail
 * @property {Record<string, unknown>} fields
 * @property {number} at the question's place in the list
 */

/** @param {Entry} entry @returns {number} the bay that a reading came to the far side of */
function bayRead({ from, to, hook }) {
  return hook && from[0] < to[0] ? to[0] - 1 : Math.min(from[0], to[0]);
}

/** How one run is being walked. */
export class WalkState {
  /**
   * @param {{book: Book, survey: Survey, run: string}} context
   * @param {Kept} kept
   */
  constructor({ book, survey, run }, kept) {
    this.book = book;
    this.survey = survey;
    this.run = run;
    this.kept = kept;
    /** Steps put aside until the screen is opened again. @type {Set<string>} */
    this.aside = new Set();
    /** The bay that the address names: asked about before all others. Not a number where it names none. */
    this.first = NaN;
    /** Steps the person called for, asked before the walk goes on; or one only looked at. @type {{step: Step, again?: Entry, look?: boolean}[]} */
    this.called = [];
    /** @type {Noting | null} */
    this.noting = null;
    /** What is asked for, by a name that outlives the page. @type {unknown} */
    this.asked = null;
  }

  /** The way of working. @returns {WayOfWork} */
  get way() {
    return this.kept.way;
  }

  /** The number of joists, where it is fixed. @returns {number | undefined} */
  get joists() {
    return fixedJoists(this.survey, this.run);
  }

  /** @param {Partial<Kept>} change */
  keep(change) {
    this.kept = { ...this.kept, ...change };
    keep(this.book, this.survey.id, this.run, this.kept);
  }

  /** The gap or size that is next, before the way of working. @returns {Step | null} */
  bareStep() {
    return nextStep(this.survey, this.run, this.way, this.aside, this.first);
  }

  /** The step of the walk itself, whatever else is asked before it. @returns {Step | null} */
  walkStep() {
    const step = this.bareStep();
    if (!step || step.kind !== "across" || this.way !== "running") return step;
    const hook = this.hookFor(step);
    return hook ? runningStep(step, hook, this.isBack(step)) : step;
  }

  /** The step now asked for. @returns {Step | null} null where the run is walked */
  step() {
    return this.called[0]?.step ?? this.walkStep();
  }

  /** @param {Step} step @returns {boolean} true where its line is walked towards the start wall */
  isBack(step) {
    return this.way !== "both-ends" && goesBack(runOf(this.survey, this.run).lines, step.line);
  }

  /**
   * Where the tape is hooked for a step: as it was left, else at the wall where the line begins.
   * @param {Step} step
   * @returns {Hook | null} null where the person must say
   */
  hookFor(step) {
    const { hook } = this.kept;
    if (hook?.line === step.line) return hook;
    const back = this.isBack(step);
    const first = back ? step.bay === this.joists : step.bay === 0;
    if (!first) return lastHook(this.survey, this.run, step.line);
    return this.hookAt(step.line, back ? [step.bay + 1, "face"] : [0, "face"]);
  }

  /**
   * Hooks the tape anew.
   * @param {string} line
   * @param {Face} zero
   * @returns {Hook}
   */
  hookAt(line, zero) {
    const hook = { id: crypto.randomUUID(), line, zero };
    this.keep({ hook });
    return hook;
  }

  /** True where running readings need to be told where the tape's zero is. */
  needsZero() {
    const step = this.bareStep();
    return this.way === "running" && step?.kind === "across" && !this.called.length && this.hookFor(step) === null;
  }

  /** The joist one kneels at. @returns {number} */
  joist() {
    const step = this.step();
    if (!step) return Math.max(1, this.joists ?? 1);
    if (step.joist) return step.joist;
    // Going out one kneels on the joist before the bay, coming back on the one beyond it.
    const near = this.isBack(step) ? step.bay + 1 : step.bay;
    return Math.min(Math.max(near, 1), Math.max(1, this.joists ?? near));
  }

  /** The bay one works at. @returns {number} */
  bay() {
    return this.step()?.bay ?? 0;
  }

  /** Calls for this joist's breadth and depth before the walk goes on. */
  callSize() {
    const line = this.step()?.line ?? runOf(this.survey, this.run).lines[0];
    this.called = [sizeStep("breadth", this.joist(), line), sizeStep("depth", this.joist(), line)].map((step) => ({
      step,
    }));
  }

  /**
   * Calls for a reading to be taken again.
   * @param {Entry} entry
   */
  callAgain(entry) {
    const { kind, line, from, to, joist } = entry;
    // The tape is laid anew for it, so it is another set-up even from the same zero.
    const hook = entry.hook && crypto.randomUUID();
    const { lines } = runOf(this.survey, this.run);
    const bay = kind === "across" ? bayRead(entry) : Math.max(0, joist - 1);
    const step = /** @type {Step} */ ({
      key: `again:${entry.id}`,
      kind,
      line: line ?? lines[0],
      bay,
      from,
      to,
      joist,
      hook,
    });
    this.called = [{ step, again: entry }];
  }

  /**
   * Calls for a reading across or of a size that was not taken yet.
   * @param {Record<string, any>} take its fields, as advice names them
   */
  callFor({ kind, line, from, to, joist }) {
    const { lines } = runOf(this.survey, this.run);
    const bay = kind === "across" ? Math.min(from[0], to[0]) : Math.max(0, joist - 1);
    const key = `settle:${JSON.stringify([kind, line, from, to, joist])}`;
    this.called = [{ step: /** @type {Step} */ ({ key, kind, line: line ?? lines[0], bay, from, to, joist }) }];
  }

  /** True at the bay before the end wall. */
  atEnd() {
    const step = this.walkStep();
    return step?.kind === "across" && step.bay === this.joists;
  }

  /** True while the number of joists grows. */
  isOpen() {
    return isOpen(this.survey, this.run);
  }
}
