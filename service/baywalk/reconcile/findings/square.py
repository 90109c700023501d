"""Walls, joists and edges out of square, and joists that are not parallel with the others.

Walls and the joists as a whole are held against the first tape line, each joist against the
direction that the joists have in the middle, and the deck's edges against square to that.
"""

from __future__ import annotations

import math
import statistics
from typing import TYPE_CHECKING

from baywalk.reconcile import words
from baywalk.reconcile.findings.common import Finding, View
from baywalk.reconcile.geometry import along
from baywalk.reconcile.questions import Figure

if TYPE_CHECKING:
    from collections.abc import Iterator

_SQUARE, _PARALLEL = "square.tolerance", "parallel.tolerance"


def square(view: View) -> Iterator[Finding]:
    """Report what leans, with its run-out [mm] over its own length and how sure that is."""
    run, angles = view.solved.run, view.geometry.angles
    for wall in (0, run.joists + 1):
        if wall in angles:
            yield from _wall(view, wall)
    joists = [joist for joist in range(1, run.joists + 1) if joist in angles]
    if not joists:
        return
    middle = Figure(
        statistics.median(angles[joist].value for joist in joists),
        statistics.median(angles[joist].sd for joist in joists),
    )
    yield from _together(view, middle, joists)
    if len(joists) > 2:
        for joist in joists:
            yield from _alone(view, joist, middle)
    for edge in ("near", "far"):
        yield from _edge(view, edge, middle)


def _lean(angle: float, sd: float) -> Figure:
    """Return a direction and its standard deviation [degrees] as mm in 1000 mm."""
    return Figure(1000 * math.tan(math.radians(angle)), 1000 * math.radians(sd))


def _run_out(lean: Figure, length: float) -> str:
    """Say a run-out and twice its standard deviation over a length."""
    out, sure = abs(lean.value) * length / 1000, max(1, round(2 * lean.sd * length / 1000))
    return f"{words.millimetres(out)} ± {sure}"


def _way(lean: Figure) -> str:
    return "end wall" if lean.value > 0 else "start wall"


def _wall(view: View, wall: int) -> Iterator[Finding]:
    run, length = view.solved.run, _length(view, wall)
    angle = view.geometry.angles[wall]
    lean, limit = _lean(angle.value, angle.sd), view.solved.network.pack[_SQUARE]
    if length is None or not view.significant(lean, limit):
        return
    name = words.joist(wall, run.joists)
    yield Finding(
        "wall.out_of_square",
        "note",
        f"{name[0].upper()}{name[1:]} runs out by {_run_out(lean, length)} towards the "
        f"{_way(lean)} in {words.millimetres(length)}.",
        where={"run": run.id, "joist": wall},
        figure=lean,
        limit=limit,
        rule=_SQUARE,
    )


def _together(view: View, middle: Figure, joists: list[int]) -> Iterator[Finding]:
    """Tell once where the joists as a whole are not square to the first tape line."""
    run, limit = view.solved.run, view.solved.network.pack[_SQUARE]
    length, lean = _length(view, joists[0]), _lean(middle.value, middle.sd)
    if length is not None and view.significant(lean, limit):
        yield Finding(
            "joists.out_of_square",
            "note",
            f"The joists run out by {_run_out(lean, length)} towards the {_way(lean)} in "
            f"{words.millimetres(length)}: they are not square to the {run.lines[0]} line.",
            where={"run": run.id},
            figure=lean,
            limit=limit,
            rule=_SQUARE,
        )


def _alone(view: View, joist: int, middle: Figure) -> Iterator[Finding]:
    """Tell of a joist that is not parallel with the others."""
    run, limit = view.solved.run, view.solved.network.pack[_PARALLEL]
    length = _length(view, joist)
    lines = run.lines_of(joist)
    places = [f for line in lines if (f := view.geometry.x.get((joist, line))) is not None]
    if length is None or len(places) < 2:
        return
    # How the lines lie to each other moves all joists alike: only its own two places count.
    sd = 1000 * math.hypot(places[0].sd, places[-1].sd) / length
    lean = Figure(_lean(view.geometry.angles[joist].value - middle.value, 0.0).value, sd)
    if view.significant(lean, limit):
        yield Finding(
            "joist.not_parallel",
            "note",
            f"J{joist} is not parallel with the other joists: it runs out by "
            f"{_run_out(lean, length)} towards the {_way(lean)} in {words.millimetres(length)}.",
            where={"run": run.id, "joist": joist},
            figure=lean,
            limit=limit,
            rule=_PARALLEL,
        )


def _edge(view: View, edge: str, middle: Figure) -> Iterator[Finding]:
    """Hold an edge, from the first joist to the last where it was read, against the joists."""
    run, limit = view.solved.run, view.solved.network.pack[_SQUARE]
    place, geometry = f"{edge}_edge", view.geometry
    found = [
        (point, geometry.ends[joist, place].sd)
        for joist in range(1, run.joists + 1)
        if (point := along(geometry, run.lines[0], joist, place)) is not None
    ]
    if len(found) < 2:
        return
    (first, sd_first), (last, sd_last) = found[0], found[-1]
    turn = math.radians(middle.value)
    dx, dy = last[0] - first[0], last[1] - first[1]
    out = dx * math.sin(turn) + dy * math.cos(turn)
    length = dx * math.cos(turn) - dy * math.sin(turn)
    sd = math.hypot(sd_first, sd_last, length * math.radians(middle.sd))
    lean = Figure(1000 * out / length, 1000 * sd / length)
    if view.significant(lean, limit):
        yield Finding(
            "edge.out_of_square",
            "note",
            f"The {edge} edge is out of square with the joists by {_run_out(lean, length)} in "
            f"{words.millimetres(length)}: at the {_way(lean)} it lies further to the far side.",
            where={"run": run.id, "edge": edge},
            figure=lean,
            limit=limit,
            rule=_SQUARE,
        )


def _length(view: View, joist: int) -> float | None:
    """Return the distance between the outermost tape lines on a joist, to its lap [mm]."""
    lines = view.solved.run.lines_of(joist)
    points = [p for line in lines if (p := view.geometry.points.get((joist, line))) is not None]
    return math.dist(points[0], points[-1]) if len(points) > 1 else None
