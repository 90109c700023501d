// The phone's fold on the vectors that the service's fold must pass as well.
import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { test } from "node:test";
import { entryFault, headFault } from "../../web/app/book/check.js";
import { fold } from "../../web/app/book/fold.js";
import { shuffled } from "./seeded.mjs";

const folder = new URL("../../shared/vectors/fold/", import.meta.url);
const names = readdirSync(folder).filter((name) => name.endsWith(".json"));

// A parsed text is compared as text: assert's own comparison passes over a field called __proto__.
const asText = (value) =>
  JSON.stringify(value, (_, part) =>
    part && typeof part === "object" && !Array.isArray(part) ? Object.entries(part).sort() : part,
  );

for (const name of names) {
  test(`fold: ${name}`, () => {
    const { head, entries, expect } = JSON.parse(readFileSync(new URL(name, folder), "utf8"));
    assert.equal(headFault(head), null);
    for (const entry of entries) assert.equal(entryFault(entry), null);
    for (let seed = 0; seed < 5; seed += 1) {
      const folded = fold(head, shuffled(entries, seed));
      assert.deepEqual(folded.entries.map(({ id }) => id), expect.order);
      assert.deepEqual(Object.fromEntries(folded.struck), expect.struck);
      assert.deepEqual([...folded.standing].sort(), expect.order.filter((id) => !(id in expect.struck)).sort());
      assert.equal(asText(folded.head), asText(expect.head));
    }
  });
}

test("there are vectors", () => assert.ok(names.length >= 18));
