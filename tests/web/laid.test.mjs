/** How far a plan is laid, and the file of it that the service plans on from; the deck is invented. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { begunWith, nextOpen, oldWords, progressOf, progressWords } from "../../web/app/laid.js";
import { pullPaper } from "../../web/app/sync/pull.js";
import { Refusal } from "../../web/app/sync/service.js";

const SURVEY = "11111111-1111-4111-8111-111111111111";
const piece = (id, course, x0, x1) => ({ id, course, board: "B1", at: 0, length: x1 - x0, polygon: [[x0, 0], [x1, 0], [x1, 600]] });
const step = (kind, pieces, noggins = []) => ({ kind, pieces, noggins, boards: [], marks: [], say: kind });

/** Two courses; in the second an opening parts 2.2 from 2.3. */
const deck = (more = {}) => ({
  id: "D1",
  laid_from: "near",
  courses: [{ index: 0, y0: 0, y1: 600 }, { index: 1, y0: 600, y1: 1200 }],
  pieces: [piece("1.1", 0, 10, 1000), piece("1.2", 0, 1000, 2000), piece("2.1", 1, 10, 600), piece("2.2", 1, 600, 1200), piece("2.3", 1, 1500, 2000)],
  joints: [{ left: "1.1", right: "1.2" }, { left: "2.1", right: "2.2" }],
  noggins: [{ id: "N0-1" }, { id: "N1-1" }],
  cleats: [{ id: "C1" }],
  openings: [],
  sequence: [step("ready", []), step("raise", [], ["R1"]), step("noggin", [], ["N0-1"]), step("course", ["1.1", "1.2"]), step("noggin", [], ["N1-1", "C1"]), step("course", ["2.1", "2.2", "2.3"])],
  ...more,
});
const plan = (more) => ({ survey: SURVEY, decks: [deck(more)] });
const kept = (of, done, noted = {}) => ({ plan: progressOf(of).name, done, noted });
const told = (of, done, noted) => begunWith(of, kept(of, done, noted))?.laid.decks[0];

test("what is ticked is laid and fixed; packers and getting ready are neither", () => {
  const one = plan();
  assert.equal(told(one, 0), undefined);
  assert.equal(told(one, 1), undefined);
  assert.deepEqual(told(one, 3), { id: "D1", pieces: [], courses: [], spoilt: [], fixed: ["N0-1"] });
  assert.deepEqual(told(one, 5).pieces, [{ id: "1.1" }, { id: "1.2" }]);
  assert.deepEqual(told(one, 5).fixed, ["N0-1", "N1-1", "C1"]);
  assert.equal(progressWords(progressOf(one, kept(one, 4))), "Pieces laid 2 of 5. Noggins, frames and cleats fixed 2 of 4.");
  const begun = plan({ pieces: deck().pieces.map((it) => ({ ...it, laid: it.id === "1.1" })) });
  assert.match(progressWords(progressOf(begun, undefined)), /^Pieces laid 1 of 5\./);
});

test("a plan that is refused leaves the one before, as old as it is", async () => {
  const papers = { plan: { body: plan(), of: "one", fetchedAt: 5, choices: {}, refused: null } };
  const outbox = {
    asBuilt: async () => ({ etag: "two" }),
    paper: async (_, kind) => papers[kind],
    keepPaper: async (_, kind, record) => void (papers[kind] = record),
  };
  const service = { paper: async () => Promise.reject(new Refusal(422, "no board is as long")) };
  const old = () => oldWords(papers.plan, { asBuiltState: { etag: "two", stale: false } });
  for (const time of [1, 2]) {
    const { body, made, refused, of } = await pullPaper(service, outbox, SURVEY, "plan", { time });
    assert.deepEqual([body, made, of], [plan(), { of: "one", fetchedAt: 5 }, "two"]);
    assert.match(refused, /no board/);
    assert.match(old(), /plan it again before you cut/);
  }
  await pullPaper({ paper: async () => plan() }, outbox, SURVEY, "plan", {});
  assert.deepEqual([papers.plan.made, old()], [undefined, ""]);
});

