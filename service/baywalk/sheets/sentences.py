"""Lengths inside our own sentences, as a sheet tells them: in millimetres, or in feet and inches.

The sentences themselves are made, kept and sent in millimetres; they are turned here alone, where
they are printed. A reading, goods as they are sold and what is typed keep their millimetres. A
published rule's figure, which rounding could take to the wrong side, is told both ways.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from baywalk.sheets import lengths

_ONE = r"\d+(?:\.\d+)?"
_SOLD = r"[\d.]+(?: × [\d.]+)* mm"
_STAYS = (
    rf"{_SOLD} boards?|(?:boards|deck|joist|pad) of {_SOLD}|asks for {_SOLD}; {_SOLD}"
    rf"|(?:timber is|batten) {_SOLD}|must be (?:from|one of) [^.]* mm"
)
"""Goods as they are sold, and what may be typed."""
_RULE = r"[Aa]t least |up to |[Ee]very |kept |(?:less|more|longer) than |tables take "
_RULED = r" or more| is asked| on masonry| from short"
"""What stands before and behind the figure of a rule."""
_BEFORE = (
    r"centres|centres are|these are|wider than|narrower than|the usual|bays of|by|±|wall in"
    r"|\d in|breadth of|depth of|gap of|of which|lies|together|at most"
)
"""What stands before a figure without a unit that is a length."""
_BEHIND = (
    r" (?:towards|off the|out over|under a|stands in|wider|narrower|(?:more|less) than the|at the"
    r"|at its|in \d|across|along(?: the j|, it| lie)|beyond the|before the|apart|long\b|short of"
    r"|beside|would be left|from [\w ]+: line|→ \d+\)|and \d+; \d|to \d+: no)"
    r"|, where |: no place|; \d+ is the"
)
"""What stands behind one."""
_LED = "|".join(f"(?<={words} )" for words in _BEFORE.split("|"))
_BARE = (
    rf"(?:{_LED}){_ONE}(?![\d.]*\d| ?(?:k?N|kg|m|%)(?!\w))"
    rf"|(?<![\w.–-]){_ONE}(?={_BEHIND})|(?<=→ ){_ONE}(?=\))"
)
_LENGTHS = re.compile(
    "|".join(
        (
            _STAYS,
            rf"({_RULE})?({_ONE}(?: × {_ONE})*) mm(?![\w²³/])({_RULED})?",
            rf"((?<=board of ){_ONE}|(?<![\w.–-]){_ONE}(?= is the least))",
            rf"({_BARE})",
        )
    ),
    re.ASCII,
)


def said(text: str, units: str, near: Iterable[object] = ()) -> str:
    """Return one of our own sentences with its lengths as they are chosen.

    ``near`` are figures beside it [mm]: a length that one of them rounds to is told from that one,
    for a length is rounded from the exact.
    """
    if units != "imperial":
        return text
    exact = [float(x) for x in near if isinstance(x, int | float) and not isinstance(x, bool)]

    def turned(found: re.Match[str]) -> str:
        rule, sides, ruled, strict, bare = found.groups()
        figures = sides or strict or bare
        if not figures:
            return found[0]
        both = bool(rule or ruled or strict)
        own = both_sides(figures, [] if both else exact)
        told = f"{figures} mm ({own})" if both else own
        return f"{rule or ''}{told}{ruled or ''}"

    return _LENGTHS.sub(turned, text)


def twice(length: float, units: str) -> str:
    """Return a rule's own figure [mm] as it stands on a sheet: alone, or with feet and inches."""
    return f"{length:g} mm ({lengths.say(length, units)})" if units == "imperial" else f"{length:g}"


def both_sides(figures: str, exact: Iterable[float] = ()) -> str:
    """Return one length [mm] as written, or the sides of a section, in feet and inches."""
    known = list(exact)
    return " × ".join(lengths.say(_exact(one, known), "imperial") for one in figures.split(" × "))


def _exact(figure: str, near: Iterable[float]) -> float:
    """Return what a figure was rounded from where that stands beside it [mm]; else itself."""
    length = float(figure)
    if not length.is_integer():
        return length
    return next((abs(x) for x in near if abs(abs(x) - length) <= 0.5), length)


def told(one: Mapping[str, Any], units: str, *more: object) -> str:
    """Return what a finding, caution or any other part says, told from its own figures [mm].

    ``more`` are parts whose figures the sentence speaks of too.
    """
    return said(str(one.get("say") or ""), units, figures((one, *more)))


def figures(part: object) -> Iterator[float]:
    """Give every figure of a part, whatever it is made of."""
    if isinstance(part, Mapping):
        part = tuple(part.values())
    if isinstance(part, int | float) and not isinstance(part, bool):
        yield float(part)
    elif isinstance(part, list | tuple):
        for inner in part:
            yield from figures(inner)
