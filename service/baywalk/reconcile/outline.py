"""The limit of the deck, and features set out on the survey, as polygons in the plane [mm]."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from baywalk.reconcile.geometry import Geometry, Point, along
from baywalk.reconcile.network import SIDES
from baywalk.reconcile.rounding import printed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.fieldbook import Survey
    from baywalk.reconcile.solve import Solved

Polygon = list[list[float]]

RECTANGLES = ("opening", "obstacle", "laid")
"""Features that are set out as a rectangle from a joist's face and a tape line."""

NEEDED = ("from", "line", "across", "along", "width", "length")
"""What a rectangle must have to be placed."""


def outline(solved: Solved, geometry: Geometry) -> Polygon | None:
    """Return the deck's limit, anticlockwise from the start wall's near corner.

    Near and far sides follow the edges read along the joists; the ends follow the walls. None
    where a wall, or an edge at fewer than two places, is not determined.
    """
    if not solved.run.lines:
        return None
    walls = [_wall(solved, geometry, joist) for joist in (0, solved.run.joists + 1)]
    near = _edge(solved, geometry, "near_edge")
    far = _edge(solved, geometry, "far_edge")
    if walls[0] is None or walls[1] is None or len(near) < 2 or len(far) < 2:
        return None
    near = _to_walls(near, walls[0], walls[1])
    far = _to_walls(far, walls[0], walls[1])
    return [_rounded(p) for p in [*near, *reversed(far)]]


def _rounded(point: Point) -> list[float]:
    return [printed(point[0]), printed(point[1])]


def _wall(solved: Solved, geometry: Geometry, joist: int) -> tuple[Point, Point] | None:
    """Return two points of a side wall's face, where it is known at two tape lines."""
    points = [
        geometry.points[joist, line]
        for line in solved.run.lines
        if (joist, line) in geometry.points
    ]
    return (points[0], points[-1]) if len(points) > 1 else None


def _edge(solved: Solved, geometry: Geometry, place: str) -> list[Point]:
    """Return an edge's points in order: read along the joists, and along the walls themselves."""
    first = solved.run.lines[0]
    joists = range(solved.run.joists + 2)
    points = [along(geometry, first, joist, place) for joist in joists]
    return [p for p in points if p is not None]


def _to_walls(
    edge: Sequence[Point], start: tuple[Point, Point], end: tuple[Point, Point]
) -> list[Point]:
    """Lengthen an edge at both ends until it meets the walls."""
    first = _meet((edge[0], edge[1]), start)
    last = _meet((edge[-2], edge[-1]), end)
    # A point read hard against a wall lies on it already; drop what would fold back.
    inner = [p for p in edge if first[0] + 1 < p[0] < last[0] - 1]
    return [first, *inner, last]


def _meet(a: tuple[Point, Point], b: tuple[Point, Point]) -> Point:
    """Return where two lines meet, each given by two points; ``a``'s own end if parallel."""
    (x1, y1), (x2, y2) = a
    (x3, y3), (x4, y4) = b
    cross = (x2 - x1) * (y4 - y3) - (y2 - y1) * (x4 - x3)
    if abs(cross) < 1e-9:
        return a[0]
    t = ((x3 - x1) * (y4 - y3) - (y3 - y1) * (x4 - x3)) / cross
    return (x1 + t * (x2 - x1), y1 + t * (y2 - y1))


def features(survey: Survey, solved: Solved, geometry: Geometry) -> list[dict[str, Any]]:
    """Return every feature of the run that stands, rectangles with their polygon, by id."""
    out = []
    for entry in survey.entries:
        stands = entry["id"] in survey.standing
        if entry["kind"] != "feature" or entry.get("run") != solved.run.id or not stands:
            continue
        feature = {k: v for k, v in entry.items() if k not in ("at", "by", "n", "kind", "run")}
        if entry.get("feature") in RECTANGLES:
            feature["polygon"] = _rectangle(entry, solved, geometry)
        out.append(feature)
    return sorted(out, key=lambda feature: feature["id"])


def _rectangle(entry: Mapping[str, Any], solved: Solved, geometry: Geometry) -> Polygon | None:
    """Return a rectangle's corners, set out from its joist's face along the joist's direction."""
    if any(name not in entry for name in NEEDED):
        return None
    joist, face = entry["from"]
    line = str(entry["line"])
    centre = geometry.points.get((joist, line))
    if centre is None:
        return None
    wall = joist in (0, solved.run.joists + 1)
    breadth = geometry.breadth.get(joist)
    if not wall and breadth is None:
        return None
    shift = 0.0 if wall or breadth is None else SIDES[face] * breadth.value
    ux, uy = _direction(solved, geometry, line)
    angle = geometry.angles.get(joist)
    turn = math.radians(angle.value) if angle else 0.0
    vx, vy = math.sin(turn), math.cos(turn)
    a0, b0 = shift + float(entry["across"]), float(entry["along"])
    a1, b1 = a0 + float(entry["width"]), b0 + float(entry["length"])
    corners = [(a0, b0), (a1, b0), (a1, b1), (a0, b1)]
    return [
        _rounded((centre[0] + a * ux + b * vx, centre[1] + a * uy + b * vy)) for a, b in corners
    ]


def _direction(solved: Solved, geometry: Geometry, line: str) -> Point:
    """Return the unit vector along a tape line, towards the end wall."""
    points = [
        geometry.points[joist, line]
        for joist in range(solved.run.joists + 2)
        if (joist, line) in geometry.points
    ]
    length = math.dist(points[0], points[-1])
    if len(points) < 2 or length == 0:
        return (1.0, 0.0)
    return (
        (points[-1][0] - points[0][0]) / length,
        (points[-1][1] - points[0][1]) / length,
    )
