/**
 * Runs the walk: what a touch means, and what is shown next.
 * @module screens/walk/controller
 */
import { expect } from "../../closure/expect.js";
import { hold } from "../../book/lifeboat.js";
import { together } from "../../judged.js";
import { Watch } from "../../reconcile/watch.js";
import { readLength } from "../../closure/length.js";
import { closure } from "../../closure/notices.js";
import { runOf } from "../../closure/faces.js";
import { rule } from "../../closure/pack.js";
import { questionable } from "../../closure/question.js";
import { typed } from "../../parts/typed.js";
import { at } from "../../router.js";
import { bayName } from "../../words.js";
import { aboutSheet, againSheet, doneSheet, moreSheet, questionSheet, reasonSheet, zeroSheet } from "./choices.js";
import { WalkHands } from "./hands.js";
import { handActs } from "./acts.js";
import { answerNote, dropNote } from "./noting.js";
import { showKeys, showStep } from "./show.js";
import { readySound, soundSaved } from "./sound.js";
import { WalkState } from "./state.js";
import { WalkView } from "./view.js";
import { brief, undoLast, writeReading } from "./write.js";

/** @typedef {import("../../book/book.js").Book} Book */
/** @typedef {import("../../book/survey.js").Survey} Survey */
/** @typedef {import("../../closure/notices.js").Notice} Notice */
/** @typedef {import("../../closure/steps.js").Step} Step */
/** @typedef {import("../../closure/steps.js").WayOfWork} WayOfWork */
/** @typedef {import("../../closure/types.js").Pack} Pack */
/** @typedef {import("./sheet.js").Choice} Choice */
/** @typedef {import("./sheet.js").Sheet} Sheet */

/** The walk of one run. */
export class Walk {
  /**
   * @param {{book: Book, survey: Survey, run: string, go: (hash: string) => void}} context
   * @param {Pack} pack the rule pack
   * @param {import("./kept.js").Kept} kept how the run was being walked
   * @param {HTMLInputElement} camera a file field that takes a photo
   */
  constructor({ book, survey, run, go }, pack, kept, camera) {
    this.book = book;
    this.survey = survey;
    this.run = run;
    this.go = go;
    this.pack = pack;
    this.camera = camera;
    this.state = new WalkState({ book, survey, run }, kept);
    this.view = new WalkView(`Walk of run ${run}`);
    this.typed = typed(() => (this.showTyped(), hold("typed", [this.typed.text, this.state.asked])));
    this.hands = new WalkHands(handActs(this));
    /** What does not add up and was not answered yet. @type {Notice[]} */
    this.notices = [];
    /** What all readings together say, and of which entries. @type {{entries: unknown, asBuilt: import("../../judged.js").AsBuilt | null}} */
    this.judged = { entries: null, asBuilt: null };
    this.watch = new Watch(survey, /** @type {import("../../reconcile/types.js").Rules} */ (pack), (asBuilt) =>
      this.judge(asBuilt),
    );
    /** The sheet that lies over the keys. @type {Sheet | null} */
    this.sheet = null;
    this.turn = 0;
    /** The entries as they were last shown. @type {unknown} */
    this.shown = null;
    /** The write whose saving is being told. @type {Promise<unknown> | null} */
    this.following = null;
  }

  /** What is typed, read as a length. */
  read() {
    return readLength(this.typed.text, rule(this.pack, "closure.metres"));
  }

  /** Shows what is typed. This runs at every key, so it does nothing else. */
  showTyped() {
    this.view.showTyped(this.typed.text, this.typed.text ? this.read().value : null);
    this.hands.showUpper(this.upperWords());
  }

  /** @returns {string} what the upper key does now */
  upperWords() {
    if (this.typed.text) return "Erase";
    if (this.state.noting) return "Pass over";
    return this.state.called.length ? "Back" : "Can't reach";
  }

  /** Shows what came from elsewhere: another tab, another phone. What the walk wrote is shown already. */
  showChanged() {
    // Another page may have taken the tape lines away: there is then nothing to walk along.
    if (!runOf(this.survey, this.run).lines.length) return this.go(at(this.survey.id));
    if (this.shown !== this.survey.entries && !this.sheet) this.show();
  }

  /** Shows where the walk stands. */
  show() {
    this.shown = this.survey.entries;
    showStep(this);
    showKeys(this);
    this.showTyped();
    this.checkSoon();
    if (this.sheet || this.state.noting) return;
    if (this.state.needsZero()) this.lay(zeroSheet(this, /** @type {Step} */ (this.state.walkStep())));
    else if (!this.state.step()) this.lay(doneSheet(this));
  }

  /** Checks closure once the next dimension is on the screen, so that no touch waits for it. */
  checkSoon() {
    const mine = ++this.turn;
    setTimeout(() => {
      if (mine === this.turn) this.check();
    }, 30);
  }

  /** @param {import("../../judged.js").AsBuilt | null} asBuilt of the survey as it stands */
  judge(asBuilt) {
    this.judged = { entries: this.survey.entries, asBuilt };
    this.check();
  }

  /** Shows what does not add up: what can be seen at once, then what all readings together say. */
  check() {
    const before = this.notices.map(({ key }) => key).join();
    const { entries, asBuilt } = this.judged;
    const known = entries === this.survey.entries ? asBuilt : null;
    const found = together(closure(this.survey, this.run, this.pack), known, this.run);
    this.notices = found.filter(({ key }) => !this.state.kept.left.includes(key));
    if (this.notices.map(({ key }) => key).join() === before) return;
    this.view.showNotice(this.notices[0]?.say ?? "");
    showKeys(this);
    showStep(this);
    this.showTyped();
    if (this.sheet?.name === "done") this.lay(doneSheet(this));
  }

