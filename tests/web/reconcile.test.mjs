// The phone's engine on the vectors that the service's engine makes; and its own small parts.
import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { test } from "node:test";
import { fold } from "../../web/app/book/fold.js";
import { Adjuster } from "../../web/app/reconcile/adjust.js";
import { reconcile } from "../../web/app/reconcile/asbuilt.js";
import { Equations } from "../../web/app/reconcile/equations.js";
import { layOut, Normal } from "../../web/app/reconcile/normal.js";
import { greatest, median, round, steady } from "../../web/app/reconcile/rounding.js";
import { rowsOf } from "../../web/app/reconcile/sparse.js";
import { quantile, tail } from "../../web/app/reconcile/special.js";
import { general } from "../../web/app/reconcile/words.js";
import { differences } from "./differences.mjs";
import { shuffled } from "./seeded.mjs";

const shared = new URL("../../shared/", import.meta.url);
const read = (path) => JSON.parse(readFileSync(new URL(path, shared), "utf8"));
const rules = read("rules/uk.json");
const names = readdirSync(new URL("vectors/reconcile/", shared)).filter((name) => name.endsWith(".json"));
const asBuilt = (survey, entries = survey.entries) =>
  JSON.parse(JSON.stringify(reconcile(fold(survey, entries), rules)));

for (const name of names)
  test(`reconcile: ${name}`, () => {
    const vector = read(`vectors/reconcile/${name}`);
    // Figures are rounded to a micrometre; half of one may fall either way.
    assert.deepEqual(differences(vector.as_built, asBuilt(vector.survey), 0.0011), []);
  });

test("there are vectors", () => assert.ok(names.length >= 60));

test("a wrong figure, word or reading is seen by the comparison", () => {
  const { as_built: right } = read(`vectors/reconcile/${names[1]}`);
  for (const spoil of [
    (made) => (made.runs[0].joists[1].at.near.x += 0.02),
    (made) => (made.runs[0].readings[0].verdict = "suspect"),
    (made) => made.runs[0].readings.pop(),
    (made) => (made.settled = !made.settled),
    (made) => (made.runs[0].fit.sigma0 = null),
  ]) {
    const made = structuredClone(right);
    spoil(made);
    assert.equal(differences(right, made, 0.01).length, 1);
  }
});

test("the order in which entries came in changes nothing", () => {
  const { survey, as_built: right } = read(`vectors/reconcile/${names.find((name) => name.includes("struck"))}`);
  for (let seed = 0; seed < 5; seed += 1)
    assert.deepEqual(differences(right, asBuilt(survey, shuffled(survey.entries, seed)), 0.0011), []);
});

test("many small blocks give what one block gives", () => {
  const equations = new Equations();
  const scale = equations.unknown(0);
  equations.row([[scale, 1]], 0, 0.1);
  const joists = Array.from({ length: 60 }, (_, i) => equations.unknown(i * 400, i + 1));
  joists.forEach((u, i) => {
    equations.row([[u, 1], ...(i ? [[joists[i - 1], -1]] : []), [scale, 0.4]], 400 + (i % 5), 1.2);
    if (i % 7 === 0) equations.row([[u, 1], [scale, i * 0.4]], (i + 1) * 401, 1.2);
  });
  const hanging = equations.unknown(0, 30);
  equations.row([[joists[0], 1], [joists[59], 1]], 24400, 1.2);
  const rows = rowsOf([...equations.terms, [[hanging, 1]], []]);
  const design = rowsOf(equations.terms), weights = Float64Array.from(equations.sigmas, (s) => s ** -2);
  const right = Float64Array.from(equations.start, (_, i) => Math.sin(i));
  const whole = new Normal(design, weights, layOut(equations));
  for (const [most, block] of [[0, 10], [0, 25], [0, 1000]]) {
    const layout = layOut(equations, most, block), cut = new Normal(design, weights, layout);
    assert.ok(block === 1000 || layout.bounds.length > 3);
    cut.solve(right).forEach((value, i) => assert.ok(Math.abs(value / whole.solve(right)[i] - 1) < 1e-6, `${i}`));
    cut.spread(rows).forEach((value, i) => assert.ok(Math.abs(value - whole.spread(rows)[i]) <= 1e-9 * (1 + value), `${i}`));
  }
});

test("the mean of a reading taken four times, and its standard deviation", () => {
  const equations = new Equations(), gap = equations.unknown(0, 1);
  for (const value of [353, 354, 352, 353.4]) equations.row([[gap, 1]], value, 2);
  const fit = new Adjuster(equations, () => {}).fit();
  assert.ok(Math.abs(fit.values[gap] - 353.1) < 1e-6);
  assert.ok(Math.abs(fit.spread(rowsOf([[[gap, 1]]]))[0] - 1) < 1e-9);
  assert.equal(fit.dof, 3);
});

test("chi-square: percentage points as printed", () => {
  // Upper points of chi-square as in any printed table; from memory.
  for (const [dof, chance, point] of [[1, 0.05, 3.84146], [1, 0.001, 10.828], [2, 0.01, 9.21034], [10, 0.05, 18.307], [30, 0.005, 53.672], [100, 0.01, 135.807]]) {
    assert.ok(Math.abs(quantile(dof, chance) - point) < 6e-4, `${dof}, ${chance}`);
    assert.ok(Math.abs(tail(dof, quantile(dof, chance)) / chance - 1) < 1e-10);
  }
  assert.equal(tail(3, 0), 1);
  // With two degrees of freedom the tail is exp(-x/2).
  for (const x of [0.01, 1, 7, 60]) assert.ok(Math.abs(tail(2, x) / Math.exp(-x / 2) - 1) < 1e-13);
});

test("rounding as the service does it", () => {
  const halves = [0.5, 1.5, 2.5, -0.5, -1.5, 353.5, 354.5];
  assert.deepEqual(halves.map((x) => round(x) + 0), [0, 2, 2, 0, -2, 354, 354]);
  assert.deepEqual([0.0625, 0.1875, 2.675, -0.0625].map((x) => round(x, 3)), [0.062, 0.188, 2.675, -0.062]);
  assert.equal(steady(353.49999999999), 353.5);
  assert.equal(greatest([1, 3, 3.0000000001, 2], (x) => x), 3);
  // Each is like the next, and the first yet not like the last.
  assert.equal(greatest(Array.from({ length: 50 }, (_, i) => i * 9e-5), (x) => x), 48 * 9e-5);
  assert.equal(median([4, 1, 3, 2]), 2.5);
  assert.deepEqual([406.4, 47, 1e6, 0.00005, 123456.7].map((x) => general(x)), ["406.4", "47", "1e+06", "5e-05", "123457"]);
});
