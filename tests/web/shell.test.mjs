/** The pure parts behind the screens: addresses, words, cross-checks, progress, the plan to draw. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { checksOf, takenFor } from "../../web/app/checks-list.js";
import { entryFigure, entryWords } from "../../web/app/entry-words.js";
import { whole } from "../../web/app/form.js";
import { progressOf } from "../../web/app/progress.js";
import { at, parse } from "../../web/app/router.js";
import { nextRunId } from "../../web/app/run-form.js";
import { planOf } from "../../web/app/screens/asbuilt-plan.js";
import { figure } from "../../web/app/lengths.js";
import { ago, bayName, count, joistName } from "../../web/app/words.js";

const RUN = { id: "A", joists: 4, lines: ["near", "far"] };

test("an address leads to its screen and back", () => {
  assert.deepEqual(parse(""), { screen: "surveys", params: {} });
  assert.deepEqual(parse("#/"), { screen: "surveys", params: {} });
  assert.deepEqual(parse(at("id-1", "walk", "A")), { screen: "walk", params: { id: "id-1", run: "A" } });
  for (const run of ["a/b", "ä ö", "#", "%", "a?b"]) {
    assert.deepEqual(parse(at("x", "checks", run)).params, { id: "x", run });
  }
});

test("an address that means nothing leads to the screen that says so", () => {
  for (const hash of ["#/s", "#/s//walk/A", "#/s/x/walk", "#/nothing", "#/s/x/walk/A/1/more", "#zz"]) {
    assert.equal(parse(hash).screen, "lost", hash);
  }
  assert.equal(parse("#/s/%E0%A4%A/book").params.id, "%E0%A4%A");
});

test("joists, bays and figures are written as on the drawing", () => {
  assert.equal(joistName(0, 4), "wall");
  assert.equal(joistName(5, 4), "end wall");
  assert.equal(joistName(5), "J5");
  assert.equal(bayName(0, 4), "wall–J1");
  assert.equal(bayName(4, 4), "J4–end wall");
  assert.equal(figure(412.4, 0.5), "412 ± 1");
  assert.equal(figure(412.4, 1.6), "412 ± 3");
  assert.equal(figure(412.4), "412");
  assert.equal(figure(null, 2), "?");
});

test("an age is told in the unit a person would take", () => {
  const now = Date.parse("2026-05-01T12:00:00Z");
  assert.equal(ago("2026-05-01T11:59:40Z", now), "just now");
  assert.equal(ago("2026-05-01T11:00:00Z", now), "1\u00a0hour ago");
  assert.equal(ago("2026-04-24T12:00:00Z", now), "7\u00a0days ago");
  assert.equal(ago(null, now), "never");
  assert.equal(ago("nonsense", now), "never");
  assert.equal(count(1, "entry", "entries"), "1\u00a0entry");
  assert.equal(count(0, "entry", "entries"), "0\u00a0entries");
});

test("a whole number of millimetres is taken, a decimal is not", () => {
  assert.equal(whole("47"), 47);
  assert.equal(whole(" 47 mm"), 47);
  for (const text of ["", "4.7", "4,7", "-3", "4e3", "47 cm", "NaN"]) assert.equal(whole(text), null, text);
});

test("runs are lettered, and a letter that is taken is left out", () => {
  assert.equal(nextRunId([]), "A");
  assert.equal(nextRunId(["A", "C"]), "B");
  const letters = [..."ABCDEFGHIJKLMNOPQRSTUVWXYZ"];
  assert.equal(nextRunId(letters), "R27");
  assert.equal(nextRunId([...letters, "R28"]), "R29");
});

test("every kind of entry is told in words", () => {
  const words = (entry) => `${entryWords(entry, 4)} | ${entryFigure(entry)}`;
  assert.equal(words({ kind: "across", line: "near", from: [0, "face"], to: [1, "left"], value: 200 }), "near line, wall to J1 left | 200");
  assert.equal(words({ kind: "across", line: "far", from: [4, "right"], to: [5, "face"], value: 9 }), "far line, J4 right to end wall | 9");
  assert.equal(words({ kind: "along", joist: 2, from: "near", to: "far_edge", value: 3 }), "along J2, the near line to the far edge | 3");
  assert.equal(words({ kind: "diagonal", from: [1, "near"], to: [4, "far"], value: 7 }), "diagonal, J1 at the near line to J4 at the far line | 7");
  assert.equal(words({ kind: "remark", bay: 3, text: "dry" }), "remark, J3–J4 | dry");
  assert.equal(words({ kind: "set", path: "/runs/A/joists", value: 4 }), "run A, number of joists | 4");
  assert.equal(words({ kind: "set", path: "/runs/A/ended", value: true }), "run A, end wall reached | yes");
  assert.equal(words({ kind: "set", path: "/runs/B", value: { id: "B" } }), "run B | ");
  assert.equal(words({ kind: "set", path: "/title", value: "Back loft" }), "name | Back loft");
  assert.equal(words({ kind: "something new" }), "something new | ");
  assert.equal(words({ kind: "across" }), "undefined line, ? to ? | ");
});

test("cross-checks that need the end wall wait until the run is fixed", () => {
  const open = checksOf(RUN, undefined);
  assert.equal(open.some(({ group }) => group === "overall" || group === "diagonal"), false);
  assert.equal(open.some(({ group }) => group === "span"), true);
  const kinds = new Set(checksOf(RUN, 4).map(({ group }) => group));
  assert.deepEqual([...kinds], ["overall", "diagonal", "along", "edge", "span", "bearing", "level"]);
  const spans = checksOf(RUN, 4).filter(({ group }) => group === "span");
  assert.deepEqual(spans.map(({ fields }) => fields.joist), [1, 2, 3, 4]);
  const keys = checksOf(RUN, 4).map(({ key }) => key);
  assert.equal(new Set(keys).size, keys.length);
  assert.equal(checksOf({ ...RUN, lines: ["near"] }, 4).some(({ group }) => group === "diagonal" || group === "along"), false);
});

test("a check counts as taken whichever way round the tape lay", () => {
  const [overall] = checksOf(RUN, 4);
  const reading = { id: "1", kind: "across", run: "A", line: "near", from: [5, "left"], to: [0, "right"], value: 5000 };
  assert.deepEqual(takenFor(overall, "A", 4, [reading]), [reading]);
  assert.deepEqual(takenFor(overall, "A", 4, [{ ...reading, line: "far" }]), []);
  assert.deepEqual(takenFor(overall, "A", 4, [{ ...reading, to: [1, "left"] }]), []);
  assert.deepEqual(takenFor(overall, "A", 4, [{ ...reading, run: "B" }]), []);
});

test("a run is walked when every bay of every line has a reading", () => {
  const gaps = (line) => [0, 1, 2, 3, 4].map((bay) => ({ kind: "across", run: "A", line, from: [bay, "right"], to: [bay + 1, "left"], value: 350 }));
  const near = progressOf(RUN, 4, gaps("near"));
  assert.deepEqual([near.bays.near, near.bays.far, near.walked], [5, 0, false]);
  assert.equal(progressOf(RUN, 4, [...gaps("near"), ...gaps("far")]).walked, true);
  assert.equal(progressOf(RUN, undefined, gaps("near")).walked, false);
  const running = [1, 2, 3, 4, 5].map((joist) => ({ kind: "across", run: "A", line: "near", hook: "h", from: [0, "face"], to: [joist, "left"], value: joist * 400 }));
  assert.equal(progressOf(RUN, 4, running).bays.near, 5);
});

/** An as-built of two joists as the service gives it, with the far line tied or not. */
function built(tied) {
  const at = (x) => ({ near: { x, sd: 1, point: [x, 0] }, far: { x: x + 4, sd: 1, point: tied ? [x + 4, 2900] : null } });
  const bay = (centres) => ({ near: { gap: 350, sd: 1, centres, centres_sd: 1 }, far: { gap: 350, sd: 1, centres, centres_sd: 1 } });
  return {
    id: "A",
    lines: ["near", "far"],
    walls: { start: { index: 0, at: { near: { x: 0, sd: 0, point: [0, 0] }, far: { x: 0, sd: 0, point: tied ? [0, 2900] : null } } }, end: { index: 3, at: at(1200) } },
    joists: [1, 2].map((index) => ({ index, breadth: { value: 45, sd: 1 }, at: at(index * 400) })),
    bays: [0, 1, 2].map((number) => ({ bay: number, at: bay(number === 1 ? 400 : null) })),
    findings: [{ code: "centres.irregular", where: { run: "A", line: "far", bay: 1 }, value: -30 }],
    suspects: [{ reading: "r" }],
    outline: null,
    features: [],
  };
}

