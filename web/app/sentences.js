/**
 * Lengths inside our own sentences: they say millimetres, and are told in feet and inches where these are
 * chosen. Only here, at the border to the screen: what is kept and sent stays as it is.
 *
 * A reading, goods as they are sold and what is typed keep their millimetres. A published rule's figure,
 * which rounding could take to the wrong side, is told both ways.
 * @module sentences
 */
import { imperial, length } from "./lengths.js";
import { el } from "./ui.js";

const ONE = "\\d+(?:\\.\\d+)?";
const SOLD = "[\\d.]+(?: × [\\d.]+)* mm";

/** Goods as they are sold, and what may be typed. */
const STAYS = `${SOLD} boards?|(?:boards|deck|joist|pad) of ${SOLD}|asks for ${SOLD}; ${SOLD}|(?:timber is|batten) ${SOLD}|must be (?:from|one of) [^.]* mm`;
/** What stands before and behind the figure of a rule. */
const RULE = "[Aa]t least |up to |[Ee]very |kept |(?:less|more|longer) than |tables take ";
const RULED = " or more| is asked| on masonry| from short";
/** What stands before or behind a figure without a unit that is a length. */
const BEFORE =
  "centres|centres are|these are|wider than|narrower than|the usual|bays of|by|±|wall in|\\d in|breadth of|depth of|gap of|of which|lies|together|at most"
    .split("|")
    .map((words) => `(?<=${words} )`)
    .join("|");
const BEHIND =
  " (?:towards|off the|out over|under a|stands in|wider|narrower|(?:more|less) than the|at the|at its|in \\d|across|along(?: the j|, it| lie)|beyond the|before the|apart|long\\b|short of|beside|would be left|from [\\w ]+: line|→ \\d+\\)|and \\d+; \\d|to \\d+: no)|, where |: no place|; \\d+ is the";

const LENGTHS = new RegExp(
  [
    STAYS,
    `(${RULE})?(${ONE}(?: × ${ONE})*) mm(?![\\w²³/])(${RULED})?`,
    `((?<=board of )${ONE}|(?<![\\w.–-])${ONE}(?= is the least))`,
    `((?:${BEFORE})${ONE}(?![\\d.]*\\d| ?(?:k?N|kg|m|%)(?!\\w))|(?<![\\w.–-])${ONE}(?=${BEHIND})|(?<=→ )${ONE}(?=\\)))`,
  ].join("|"),
  "g",
);
/** Words that are a standard's, a shop's or the person's own. */
const OTHERS = ["formula", "size", "choices"];

/** What a figure was rounded from, where that stands beside it. @param {number} figure @param {any[]} near */
const exact = (figure, near) =>
  Number.isInteger(figure) ? (near.map(Math.abs).find((one) => Math.abs(one - figure) <= 0.5) ?? figure) : figure;

/**
 * A sentence with its lengths as they are chosen.
 * @param {string} text one of our own sentences
 * @param {any[]} near figures beside it [mm], for a length is rounded from the exact one
 * @param {boolean} twice every length both ways
 * @returns {string}
 */
export function said(text, near = [], twice = false) {
  /** @param {string} all @param {(string | undefined)[]} parts */
  const turned = (all, ...[rule = "", sides, ruled = "", strict, bare]) => {
    const figures = sides ?? strict ?? bare;
    if (!figures) return all;
    const both = twice || rule || ruled || strict;
    // What a rule says is a figure of its own, and no other one rounded.
    const own = figures
      .split(" × ")
      .map((one) => length(exact(Number(one), rule || ruled || strict ? [] : near)))
      .join(" × ");
    return rule + (both ? `${figures} mm (${own})` : own) + ruled;
  };
  return imperial() ? text.replace(LENGTHS, turned) : text;
}

/** What is said of the millimetres that stay where feet and inches are chosen. @param {string} words */
export const inFeet = (words) => imperial() && el("p", { class: "quiet" }, words);

/**
 * What the service worked out, with the lengths in its sentences as they are chosen; its numbers stay.
 * @template T
 * @param {T} paper plain data
 * @param {any[]} near figures beside it [mm]
 * @param {boolean} twice every length both ways, as what quotes published tables has them
 * @returns {T}
 */
export function inUnits(paper, near = [], twice = false) {
  if (typeof paper === "string") return /** @type {any} */ (said(paper, near, twice));
  if (Array.isArray(paper)) return /** @type {any} */ (paper.map((one) => inUnits(one, near, twice)));
  if (!paper || typeof paper !== "object") return paper;
  const own = [...Object.values(paper), ...near];
  return /** @type {any} */ (
    Object.fromEntries(
      Object.entries(paper).map(([name, part]) => [
        name,
        OTHERS.includes(name) ? part : inUnits(part, own, twice || name === "evidence"),
      ]),
    )
  );
}
