/**
 * Breadths and depths against the tolerance of sawn timber.
 * @module reconcile/findings/timber
 */
import { general, joist as named, millimetres } from "../words.js";
import { finding, range } from "./common.js";

/** @typedef {import("./common.js").Finding} Finding */
/** @typedef {import("./common.js").View} View */

/**
 * Names joists that are not of the usual size, surely beyond their tolerance class.
 * @param {View} view
 * @returns {Finding[]}
 */
export function timber({ solved, geometry }) {
  const { run, pack, assumed } = solved,
    { member } = run;
  const rule = `timber.tolerance.${member.class === "T2" ? "T2" : "T1"}`;
  return /** @type {const} */ (["breadth", "depth"]).flatMap((size) => {
    const usual = member[size];
    if (!usual) return [];
    const [below, above] = pack[rule][usual <= 100 ? "upto100" : "over100"];
    return range(1, run.joists).flatMap((joist) => {
      const read = geometry[size].get(String(joist));
      if (!read || (size === "breadth" && assumed.includes(joist))) return [];
      const figure = { value: read.value - usual, sd: read.sd },
        off = Math.abs(figure.value);
      const limit = figure.value > 0 ? above : below;
      if (off - limit <= pack["finding.significance"] * read.sd) return [];
      const say =
        `${named(joist, run.joists)} has a ${size} of ${millimetres(usual + figure.value)}, ${millimetres(off)} ` +
        `${figure.value > 0 ? "more" : "less"} than the usual ${general(usual)}. Another timber?`;
      return [finding(`${size}.odd`, "note", say, { run: run.id, joist }, { figure, limit, rule })];
    });
  });
}
