/**
 * What can be on a joist or in a bay, and what is asked about each, one thing at a time.
 * @module screens/walk/details
 */

/**
 * One question about a feature.
 * @typedef {object} Question
 * @property {string} field the entry's field
 * @property {string} say
 * @property {"depth" | "length"} [draw] how a length is drawn
 * @property {{value: string, words: string}[]} [choices] a choice in place of a length
 */

/**
 * @typedef {object} Detail
 * @property {string} feature
 * @property {string} words
 * @property {"joist" | "bay"} on
 * @property {Question[]} questions
 * @property {string} caution a short word of care; empty where none is called for
 */

/** @type {Question} */
const EDGE = {
  field: "edge",
  say: "Where on the joist",
  choices: [
    { value: "top", words: "Top edge" },
    { value: "centre", words: "In the side" },
    { value: "bottom", words: "Bottom edge" },
  ],
};
/** @type {Question} */
const NEAR = { field: "from_near_support", say: "how far from the near support", draw: "length" };
const deep = (/** @type {string} */ say) => /** @type {Question} */ ({ field: "depth", say, draw: "depth" });
const long = (/** @type {string} */ say) => /** @type {Question} */ ({ field: "length", say, draw: "length" });
/** @type {Question} */
const ALONG = { field: "along", say: "how far from the tape line, along the joists", draw: "length" };

const WEIGHT = "Keep your weight off it, and take a photo. An engineer should see it.";
const CABLE = "Do not kneel or pull on it. An electrician should see it before it is covered.";

/** Everything that can be noted of a joist or a bay. @type {Detail[]} */
export const DETAILS = [
  {
    feature: "notch",
    words: "Notch",
    on: "joist",
    questions: [EDGE, deep("how deep"), long("how long"), NEAR],
    caution: "Take a photo of it.",
  },
  { feature: "hole", words: "Hole", on: "joist", questions: [EDGE, deep("how wide across"), NEAR], caution: "" },
  { feature: "split", words: "Split", on: "joist", questions: [EDGE, long("how long"), NEAR], caution: WEIGHT },
  { feature: "decay", words: "Decay", on: "joist", questions: [EDGE, long("how long"), NEAR], caution: WEIGHT },
  { feature: "cable", words: "Cable", on: "bay", questions: [ALONG], caution: CABLE },
  { feature: "pipe", words: "Pipe", on: "bay", questions: [ALONG], caution: "Do not kneel on it." },
  {
    feature: "insulation",
    words: "Insulation",
    on: "bay",
    questions: [deep("how deep it lies")],
    caution: "Old loose insulation can hold asbestos. If you do not know what it is, leave it and ask.",
  },
];

/** Why a reading could not be taken. */
export const REASONS = [
  "Insulation in the way",
  "Something stored there",
  "Pipe or tank in the way",
  "Not safe to kneel there",
  "No room for the tape",
  "Another reason",
];
