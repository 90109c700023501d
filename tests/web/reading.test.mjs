import assert from "node:assert/strict";
import { test } from "node:test";
import { readLength } from "../../web/app/closure/length.js";
import { questionable } from "../../web/app/closure/question.js";
import { pack } from "./walked.mjs";

const read = (text) => readLength(text, 30);
const gap = { value: 353, before: 0, from: "like", wall: false };

test("a length is read with or without a unit, comma or point", () => {
  const same = ["353", "353 mm", "353mm", "35.3cm", "35,3 cm", "0.353 m", "0,353m", " 353 "];
  assert.deepEqual(same.map((text) => read(text).value), same.map(() => 353));
});

test("inches and feet are read", () => {
  assert.equal(read('16"').value, 406);
  assert.equal(read("16 in").value, 406);
  assert.equal(read(`1' 4"`).value, 406);
  assert.equal(read("1ft 4in").value, 406);
});

test("rounding is said, whole millimetres are not talked about", () => {
  assert.equal(read("353.4").value, 353);
  assert.match(read("353.4").said, /353\.4 taken as 353 mm/);
  assert.equal(read("353").said, "");
});

test("a small number with decimals and no unit is taken for metres, and asked about", () => {
  assert.deepEqual([read("1.234").value, read("1.234").ask], [1234, true]);
  assert.deepEqual([read("1.234 m").value, read("1.234 m").ask], [1234, false]);
});

test("what is no length is named", () => {
  for (const text of ["abc", "12..5", "--", "1e3", "-5"]) assert.equal(read(text).value, null, text);
  assert.match(read("").said, /Type the reading first/);
  assert.match(read("99999999").said, /longer than any room/);
});

test("ten times too large or too small is asked about, with what was perhaps meant", () => {
  assert.equal(questionable(3530, gap, pack).perhaps, 353);
  assert.equal(questionable(35, gap, pack).perhaps, 350);
  assert.equal(questionable(361, gap, pack), null);
  assert.equal(questionable(0, gap, pack).perhaps, null);
});

test("a narrow bay at the wall is not asked about, unless the other line was wide there", () => {
  assert.equal(questionable(35, { ...gap, wall: true }, pack), null);
  assert.notEqual(questionable(35, { ...gap, wall: true, from: "same" }, pack), null);
  assert.notEqual(questionable(3530, { ...gap, wall: true }, pack), null);
});

test("a running reading must go further than the last face", () => {
  const context = { value: 2012, before: 1659, from: "like", wall: false };
  assert.equal(questionable(2020, context, pack), null);
  assert.match(questionable(1600, context, pack).say, /no further than the last face/);
  assert.equal(questionable(201, context, pack).perhaps, 2010);
  assert.equal(questionable(20120, context, pack).perhaps, 2012);
});

/** Slips of typing after Thimbleby and Cairns 2010 (from memory): a key doubled, lost, a zero too many. */
function slips(value) {
  const digits = String(value);
  const at = [...digits].keys();
  const each = [...at].flatMap((index) => [
    digits.slice(0, index) + digits[index] + digits.slice(index),
    digits.slice(0, index) + digits.slice(index + 1),
  ]);
  return [...each, `${digits}0`, `${digits}00`].map(Number);
}

test("of slips by a factor of ten at least 9 in 10 are asked about; true values at most 1 in 50", () => {
  let [tens, asked, truths, alarms] = [0, 0, 0, 0];
  // Bays as lofts have them: 250 to 600 mm clear, about a usual 353.
  for (let value = 250; value <= 600; value += 1) {
    truths += 1;
    alarms += questionable(value, gap, pack) ? 1 : 0;
    for (const slip of slips(value).filter((one) => one / value > 5 || one / value < 0.2)) {
      tens += 1;
      asked += questionable(slip, gap, pack) ? 1 : 0;
    }
  }
  assert.ok(asked / tens >= 0.9, `${asked} of ${tens}`);
  assert.ok(alarms / truths <= 0.02, `${alarms} of ${truths}`);
});