  /** Saves what is typed. */
  save() {
    readySound();
    const { value, said, ask } = this.read();
    if (value === null) return this.say(said);
    if (!ask) return this.take(value, said);
    const guess = { say: said, perhaps: null };
    this.lay(questionSheet(this, guess, value, (sure) => this.take(sure, said)));
  }

  /**
   * Takes a length for what is asked, unless it looks odd: then it asks first.
   * @param {number} value [mm]
   * @param {string} [note] what was done to the figure
   */
  take(value, note) {
    if (this.state.noting) return this.answer(value);
    const step = this.state.step();
    if (!step) return this.show();
    const question = questionable(value, expect(this.survey, this.run, step, this.pack), this.pack);
    if (!question) return this.put(step, value, note);
    this.lay(questionSheet(this, question, value, (sure) => this.put(step, sure, note)));
  }

  /** @param {number | null} value answers the question of a note; null passes it over [mm] */
  answer(value) {
    this.typed.clear();
    answerNote(this, value);
  }

  /**
   * Writes a reading, and goes on to the next dimension at once.
   * @param {Step} step
   * @param {number} value [mm]
   * @param {string} [note]
   */
  put(step, value, note = "") {
    const old = this.state.called[0]?.again;
    const { entry, saved } = writeReading(this.survey, this.run, step, value, note);
    this.passed();
    this.typed.clear();
    const next = this.state.way === "both-ends" || old ? undefined : this.state.step()?.line;
    const turn = next && step.line && next !== step.line && `now the ${next} line`;
    this.follow(saved, [brief(this, entry), note, turn].filter(Boolean).join(", "));
    this.lay(old ? againSheet(this, old, value) : null);
  }

  /** The called step is answered: the walk goes on, or to the next that was called. */
  passed() {
    this.state.called.shift();
  }

  /** Takes back the last thing this phone wrote about the run. */
  undo() {
    if (this.state.noting) return dropNote(this);
    const undone = undoLast(this.survey, this.run, this.book.device);
    if (!undone) return this.say("There is nothing to undo.");
    this.state.called = [];
    this.follow(Promise.all(undone.saved), `Struck out: ${brief(this, undone.entry)}`);
    this.lay(null);
  }

  /**
   * Says that a thing is being saved, and that it is saved once it truly is.
   * @param {Promise<unknown>} saved
   * @param {string} words
   */
  follow(saved, words) {
    this.following = saved;
    this.view.showSaved({ state: "saving", words });
    saved.then(() => {
      soundSaved();
      if (this.following === saved) this.view.showSaved({ state: "saved", words });
    });
  }

  /** Shows that something could not be saved yet. It is kept, and tried again. */
  showFailed() {
    const count = [...this.survey.unsaved.values()].filter(Boolean).length;
    if (count)
      this.view.showSaved({ state: "failed", words: `${count} kept here, trying again. Leave the page open.` });
  }

  /** @param {string} words said in the place of "saved" */
  say(words) {
    this.following = null;
    this.view.showSaved({ state: "none", words });
  }

  /** @param {Sheet | null} sheet lays it over the keys; null brings the keys back */
  lay(sheet) {
    const had = this.sheet !== null;
    this.sheet = sheet;
    // What was looked at, and noted, is not asked for.
    if (!sheet && !this.state.noting && this.state.called[0]?.look) this.state.called = [];
    this.hands.lay(sheet);
    if (sheet) return;
    if (had) this.view.focus();
    this.show();
  }

  /** Leaves the sheet that lies over the keys, and what it was asking. */
  escape() {
    if (!this.sheet) return;
    this.state.noting = null;
    this.lay(null);
  }

  /** @param {WayOfWork} way how to go on working */
  work(way) {
    this.state.keep({ way, hook: null });
    this.lay(null);
  }

  /** Opens the camera. */
  photo() {
    this.camera.click();
  }

  /** @param {File} file a photo of the bay in hand */
  async takePhoto(file) {
    this.view.showSaved({ state: "saving", words: "Photo" });
    try {
      const bay = this.state.bay();
      const written = await this.survey.addPhoto(file, { run: this.run, bay });
      this.follow(written.saved, `Photo kept: ${bayName(bay, this.state.joists)}`);
    } catch (error) {
      this.say(`The photo was not kept. ${error instanceof Error ? error.message : error}`);
    }
  }

  /** Lays the notices out, or what is wanted less often where there are none. */
  more() {
    const [notice] = this.notices;
    this.lay(notice ? aboutSheet(this, notice) : moreSheet(this));
  }

  /** Says that the reading cannot be taken. */
  cannot() {
    const step = this.state.step();
    if (step) this.lay(reasonSheet(this, step));
  }

  /** Hooks the tape anew. */
  rehook() {
    const step = this.state.walkStep();
    if (step) this.lay(zeroSheet(this, step));
  }

  /** The choice that goes back to the keys. @returns {Choice} */
  backChoice() {
    return { words: "Back", kind: "back", act: () => this.lay(null) };
  }

  /** The choice that types a figure again. @returns {Choice} */
  againChoice() {
    const act = () => {
      this.typed.clear();
      this.lay(null);
    };
    return { words: "Type it again", kind: "back", act };
  }
}
