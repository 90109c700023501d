"""Joist tops against the published floor tolerance: out of level, humps and hollows."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from baywalk.reconcile import words
from baywalk.reconcile.findings.common import Finding
from baywalk.reconcile.questions import Figure
from baywalk.reconcile.rounding import ranked, steady

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.reconcile.findings.common import View

_Top = tuple[float, Figure, int]
"""Place along the line [mm], distance down from the level line [mm], joist."""


def levels(view: View) -> Iterator[Finding]:
    """Hold each tape line's joist tops against level and against a straightedge."""
    for line in view.solved.run.lines:
        tops = _tops(view, line)
        if len(tops) > 1:
            yield from _level(view, line, tops)
            yield from _straight(view, line, tops)


def _tops(view: View, line: str) -> list[_Top]:
    measured = view.geometry
    return [
        (measured.x[joist, line].value, measured.levels[joist, line], joist)
        for joist in range(1, view.solved.run.joists + 1)
        if (joist, line) in measured.levels and (joist, line) in measured.x
    ]


def _level(view: View, line: str, tops: list[_Top]) -> Iterator[Finding]:
    """Compare the highest and the lowest top with what a floor may be out over that distance."""
    pack, run = view.solved.network.pack, view.solved.run
    high = ranked(tops, lambda top: -top[1].value)[0]
    low = ranked(tops, lambda top: top[1].value)[0]
    out = Figure(low[1].value - high[1].value, math.hypot(high[1].sd, low[1].sd))
    metres = abs(low[0] - high[0]) / 1000
    limit = min(pack["floor.level.per_metre"] * max(metres, 1.0), pack["floor.level.most"])
    if view.significant(out, limit):
        yield Finding(
            "tops.out_of_level",
            "look",
            f"{line} line: {words.joist(low[2], run.joists)} lies {words.millimetres(out.value)} "
            f"lower than {words.joist(high[2], run.joists)}; a floor may be "
            f"{words.millimetres(limit)} out over that distance. Pack it up.",
            where={"run": run.id, "line": line, "joist": low[2]},
            figure=out,
            limit=round(steady(limit), 1),
            rule="floor.level.per_metre",
        )


def _straight(view: View, line: str, tops: list[_Top]) -> Iterator[Finding]:
    """Lay a straightedge over every pair of tops within its length and look between them."""
    pack, run = view.solved.network.pack, view.solved.run
    reach, limit = pack["floor.straightedge.length"], pack["floor.straightedge.gap"]
    for i in range(1, len(tops) - 1):
        dips = (
            _dip(tops[a], tops[i], tops[b])
            for a in range(i)
            for b in range(i + 1, len(tops))
            if steady(tops[b][0] - tops[a][0]) <= reach
        )
        worst = next(iter(ranked(dips, lambda figure: abs(figure.value))), None)
        if worst is not None and view.significant(worst, limit):
            what = "hollow" if worst.value > 0 else "hump"
            joist = tops[i][2]
            yield Finding(
                f"tops.{what}",
                "look",
                f"{words.joist(joist, run.joists)}, {line} line, is a {what} of "
                f"{words.millimetres(abs(worst.value))} under a {reach / 1000:g} m straightedge.",
                where={"run": run.id, "line": line, "joist": joist},
                figure=worst,
                limit=limit,
                rule="floor.straightedge.gap",
            )


def _dip(a: _Top, middle: _Top, b: _Top) -> Figure:
    """Return how far the middle top lies below the line from a to b [mm]."""
    share = (middle[0] - a[0]) / (b[0] - a[0]) if b[0] != a[0] else 0.5
    chord = (1 - share) * a[1].value + share * b[1].value
    sd = math.sqrt(middle[1].sd ** 2 + ((1 - share) * a[1].sd) ** 2 + (share * b[1].sd) ** 2)
    return Figure(middle[1].value - chord, sd)
