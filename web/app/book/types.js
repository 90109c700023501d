/**
 * The shapes that the field book deals in. Lengths are in mm throughout.
 * @module book/types
 */

/**
 * One line of the field book. It is never changed and never deleted.
 * @typedef {Record<string, any> & {id: string, at: string, by: string, n?: number, kind: string}} Entry
 */

/**
 * A run of joists as the head has it.
 * @typedef {object} Run
 * @property {string} id
 * @property {string} [title]
 * @property {number} joists how many; 0 while nobody knows
 * @property {string[]} lines the tape lines, in the order in which they lie
 * @property {string[][]} [laps] pairs of them between which each joist goes over to another timber
 * @property {{breadth?: number, depth?: number, grade?: string, class?: string}} [member] [mm]
 * @property {boolean} [ended] true once the person has said where the end wall is
 * @property {string} [start] which wall one starts at
 * @property {string} [direction] which way the joists run
 */

/**
 * What a survey says of itself, apart from its entries. Fields not known here are kept.
 * @typedef {Record<string, any> & {format: string, version: number, id: string, title: string,
 *   created: string, tape?: {class?: string}, runs: Run[]}} Head
 */

/**
 * An entry and the promise of its storing.
 * @typedef {object} Saving
 * @property {Entry} entry
 * @property {Promise<void>} saved settles only once the database has said that the entry is stored; it
 *   stays pending, and is tried again, as long as it is not
 */

/**
 * A survey in a list.
 * @typedef {object} SurveySummary
 * @property {string} id
 * @property {string} title
 * @property {string} created RFC 3339
 * @property {number} entries how many are on this phone
 * @property {number} toGo how many the service has not got
 * @property {string | null} oldestUnsent when the oldest of these was stored, RFC 3339
 * @property {string | null} lastSync when everything last went over, RFC 3339
 */

/**
 * What is known of the kept as-built.
 * @typedef {object} AsBuiltState
 * @property {string | null} etag
 * @property {string | null} fetchedAt RFC 3339; null where none was fetched yet
 * @property {boolean} stale true where the phone has entries that the as-built does not know
 */

/**
 * A photo as it is kept.
 * @typedef {object} Picture
 * @property {string} sha256 of the bytes
 * @property {string} type such as `image/jpeg`
 * @property {ArrayBuffer} bytes
 * @property {number} [width] [px]
 * @property {number} [height] [px]
 */

/**
 * How an entry lies in the database.
 * @typedef {object} EntryRecord
 * @property {string} id
 * @property {string} survey
 * @property {Entry} entry
 * @property {number} kept when it was stored here [ms since 1970]
 * @property {string} [unsent] the survey's id, as long as the service has not got the entry
 * @property {string} [refused] why the service would not have it
 */

/**
 * How a survey lies in the database.
 * @typedef {object} SurveyRecord
 * @property {string} id
 * @property {Head} head as first stored; entries of kind `set` change what it amounts to
 * @property {boolean} brought true where it came from the service
 * @property {number} cursor how far the service's entries have been fetched
 * @property {number | null} lastSync [ms since 1970]
 */

/**
 * How an as-built lies in the database.
 * @typedef {object} AsBuiltRecord
 * @property {string} id the survey's
 * @property {string | null} etag
 * @property {number} fetchedAt [ms since 1970]
 * @property {number} count how many entries of this survey the service had
 * @property {Record<string, any>} body
 */

/** @typedef {"plan" | "capacity"} PaperKind what the service works out from the as-built */

/**
 * How such a paper lies in the database.
 * @typedef {object} PaperRecord
 * @property {string | null} of the ETag of the as-built it came from
 * @property {number} fetchedAt [ms since 1970]
 * @property {Record<string, string>} choices as they were sent
 * @property {Record<string, any> | null} body null where there was none yet
 * @property {string | null} refused why the service would not, in its words; an older body may stand beside it
 * @property {{of: string | null, fetchedAt: number}} [made] what that older body is of, and when it came
 */

/** @typedef {Picture & {unsent?: number, refused?: string, copy?: boolean}} PhotoRecord */

/** @typedef {{field: string, why: string}} Fault what is wrong, and in which field ("" for the whole) */

export {};
