// What closure says and what all readings together say, made one.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { judged, together } from "../../web/app/judged.js";

const notice = (code, readings) => ({ code, key: code, say: code, readings, off: 1, limit: 1, rule: "r" });
const asBuilt = (code, readings, more = {}) => ({
  runs: [
    {
      id: "A",
      findings: [{ code, say: "said", value: 9, rule: "reading.false_alarm", where: { run: "A", readings } }],
      suspects: [{ reading: readings[0], cause: "digits_swapped", case: 0 }],
      next_readings: [{ say: "it, once more", take: {}, case: 0 }],
      ...more,
    },
  ],
});

test("closure speaks alone until the check has answered", () => {
  const found = [notice("sum", ["a"]), notice("line", ["b"])];
  assert.equal(together(found, null, "A"), found);
});

test("sums and repeats are the check's to tell, and nothing is told twice of one reading", () => {
  const closure = [notice("sum", ["x"]), notice("repeat", ["y"]), notice("line", ["a"]), notice("line", ["c"])];
  const found = together(closure, asBuilt("reading.suspect", ["a", "b"]), "A");
  assert.deepEqual(found.map(({ code, readings }) => [code, readings]), [["suspect", ["a", "b"]], ["line", ["c"]]]);
});

test("only the reading that parts the suspects is said to settle it", () => {
  const [alone] = judged(asBuilt("reading.suspect", ["a"]), "A");
  assert.equal(alone.settle, null);
  assert.equal(alone.reason, "digits swapped");
  const parting = { say: "the overall", take: { kind: "across" }, case: 0, parts: true };
  const [two] = judged(asBuilt("reading.suspect", ["a", "b"], { next_readings: [parting] }), "A");
  assert.deepEqual([two.settle, two.settleSay], [parting.take, "the overall"]);
});

test("another run's doubts stay with it", () => {
  assert.deepEqual(together([], asBuilt("reading.suspect", ["a"]), "B"), []);
});

test("every slip that the engine names has words for the field book", () => {
  const rules = JSON.parse(readFileSync(new URL("../../shared/rules/uk.json", import.meta.url), "utf8"));
  const causes = Object.keys(rules.rules["slip.shares"].value).filter((cause) => cause !== "unknown");
  for (const cause of [...causes, "breadth_forgotten", "breadth_counted_twice"]) {
    const [one] = judged(asBuilt("reading.suspect", ["a"], { suspects: [{ reading: "a", cause, case: 0 }] }), "A");
    assert.notEqual(one.reason, "does not fit the other readings", cause);
  }
});
