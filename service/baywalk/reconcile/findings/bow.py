"""Joists that are not straight: three tape lines or more show it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from baywalk.reconcile import words
from baywalk.reconcile.findings.common import Finding
from baywalk.reconcile.questions import Figure
from baywalk.reconcile.rounding import ranked

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.reconcile.findings.common import View
    from baywalk.reconcile.geometry import Point


def bow(view: View) -> Iterator[Finding]:
    """Compare each joist at the lines between with the straight from the first to the last.

    Where joists lap, each timber is held against its own straight.
    """
    run, pack = view.solved.run, view.solved.network.pack
    limit = pack["bow.tolerance"]
    between = [(side[0], line, side[-1]) for side in run.sides for line in side[1:-1]]
    for joist in range(1, run.joists + 1):
        offs = [(_off_straight(view, joist, lines), lines[1]) for lines in between]
        known = [(off, line) for off, line in offs if off is not None]
        for off, line in ranked(known, lambda item: abs(item[0].value))[:1]:
            if not view.significant(off, limit):
                continue
            way = "end" if off.value > 0 else "start"
            yield Finding(
                "joist.bowed",
                "note",
                f"J{joist} is bowed: at the {line} line it stands "
                f"{words.millimetres(abs(off.value))} towards the {way} wall off the straight.",
                where={"run": run.id, "line": line, "joist": joist},
                figure=off,
                limit=limit,
                rule="bow.tolerance",
            )


def _off_straight(view: View, joist: int, lines: tuple[str, str, str]) -> Figure | None:
    """Return how far a joist stands off its straight at the middle one of three lines, how sure."""
    keys = [(joist, name) for name in lines]
    points = [view.geometry.points.get(key) for key in keys]
    # A line that is tied but not read across has points, and yet no place counted along it.
    if any(key not in view.geometry.x for key in keys):
        return None
    if points[0] is None or points[1] is None or points[2] is None:
        return None
    share = _share(points[0], points[1], points[2])
    straight = points[0][0] + share * (points[2][0] - points[0][0])
    sds = [view.geometry.x[key].sd for key in keys]
    # The places along the lines are nearly independent of each other.
    sd = math.sqrt(sds[1] ** 2 + ((1 - share) * sds[0]) ** 2 + (share * sds[2]) ** 2)
    return Figure(points[1][0] - straight, sd)


def _share(a: Point, middle: Point, b: Point) -> float:
    return (middle[1] - a[1]) / (b[1] - a[1]) if b[1] != a[1] else 0.5
