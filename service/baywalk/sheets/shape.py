"""Joists, walls and outline of an as-built as lines and polygons in the plane [mm]."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from shapely import LineString, Polygon

from baywalk.sheets.ink import Box, Point

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

_BEYOND = 300.0
"""How far a joist is drawn past the tape lines where no edge is known [mm]."""
_FAR = 1e6


def points(run: Mapping[str, Any], at: Mapping[str, Any]) -> list[Point]:
    """Return the known points of a joist or wall, from the near line to the far one [mm]."""
    found = [at[line].get("point") for line in run["lines"] if line in at]
    return sorted(((p[0], p[1]) for p in found if p), key=lambda p: p[1])


def direction(run: Mapping[str, Any], member: Mapping[str, Any]) -> Point | None:
    """Return the unit vector along a joist, towards the far edge; None where nothing says."""
    known = points(run, member["at"])
    if len(known) > 1:
        (x0, y0), (x1, y1) = known[0], known[-1]
        length = math.dist(known[0], known[-1]) or 1.0
        return ((x1 - x0) / length, (y1 - y0) / length)
    angle = member.get("angle")
    if angle is None:
        return None
    turn = math.radians(angle)
    return (math.sin(turn), math.cos(turn))


def outline(run: Mapping[str, Any]) -> Polygon | None:
    """Return the deck's limit as a sound polygon; None where it is not determined."""
    corners = run.get("outline")
    if not corners or len(corners) < 3:
        return None
    shape = Polygon(corners)
    return shape if shape.is_valid and shape.area > 0 else None


def centre_line(run: Mapping[str, Any], member: Mapping[str, Any]) -> list[Point]:
    """Return a joist's centre line from the near edge to the far one; empty where it has no place.

    Where no outline is known, it reaches a little past the tape lines and no further.
    """
    known, way = points(run, member["at"]), direction(run, member)
    if not known:
        return []
    ux, uy = way or (0.0, 1.0)
    is_wall = any(member is wall for wall in run["walls"].values())
    near, far = _ends(run, known, (ux, uy), is_wall=is_wall)
    inner = [p for p in known if _along(near, p, (ux, uy)) > 1 and _along(p, far, (ux, uy)) > 1]
    return [near, *inner, far]


def timbers(run: Mapping[str, Any], joist: Mapping[str, Any]) -> list[list[Point]]:
    """Return the centre lines of a joist's timbers: one, or where it laps each to past the lap."""
    line, laps = centre_line(run, joist), run.get("laps") or []
    ends: list[list[Any]] = [
        [(joist["at"].get(name) or {}).get("point") for name in pair] for pair in laps
    ]
    if len(line) < 2 or any(None in pair for pair in ends):
        return [line] if line else []
    out, rest = [], line
    for near, far in sorted(ends, key=lambda pair: pair[0][1]):
        before = [p for p in rest if p[1] <= near[1]]
        rest = [p for p in rest if p[1] >= far[1]]
        if len(before) < 2 or len(rest) < 2:
            return [line]
        # Drawn from the one tape line beside the lap to the other, for both lie between them.
        out.append([*before, _level(before[-2], before[-1], far[1])])
        rest = [_level(rest[0], rest[1], near[1]), *rest]
    return [*out, rest]


def _level(a: Point, b: Point, y: float) -> Point:
    """Return where the line through two points is at a height [mm]."""
    return (a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]), y) if b[1] != a[1] else (a[0], y)


def _along(a: Point, b: Point, way: Point) -> float:
    return (b[0] - a[0]) * way[0] + (b[1] - a[1]) * way[1]


def _off(a: Point, b: Point, way: Point) -> float:
    """Return how far a point lies off the line through another [mm]."""
    return abs((b[0] - a[0]) * way[1] - (b[1] - a[1]) * way[0])


def _moved(p: Point, way: Point, length: float) -> Point:
    return (p[0] + way[0] * length, p[1] + way[1] * length)


def _ends(
    run: Mapping[str, Any], known: Sequence[Point], way: Point, *, is_wall: bool
) -> tuple[Point, Point]:
    """Return where a joist's line leaves the outline; a little past the tape lines without one."""
    limit = outline(run)
    if limit is not None and is_wall:
        # A wall runs along the outline itself, where only its corners are sure to be met.
        beside = [_along(known[0], c, way) for c in run["outline"] if _off(known[0], c, way) < 1]
        if len(beside) > 1:
            return _moved(known[0], way, min(beside)), _moved(known[0], way, max(beside))
    if limit is not None:
        ray = LineString([_moved(known[0], way, -_FAR), _moved(known[-1], way, _FAR)])
        within = ray.intersection(limit)
        if not within.is_empty and within.length > 0:
            ends = [within.bounds[:2], within.bounds[2:]]
            low, high = sorted(_along(known[0], _corner(ray, e), way) for e in ends)
            return _moved(known[0], way, low), _moved(known[0], way, high)
    return _moved(known[0], way, -_BEYOND), _moved(known[-1], way, _BEYOND)


def _corner(ray: LineString, at: Sequence[float]) -> Point:
    """Return the point of a ray that lies at a height [mm]; bounds lose which corner is which."""
    (x0, y0), (x1, y1) = ray.coords[0], ray.coords[-1]
    share = (at[1] - y0) / (y1 - y0) if y1 != y0 else 0.0
    return (x0 + share * (x1 - x0), at[1])


def body(line: Sequence[Point], breadth: float) -> list[Point]:
    """Return a joist's plan, its breadth [mm] laid half either side of its centre line."""
    strip = LineString(line).buffer(breadth / 2, cap_style="flat", join_style="mitre")
    return [(x, y) for x, y in strip.exterior.coords[:-1]]


def breadth(run: Mapping[str, Any], joist: Mapping[str, Any]) -> float | None:
    """Return a joist's breadth [mm], the usual timber's where none was read; None if unknown."""
    own = joist.get("breadth")
    value = own["value"] if own else run.get("member", {}).get("breadth")
    return float(value) if value else None


def bounds(run: Mapping[str, Any]) -> Box | None:
    """Return the run's left, near, right and far limits [mm]; None where none is known."""
    ends = [p for joist in run["joists"] for p in centre_line(run, joist)]
    for wall in run["walls"].values():
        ends += points(run, wall["at"])
    ends += [(p[0], p[1]) for p in run.get("outline") or []]
    if not ends:
        return None
    xs, ys = [p[0] for p in ends], [p[1] for p in ends]
    return Box(min(xs), min(ys), max(xs), max(ys))


def known(at: Mapping[str, Any], line: str) -> float | None:
    """Return the running dimension of a joist or wall on a line [mm]; None where none is known."""
    place = at.get(line)
    x = place.get("x") if place else None
    return None if x is None else float(x)
