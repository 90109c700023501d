/**
 * The shapes that the engine reads. All lengths are in mm.
 * @module reconcile/types
 */

/** @typedef {Record<string, any> & {id: string, kind: string}} Entry */

/**
 * A run of joists, nothing left out.
 * @typedef {object} Run
 * @property {string} id
 * @property {string} title
 * @property {number} joists
 * @property {string[]} lines the tape lines in order
 * @property {string[][]} laps the pairs of lines between which a lap is stated
 * @property {string[][]} lapped those of them that are neighbours, the near line first
 * @property {string[][]} sides the lines parted at every lap: those of one side cross the same timbers
 * @property {{breadth?: number, depth?: number, class?: string}} member the usual timber [mm]
 */

/**
 * What a head and its entries amount to, as the field book's fold gives it.
 * @typedef {object} Folded
 * @property {Record<string, any>} head
 * @property {Entry[]} entries all of them, struck ones too, in order
 * @property {Set<string>} standing the ids of those that count
 * @property {Map<string, string>} struck the others, with the reason
 */

/** @typedef {Folded & {tape: Record<string, any>, runs: Run[]}} Survey */
/** @typedef {{id: string, rules: Record<string, {value: any}>}} Rules the rule pack as its file has it */
/** @typedef {Record<string, any>} Pack from the id of a rule to its value, in the rule's unit */
/** @typedef {[number, string]} Face */
/** @typedef {[number, number]} Point [mm] */
/** @typedef {[number, number][]} Terms unknown and coefficient */
/**
 * A reading worth taking; `case` is the disagreement that it bears on, `parts` true where it tells the
 * readings of that disagreement apart.
 * @typedef {{say: string, why: string, gain: number, take: Record<string, any>, case?: number, parts?: true}} Advice
 */

export {};
