import assert from "node:assert/strict";
import { test } from "node:test";
import { expect } from "../../web/app/closure/expect.js";
import { isOpen } from "../../web/app/closure/faces.js";
import { lastHook, nextStep, progress, readingsOf, runningStep, steps } from "../../web/app/closure/steps.js";
import { tally } from "../../web/app/closure/tally.js";
import { breadth, entry, gap, pack, running, survey, walked } from "./walked.mjs";

const keys = (list) => list.map(({ key }) => key);

test("out along the near line and back along the far", () => {
  const order = keys(steps(survey([], { joists: 2 }), "A", "out-and-back"));
  assert.deepEqual(order, ["near:0", "breadth:1", "near:1", "breadth:2", "near:2", "far:2", "far:1", "far:0"]);
});

test("a third line is walked out again", () => {
  const lines = ["near", "middle", "far"];
  const order = keys(steps(survey([], { joists: 1, lines }), "A", "out-and-back"));
  assert.deepEqual(order, ["near:0", "breadth:1", "near:1", "middle:1", "middle:0", "far:0", "far:1"]);
});

test("both ends of each bay, staying at the end where one is", () => {
  const order = keys(steps(survey([], { joists: 2 }), "A", "both-ends"));
  assert.deepEqual(order, ["near:0", "breadth:1", "far:0", "far:1", "near:1", "breadth:2", "near:2", "far:2"]);
});

test("the depth is asked for once where nobody gave it", () => {
  const order = keys(steps(survey([], { joists: 2, member: {} }), "A", "out-and-back"));
  assert.deepEqual(order.slice(0, 4), ["near:0", "breadth:1", "depth:1", "near:1"]);
});

test("the next dimension comes by itself, and an entry that stands answers it", () => {
  const entries = [];
  const asked = [];
  for (let step = nextStep(survey(entries), "A", "out-and-back"); step; step = nextStep(survey(entries), "A", "out-and-back")) {
    asked.push(step.key);
    entries.push(entry(step.kind, { ...step, key: undefined, value: 350 }));
  }
  assert.deepEqual(asked, keys(steps(survey([]), "A", "out-and-back")));
});

test("a struck reading is asked for again; what cannot be reached is not", () => {
  const read = gap("near", 0, 212);
  const strike = entry("strike", { target: read.id, reason: "undone" });
  assert.equal(nextStep(survey([read, strike]), "A", "out-and-back").key, "near:0");
  const missed = entry("unreached", { line: "near", bay: 0, from: [0, "face"], to: [1, "left"], reason: "tank" });
  assert.equal(nextStep(survey([missed]), "A", "out-and-back").key, "breadth:1");
  const size = entry("unreached", { joist: 1, of: "breadth", reason: "buried" });
  assert.equal(nextStep(survey([missed, size]), "A", "out-and-back").key, "near:1");
});

test("a step put aside waits", () => {
  assert.equal(nextStep(survey([]), "A", "out-and-back", new Set(["near:0"])).key, "breadth:1");
});

test("a bay that is named comes before all others, until all of it is answered", () => {
  const asked = [];
  const entries = [gap("near", 2, 350)];
  for (let n = 0; n < 4; n += 1) {
    const step = nextStep(survey(entries), "A", "out-and-back", new Set(["breadth:3"]), 2);
    asked.push(step.key);
    entries.push(entry(step.kind, { ...step, key: undefined, value: 350 }));
  }
  assert.deepEqual(asked, ["far:2", "near:0", "breadth:1", "near:1"]);
  assert.equal(nextStep(survey([]), "A", "out-and-back", new Set(), 99).key, "near:0");
});

test("the readings that answer a step, running ones from either side", () => {
  const own = gap("near", 2, 350);
  const [out, back] = [running("near", [3, "left"], 1200), running("near", [2, "right"], 1600, { zero: [6, "face"] })];
  const others = [gap("near", 1, 350), gap("far", 2, 350), breadth(3), running("near", [2, "left"], 800)];
  const sorted = tally(survey([own, ...others, out, back]), "A");
  const [step, size] = ["near:2", "breadth:3"].map((wanted) =>
    steps(survey([]), "A", "out-and-back").find(({ key }) => key === wanted),
  );
  assert.deepEqual(readingsOf(sorted, step), [own, out, back]);
  assert.deepEqual(readingsOf(sorted, size), [others[2]]);
  assert.deepEqual(readingsOf(sorted, { ...size, joist: 4 }), []);
});

