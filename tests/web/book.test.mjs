// The field book's core: making, checking, filing and merging, with no browser.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { entryFault, headFault } from "../../web/app/book/check.js";
import { moment, newEntry, newHead } from "../../web/app/book/entry.js";
import { BadFile, readFile, same, writeFile } from "../../web/app/book/file.js";
import { held, hold } from "../../web/app/book/lifeboat.js";
import { mergeHeads } from "../../web/app/book/merge.js";
import { compareText, nextCounter } from "../../web/app/book/order.js";
import { time } from "../../web/app/book/values.js";

const RUN = { id: "A", title: "", joists: 3, lines: ["near"] };
const stamp = { by: "11111111-1111-4111-8111-111111111111", n: 1 };
const gap = (fields = {}) =>
  newEntry("across", { run: "A", line: "near", from: [1, "right"], to: [2, "left"], value: 353, ...fields }, stamp);
const head = () => newHead("Invented", { class: "II" }, [RUN]);

test("a new entry and a new head are sound, and no two have the same id", () => {
  assert.equal(entryFault(gap()), null);
  assert.equal(headFault(head()), null);
  assert.notEqual(gap().id, gap().id);
});

test("what an entry says of itself cannot be given by its fields", () => {
  const entry = newEntry("remark", { text: "x", id: "mine", n: 99, kind: "photo" }, stamp);
  assert.notEqual(entry.id, "mine");
  assert.deepEqual([entry.n, entry.kind], [1, "remark"]);
});

test("a moment carries the phone's own offset", () => {
  for (const offset of [0, -60, 330, -345]) {
    const when = new Date(Date.UTC(2026, 2, 14, 9, 26, 53, 589));
    when.getTimezoneOffset = () => offset;
    assert.equal(time(moment(when)), "");
    assert.match(moment(when), offset > 0 ? /-0\d:\d\d$/ : /\+0\d:\d\d$/);
  }
});

const WRONG = [
  ["id", { id: "ABC" }],
  ["at", { at: "2026-02-30T10:00:00Z" }],
  ["at", { at: "2026-02-20 10:00:00" }],
  ["by", { by: "" }],
  ["n", { n: 1.5 }],
  ["kind", { kind: 7 }],
  ["value", { value: -1 }],
  ["value", { value: 1_000_001 }],
  ["value", { value: "353" }],
  ["value", { value: true }],
  ["value", { value: NaN }],
  ["from", { from: [1, "top"] }],
  ["from", { from: [10_001, "left"] }],
  ["to", { to: [1] }],
  ["run", { run: undefined }],
  ["note", { note: "x".repeat(10_001) }],
  ["note", { note: "\ud800" }],
  ["line", { line: "x".repeat(201) }],
];

for (const [field, change] of WRONG) {
  test(`an entry with ${JSON.stringify(change)} is refused at ${field}`, () => {
    assert.equal(entryFault({ ...gap(), ...change })?.field, field);
  });
}

test("an unknown kind is sound as long as it is an entry at all", () => {
  assert.equal(entryFault({ ...gap(), kind: "moisture", from: "anywhere", value: "wet" }), null);
  let deep = 1;
  for (let level = 0; level < 40; level += 1) deep = [deep];
  assert.equal(entryFault({ ...gap(), kind: "moisture", deep })?.field, "deep");
});

test("a text's length is counted in characters", () => {
  assert.equal(entryFault({ ...gap(), line: "📐".repeat(200) }), null);
  assert.equal(entryFault({ ...gap(), line: "📐".repeat(201) })?.field, "line");
});

test("a file gives back what was put in it", () => {
  const [survey, entries] = [head(), [gap(), gap({ value: 354 })]];
  const photos = { ["a".repeat(64)]: { type: "image/jpeg", data: "AAAA" } };
  assert.deepEqual(readFile(writeFile(survey, entries, photos)), { head: survey, entries, photos });
  assert.deepEqual(readFile(writeFile(survey, entries)), { head: survey, entries, photos: {} });
});