test("the plan carries what is irregular and what is doubtful, at their own bay and line", () => {
  const entries = new Map([["r", { kind: "across", line: "near", from: [1, "right"], to: [2, "left"] }]]);
  const plan = planOf(built(true), entries);
  const marked = plan.bays.filter(({ off, doubtful }) => off || doubtful).map(({ bay, line, off, doubtful }) => [bay, line, off, doubtful]);
  assert.deepEqual(marked, [
    [1, "near", 0, true],
    [1, "far", -30, false],
  ]);
  assert.equal(plan.tied, true);
  assert.deepEqual(plan.rods.map(({ overall }) => overall), [1200, 1204]);
});

test("what is not determined is drawn at a guess and said, never thrown", () => {
  const plan = planOf(built(false), new Map());
  assert.equal(plan.tied, false);
  assert.equal(plan.joists.length, 2);
  const bare = built(true);
  bare.joists[0].at = { near: { x: null, sd: null, point: null }, far: { x: null, sd: null, point: null } };
  assert.deepEqual(planOf(bare, new Map()).missing, [1]);
  for (const one of [...bare.joists, bare.walls.end]) one.at = { near: { x: null, sd: null, point: null }, far: { x: null, sd: null, point: null } };
  assert.equal(planOf(bare, new Map()), null);
});
