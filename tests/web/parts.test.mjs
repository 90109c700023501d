import assert from "node:assert/strict";
import { test } from "node:test";
import { fitting } from "../../web/app/parts/rod.js";
import { typed } from "../../web/app/parts/typed.js";

test("touched digits make a number, and no more than six of them", () => {
  let changes = 0;
  const state = typed(() => (changes += 1));
  [..."3530000"].forEach(state.digit);
  assert.equal(state.text, "353000");
  assert.equal(changes, 6);
  state.erase();
  assert.equal(state.text, "35300");
  state.clear();
  assert.equal(state.text, "");
});

test("a nought in front does not stay", () => {
  const state = typed(() => {});
  [..."007"].forEach(state.digit);
  assert.equal(state.text, "7");
});

test("a keyboard may type decimals and a unit, within reason", () => {
  const state = typed(() => {});
  [..."0.353 m"].forEach(state.char);
  assert.equal(state.text, "0.353 m");
  [..."9".repeat(40)].forEach(state.char);
  assert.equal(state.text.length, 16);
});

test("words on a rod never overlap, and the first ones win", () => {
  const words = Array.from({ length: 40 }, (_, at) => ({ at: at * 9, text: `J${at + 1}` }));
  const kept = fitting([...words].reverse(), 12);
  assert.equal(kept[0].text, "J40");
  for (const one of kept) {
    for (const other of kept.filter((word) => word !== one)) {
      assert.ok(Math.abs(one.at - other.at) >= 12, `${one.text} on ${other.text}`);
    }
  }
});