test("the demo loft can be read", () => {
  const text = readFileSync(new URL("../../fixtures/demo-loft.json", import.meta.url), "utf8");
  assert.ok(readFile(text).entries.length > 50);
});

const FILES = [
  ["not JSON", "{", /not JSON/],
  ["a list", "[]", /must be an object/],
  ["another format", JSON.stringify({ ...head(), format: "x" }), /field format/],
  ["an unknown version", JSON.stringify({ ...head(), version: 2 }), /field version/],
  ["a bad run", JSON.stringify({ ...head(), runs: [{ ...RUN, joists: -1 }] }), /field runs: its joists/],
  ["two runs of one name", JSON.stringify({ ...head(), runs: [RUN, RUN] }), /field runs: names one thing twice/],
  ["entries that are no list", JSON.stringify({ ...head(), entries: {} }), /field entries/],
  ["a bad entry", writeFile(head(), [gap(), gap({ value: -1 })]), /^Entry 2 \(id [0-9a-f-]{36}\), field value: must be from/],
  ["an entry that is no object", writeFile(head(), [7]), /^Entry 1 \(id none\)/],
  ["a bad photo", writeFile(head(), [], { x: {} }), /field photos/],
];

for (const [what, text, words] of FILES) {
  test(`a file with ${what} is refused with one clear line`, () => {
    assert.throws(() => readFile(text), (error) => error instanceof BadFile && words.test(error.message));
  });
}

test("an entry twice in a file is one, and is refused where the two differ", () => {
  const entry = gap();
  assert.equal(readFile(writeFile(head(), [entry, { ...entry }])).entries.length, 1);
  assert.throws(() => readFile(writeFile(head(), [entry, { ...entry, value: 1 }])), /comes twice and differs/);
});

test("two values are the same as JSON whatever the order of their fields", () => {
  assert.ok(same({ a: 1, b: [1, { c: null }] }, { b: [1, { c: null }], a: 1 }));
  for (const [one, other] of [[1, true], [[], {}], [{ a: undefined }, {}], [null, {}], [{ a: 1 }, { b: 1 }]]) {
    assert.ok(!same(one, other));
  }
});

test("heads merge as the service merges them", () => {
  const old = { ...head(), runs: [RUN, { id: "B", joists: 9, lines: ["far"] }] };
  const fresh = { ...old, title: "Newer", created: "2000-01-01T00:00:00Z", runs: [{ ...RUN, joists: 2, lines: ["far"] }, { id: "C", lines: [] }] };
  const merged = mergeHeads(old, fresh);
  assert.equal(merged.title, "Newer");
  assert.equal(merged.created, old.created);
  assert.deepEqual(merged.runs.map(({ id }) => id), ["A", "B", "C"]);
  assert.deepEqual([merged.runs[0].joists, merged.runs[0].lines], [3, ["near", "far"]]);
});

test("texts are ordered by their characters' numbers", () => {
  assert.ok(compareText("ab", "abc") < 0 && compareText("b", "ab") > 0 && compareText("Ａ", "📐") < 0);
  assert.equal(compareText("x", "x"), 0);
});

test("the counter is one more than any seen, and a broken one is passed over", () => {
  assert.equal(nextCounter([{ n: 4 }, { n: 17 }, {}, { n: "99" }, { n: 1e300 }]), 18);
  assert.equal(nextCounter([]), 1);
});

test("what is held stays until its own writing is done, though the same was held before", () => {
  const texts = new Map();
  globalThis.localStorage = {
    getItem: (name) => texts.get(name) ?? null,
    setItem: (name, text) => texts.set(name, text),
    removeItem: (name) => texts.delete(name),
  };
  const [first, second, third] = ["", "53", ""].map((typed) => hold("sheet", { typed }));
  first();
  second();
  assert.deepEqual(held("sheet"), { typed: "" });
  third();
  assert.equal(held("sheet"), undefined);
  delete globalThis.localStorage;
});