test("an open run always asks for one bay more, until the end wall is named", () => {
  const head = { joists: 0, member: { breadth: 47, depth: 147 } };
  assert.deepEqual(keys(steps(survey([], head), "A", "out-and-back")).slice(0, 1), ["near:0"]);
  const grow = entry("set", { run: undefined, path: "/runs/A/joists", value: 1 });
  const grown = survey([grow, gap("near", 0, 212), breadth(1)], { ...head, joists: 1 });
  assert.equal(isOpen(grown, "A"), true);
  const step = nextStep(grown, "A", "out-and-back");
  assert.deepEqual(step.to, [2, "left"]);
  const ended = survey(grown.entries, { ...head, joists: 1, ended: true });
  assert.deepEqual(nextStep(ended, "A", "out-and-back").to, [2, "face"]);
});

test("running readings answer the bays they reach, and a hole among them is asked for", () => {
  const read = (joist) => running("near", [joist, "left"], joist * 400);
  const entries = [1, 2, 4].map(read).concat([1, 2, 3, 4, 5].map((joist) => breadth(joist)));
  assert.equal(nextStep(survey(entries), "A", "running").key, "near:2");
  const missed = entry("unreached", { line: "near", bay: 2, from: [0, "face"], to: [3, "left"], reason: "tank" });
  assert.equal(nextStep(survey([...entries, missed]), "A", "running").key, "near:4");
});

test("a running step is from the tape's zero to the face one comes to", () => {
  const [step] = steps(survey([]), "A", "running");
  const out = runningStep(step, { id: "h", line: "near", zero: [0, "face"] }, false);
  assert.deepEqual([out.from, out.to, out.hook], [[0, "face"], [1, "left"], "h"]);
  const back = steps(survey([]), "A", "running").find(({ key }) => key === "far:3");
  const way = runningStep(back, { id: "h", line: "far", zero: [6, "face"] }, true);
  assert.deepEqual([way.from, way.to], [[6, "face"], [3, "right"]]);
});

test("running back along the far line comes to an end too", () => {
  const zero = [6, "face"];
  const entries = walked([200, 350, 350, 350, 350, 200]).filter(({ line }) => line !== "far");
  const back = [5, 4, 3, 2, 1].map((joist) => running("far", [joist, "right"], (6 - joist) * 400, { zero }));
  assert.equal(nextStep(survey([...entries, ...back]), "A", "running").key, "far:0");
  const end = running("far", [0, "face"], 2400, { zero });
  assert.equal(nextStep(survey([...entries, ...back, end]), "A", "running"), null);
});

test("the tape's last set-up is found again", () => {
  const entries = [running("near", [1, "left"], 212), running("near", [2, "left"], 350, { hook: "h2", zero: [1, "left"] })];
  assert.deepEqual(lastHook(survey(entries), "A", "near"), { id: "h2", line: "near", zero: [1, "left"] });
  assert.equal(lastHook(survey(entries), "A", "far"), null);
});

test("what is to come is told from the other line, from the like, from the usual", () => {
  const [step] = steps(survey([]), "A", "out-and-back");
  assert.equal(expect(survey([]), "A", step, pack).value, 400 - 47);
  const some = survey([gap("near", 1, 340), gap("near", 2, 360), gap("near", 3, 362)]);
  const fourth = { key: "near:4", kind: "across", line: "near", bay: 4, from: [4, "right"], to: [5, "left"] };
  assert.deepEqual(expect(some, "A", fourth, pack), { value: 360, before: 0, from: "like", wall: false });
  const far = survey([gap("near", 4, 410)]);
  assert.equal(expect(far, "A", { ...fourth, line: "far" }, pack).value, 410);
});

test("what a running reading will be counts what was read before it", () => {
  const entries = [running("near", [1, "left"], 212), breadth(1), running("near", [2, "left"], 612), breadth(2)];
  const step = { key: "near:2", kind: "across", line: "near", bay: 2, from: [0, "face"], to: [3, "left"], hook: "h1" };
  const told = expect(survey(entries), "A", step, pack);
  assert.equal(told.before, 612 + 47);
  assert.equal(told.value, 612 + 47 + 353);
});

test("progress counts what is answered", () => {
  const entries = walked([200, 350, 350, 350, 350, 200]);
  assert.deepEqual(progress(survey(entries), "A", "out-and-back"), { done: 17, all: 17, open: false });
});
