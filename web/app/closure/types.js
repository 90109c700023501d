/**
 * The shapes that the closure checks read. They ask for no more of a survey than this, so that any
 * screen and any test can hand one over.
 * @module closure/types
 */

/** @typedef {[number, string]} Face a joist (0 and n + 1 are the walls) and a face of it */
/** @typedef {Record<string, any> & {id: string, kind: string}} Entry */

/**
 * A run of joists as the survey's head has it.
 * @typedef {object} Run
 * @property {string} id
 * @property {string} [title]
 * @property {number} joists how many; 0 while nobody knows
 * @property {string[]} lines the tape lines, in the order in which they lie
 * @property {string[][]} [laps] pairs of them that enclose a lap
 * @property {{breadth?: number, depth?: number, grade?: string, class?: string}} [member] [mm]
 * @property {boolean} [ended] true once the person has said where the end wall is
 * @property {string} [start] which wall one starts at
 */

/**
 * What the checks need of a survey.
 * @typedef {object} SurveyLike
 * @property {Record<string, any> & {runs: Run[], tape?: {class?: string}}} head
 * @property {Entry[]} entries in order
 * @property {Set<string>} standing the ids that are not struck out
 */

/** @typedef {{rules: Record<string, {value: any}>}} Pack the rule pack */

export {};