test("ticks of another plan do not count, what a plan says is done does", () => {
  const [one, other] = [plan(), plan({ pieces: [piece("1.1", 0, 10, 900)] })];
  assert.equal(begunWith(other, kept(one, 5)), undefined);
  assert.equal(progressOf(other, kept(one, 5)).done, 0);
  const moved = (x) => plan({ openings: [{ polygon: [[x, 700], [x + 300, 700], [x + 300, 1000], [x, 1000]] }] });
  assert.equal(progressOf(moved(1210), kept(moved(1200), 5)).done, 0);
  const steps = deck().sequence.map((it, at) => ({ ...it, ...(at < 4 && at !== 1 && { done: true }) }));
  const on = progressOf(plan({ sequence: steps }), kept(other, 4));
  assert.deepEqual([on.done, nextOpen(on.tasks, 2)], [1, 4]);
});

test("any joint, a piece off its size and an edge are told where they landed", () => {
  const one = plan();
  const noted = (more) => ({ "D1 1": { pieces: 3, joints: {}, sizes: {}, spoilt: [], ...more } });
  const rights = (more) => told(one, 5, noted(more)).pieces.filter(({ right }) => right !== undefined);
  assert.deepEqual(rights({ joints: { "2.1": -4 } }), [{ id: "2.1", right: 596 }]);
  // A nought is said too: it lies where it was planned, whatever came before it.
  assert.deepEqual(rights({ joints: { "2.1": 0 } }), [{ id: "2.1", right: 600 }]);
  // Too long by 3: its joint lies 3 further, and the next piece too long by 2 ends 5 further.
  assert.deepEqual(rights({ sizes: { "2.1": 3, "2.2": 2 } }), [{ id: "2.1", right: 603 }, { id: "2.2", right: 1205 }]);
  // Beyond the opening nothing follows from before it.
  assert.deepEqual(rights({ joints: { "2.1": 5 }, sizes: { "2.3": -2 } }), [{ id: "2.1", right: 605 }, { id: "2.3", right: 1998 }]);
  assert.deepEqual(told(one, 5, noted({ edge: 4 })).courses, [{ course: 2, edge: 1204 }]);
  assert.deepEqual(told(plan({ laid_from: "far" }), 5, noted({ edge: 4 })).courses, [{ course: 2, edge: 596 }]);
  assert.deepEqual(told(one, 5, noted({ pieces: 1, spoilt: ["B1"] })).pieces.at(-1), { id: "2.1" });
  // A course of which fewer pieces lie than a plan before said.
  const said = plan({ pieces: deck().pieces.map((it) => ({ ...it, laid: it.course === 1 })) });
  assert.deepEqual(told(said, 5, noted({ pieces: 0 })).pieces.map(({ id }) => id), ["1.1", "1.2"]);
});

test("a plan that is worked on is planned on from, also by itself, with what is ticked meanwhile", async () => {
  const one = plan();
  const papers = { plan: { body: one }, "page.laid": kept(one, 4) };
  const outbox = {
    asBuilt: async () => ({ etag: "two" }),
    paper: async (_, kind) => papers[kind],
    keepPaper: async (_, kind, record) => void (papers[kind] = record),
  };
  const asked = [];
  const service = {
    paper: async (id, kind, choices, begun) => {
      asked.push(begun?.laid.decks[0].fixed);
      if (asked.length === 1) papers["page.laid"] = kept(one, 5);
      return { decks: [] };
    },
  };
  await pullPaper(service, outbox, SURVEY, "plan", {});
  assert.deepEqual(asked, [["N0-1"], ["N0-1", "N1-1", "C1"]]);
  await pullPaper(service, outbox, SURVEY, "capacity", {});
  assert.equal(asked.at(-1), undefined);
});
