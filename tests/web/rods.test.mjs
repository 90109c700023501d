// Which bays a rod brackets.
import assert from "node:assert/strict";
import { test } from "node:test";
import { oddBays } from "../../web/app/screens/walk/rod-data.js";
import { breadth, gap, running, survey } from "./walked.mjs";

const doubt = (...readings) => ({ code: "suspect", readings: readings.map(({ id }) => id) });

test("a bay that a notice names is bracketed, and so is one whose reading is doubted", () => {
  const [near, far] = [gap("near", 2, 350), gap("far", 3, 350)];
  const book = survey([near, far]);
  assert.deepEqual(oddBays(book, [{ code: "lines", bay: 1, readings: [near.id] }], "near"), new Set([1]));
  assert.deepEqual(oddBays(book, [doubt(near, far)], "near"), new Set([2]));
  assert.deepEqual(oddBays(book, [doubt(near, far)], "far"), new Set([3]));
});

test("what is no gap of one bay brackets none, and a sum brackets only the bay it names", () => {
  const [size, long, own] = [breadth(2), running("near", [4, "left"], 1600), gap("near", 1, 350)];
  const book = survey([size, long, own]);
  assert.deepEqual(oddBays(book, [doubt(size, long)], "near"), new Set());
  assert.deepEqual(oddBays(book, [{ code: "sum", readings: [own.id] }], "near"), new Set());
});
