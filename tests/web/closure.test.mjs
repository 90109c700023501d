import assert from "node:assert/strict";
import { test } from "node:test";
import { closure } from "../../web/app/closure/notices.js";
import { breadth, entry, gap, pack, running, survey, walked } from "./walked.mjs";

const GAPS = [212, 353, 361, 349, 353, 187];
const TOTAL = GAPS.reduce((sum, one) => sum + one, 0) + 5 * 47;
const overall = (value, line = "near") => entry("across", { line, from: [0, "face"], to: [6, "face"], value });
const run = (entries, head) => closure(survey(entries, head), "A", pack);
const swap = (at, value) => GAPS.map((one, bay) => (bay === at ? value : one));

test("a clean run with its overall gives no notice", () => {
  assert.deepEqual(run([...walked(GAPS), overall(TOTAL + 2), overall(TOTAL - 1, "far")]), []);
});

test("an empty run and a run half walked give no notice", () => {
  assert.deepEqual(run([]), []);
  assert.deepEqual(run([gap("near", 0, 212), breadth(1), gap("near", 1, 353)]), []);
});

test("a swapped pair of digits is laid at its bay when the other line and the overall agree", () => {
  const [first, ...rest] = run([...walked(swap(2, 316), GAPS), overall(TOTAL)]);
  assert.equal(rest.length, 0);
  assert.equal(first.code, "sum");
  assert.equal(first.bay, 2);
  assert.match(first.say, /^J2–J3 on the near line reads 316\. The far line and the longer reading both want about 361\. Two digits swapped\? Take it again\.$/);
});

test("a sum that no other line explains names the span and both figures", () => {
  const [first] = run([...walked(GAPS), overall(TOTAL + 100)]);
  assert.equal(first.code, "sum");
  assert.match(first.say, new RegExp(`wall to end wall: the parts add up to ${TOTAL}, the reading over all of it is ${TOTAL + 100}, which is 100 more`));
});

test("a breadth that was not read is counted as the usual one, and said", () => {
  const entries = [...walked(GAPS).filter(({ joist }) => joist !== 3), overall(TOTAL - 60)];
  assert.match(run(entries)[0].say, /Where no breadth was read, the usual one was counted/);
});

test("running readings close against gaps", () => {
  const at = (joist) => GAPS.slice(0, joist).reduce((sum, one) => sum + one, 0) + (joist - 1) * 47;
  const good = [1, 2, 3, 4, 5].map((joist) => running("near", [joist, "left"], at(joist)));
  assert.deepEqual(run([...walked(GAPS), ...good]), []);
  const slip = running("near", [3, "left"], at(3) + 30);
  assert.equal(run([...walked(GAPS), ...good.filter((_, index) => index !== 2), slip])[0].code, "sum");
});

test("running readings alone close against the overall, across a re-hook", () => {
  const at = (joist) => GAPS.slice(0, joist).reduce((sum, one) => sum + one, 0) + (joist - 1) * 47;
  const zero = [3, "left"];
  const before = [1, 2, 3].map((joist) => running("near", [joist, "left"], at(joist)));
  const after = [4, 5].map((joist) => running("near", [joist, "left"], at(joist) - at(3), { hook: "h2", zero }));
  const end = running("near", [6, "face"], TOTAL - at(3), { hook: "h2", zero });
  assert.deepEqual(run([...before, ...after, end, overall(TOTAL)]), []);
  assert.equal(run([...before, ...after, end, overall(TOTAL + 50)])[0].off, 50);
});

test("a bay unlike its twin on the other line is mentioned once", () => {
  const found = run(walked(GAPS, swap(3, 394)));
  assert.deepEqual(found.map(({ code, bay }) => [code, bay]), [["line", 3]]);
  assert.match(found[0].say, /reads 349 on the near line and 394 on the far line/);
  assert.ok(/Two digits swapped/.test(found[0].say));
});

test("a bay unlike its neighbours is mentioned, unless the other line confirms it", () => {
  const odd = swap(2, 531);
  const alone = odd.map((value, bay) => gap("near", bay, value));
  assert.deepEqual(run(alone).map(({ code, bay }) => [code, bay]), [["neighbour", 2]]);
  assert.deepEqual(run(walked(odd)), []);
});

test("the same reading taken twice must agree", () => {
  const again = gap("near", 2, 381);
  const [first] = run([...walked(GAPS), again]);
  assert.equal(first.code, "repeat");
  assert.equal(first.readings[0], again.id);
  assert.deepEqual(run([...walked(GAPS), gap("near", 2, 363)]), []);
});

test("a breadth unlike the others is mentioned; a doubled joist is guessed", () => {
  const [first] = run([breadth(1), breadth(2), breadth(3, 94), breadth(4)]);
  assert.equal(first.joist, 3);
  assert.match(first.say, /Two joists side by side/);
});

test("a struck reading has no say", () => {
  const wrong = gap("near", 2, 631);
  const entries = [...walked(GAPS), wrong, entry("strike", { target: wrong.id, reason: "taken again" })];
  assert.deepEqual(run(entries), []);
});

test("an odd entry from elsewhere does not stop the checks", () => {
  assert.deepEqual(run([entry("across", { line: "near", from: "x", value: 3 }), entry("spirit", { value: 1 })]), []);
});

test("no slip of a tenth of a bay goes unnoticed once the overall is read", () => {
  for (let bay = 0; bay < GAPS.length; bay += 1) {
    for (const slip of [-100, -36, -10, 10, 36, 100]) {
      const found = run([...walked(swap(bay, GAPS[bay] + slip), GAPS), overall(TOTAL)]);
      assert.ok(found.length > 0, `bay ${bay} slip ${slip}`);
    }
  }
});
