"""Courses: where the first one starts, how wide each is, and the stretches that are boarded."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shapely import Polygon, box
from shapely.ops import unary_union

from baywalk.planning.refused import Reason, Refused

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely.geometry.base import BaseGeometry

    from baywalk.planning.area import Area
    from baywalk.planning.choices import Choices
    from baywalk.planning.ground import Ground
    from baywalk.rules import Pack

_WIDE = 1e6
_SPIKE = 0.08
"""What stands out of an edge by no more than this is rounding [mm]."""
_TINY = 1e-6
_STEP = 5.0
"""How finely places for the first course are tried [mm]."""


@dataclass(frozen=True)
class Segment:
    """A stretch of a course that is boarded without a break, as a polygon in the plane [mm]."""

    polygon: Polygon

    @property
    def x0(self) -> float:
        """Return where it begins, at its widest [mm]."""
        return float(self.polygon.bounds[0])

    @property
    def x1(self) -> float:
        """Return where it ends, at its widest [mm]."""
        return float(self.polygon.bounds[2])

    @property
    def y0(self) -> float:
        """Return its near reach [mm]."""
        return float(self.polygon.bounds[1])

    @property
    def y1(self) -> float:
        """Return its far reach [mm]."""
        return float(self.polygon.bounds[3])


@dataclass(frozen=True)
class Course:
    """One row of boards from ``y0`` to ``y1`` [mm] of its board, and what is boarded of it.

    ``y0`` and ``y1`` are the board's own edges before anything is ripped off; ``narrowest`` [mm] is
    its least width where no obstacle or opening cuts it.
    """

    index: int
    y0: float
    y1: float
    segments: tuple[Segment, ...]
    narrowest: float

    @property
    def reach(self) -> tuple[float, float]:
        """Return the near and far reach of what is boarded [mm]."""
        return min(s.y0 for s in self.segments), max(s.y1 for s in self.segments)


def courses(area: Area, ground: Ground, choices: Choices, pack: Pack, width: float) -> list[Course]:
    """Return the courses in the order of laying, of boards ``width`` [mm] wide.

    The first start whose every course is wide enough is taken, in the order in which a carpenter
    would try them; where joists lap, the first that has no edge of a course over a lap either,
    for no noggin finds room there. Where there is none, the strip at the edge that is too narrow
    to board is left open and taken off the area. Raises :class:`Refused` where that helps nothing.
    """
    near = start(area, choices) == "near"
    least = pack["board.rip.least"]
    best, best_first = -1.0, width
    edge = _first_edge(area, width, near=near)
    over: list[Course] = []
    for first in _firsts(area, choices, width, least):
        laid = _courses(area, edge, first, width, near=near)
        found = _narrowest(laid)
        if found >= least - _TINY:
            if not _edge_over_lap(laid, ground, pack["noggin.breadth"]):
                return laid
            over = over or laid
        if found > best:
            best, best_first = found, first
    if over:
        return over
    _leave_open(area, ground, _courses(area, edge, best_first, width, near=near), least)
    laid = _courses(area, edge, best_first, width, near=near)
    if not laid or _narrowest(laid) < least - _TINY:
        raise Refused(_too_narrow(best, least))
    return laid


def _edge_over_lap(courses: list[Course], ground: Ground, room: float) -> bool:
    """Say whether two courses meet over a lap, or within ``room`` [mm] of one."""
    edges = [y for course in courses for y in (course.y0, course.y1)]
    return any(low - room < y < high + room for y in edges for low, high in ground.laps)


def go_on(
    area: Area, ground: Ground, pack: Pack, width: float, edges: Sequence[float]
) -> list[Course]:
    """Return the courses of a deck that is begun, of boards ``width`` [mm] wide.

    ``edges`` are where the first course begins and the leading edges of those of which something
    is laid [mm]; the others follow on from the last. Raises :class:`Refused` as :func:`courses`.
    """
    least = pack["board.rip.least"]
    laid = _along(area, edges, width)
    if laid and _narrowest(laid) >= least - _TINY:
        return laid
    _leave_open(area, ground, laid, least)
    left = _along(area, edges, width)
    if not left or _narrowest(left) < least - _TINY:
        raise Refused(_begun_too_narrow(laid, least))
    return left


def _along(area: Area, edges: Sequence[float], width: float) -> list[Course]:
    """Return the courses between edges [mm], and those that follow on from the last of them."""
    _, y0, _, y1 = area.polygon.bounds
    near = edges[1] > edges[0]
    known, out = list(edges), list[Course]()
    for k in itertools.count():
        if k + 1 == len(known):
            known.append(known[-1] + (width if near else -width))
        low, high = sorted((known[k], known[k + 1]))
        course = _course(area, len(out), low, high)
        if course:
            # A first course that stands off its edge is no wider than what is laid of it.
            reach = _course(area, len(out), *course.reach)
            out.append(replace(course, narrowest=reach.narrowest) if reach else course)
        if (near and high >= y1 - _TINY) or (not near and low <= y0 + _TINY):
            return out
    return out


def start(area: Area, choices: Choices) -> str:
    """Return the edge that the first course lies along: a deck already laid decides."""
    return area.laid.start if area.laid else choices.start_wall


def _too_narrow(found: float, least: float) -> Reason:
    say = (
        f"No start gives every course {least:g} mm or more: the best leaves one {found:.0f} mm at"
        " its narrowest. The edges run out too far for boards of this width. Straighten an edge"
        " with a make-up piece, or plan from the other edge or with another board."
    )
    return Reason("courses.too_narrow", say)


def _begun_too_narrow(laid: Sequence[Course], least: float) -> Reason:
    worst = min(laid, key=lambda course: course.narrowest)
    say = (
        f"With what is laid, course {worst.index + 1} would be {worst.narrowest:.0f} at its"
        f" narrowest, and {least:g} is the least. Take up the first course and set it anew, or"
        " straighten the edge there with a make-up piece."
    )
    return Reason("laid.too_narrow", say)


def _narrowest(courses: list[Course]) -> float:
    return min(course.narrowest for course in courses)


def _firsts(area: Area, choices: Choices, width: float, least: float) -> Iterator[float]:
    """Give widths of the first course at its widest [mm], the best first."""
    if area.laid:
        yield width
        return
    _, y0, _, y1 = area.polygon.bounds
    rest = (y1 - y0) % width
    equal = (width + rest) / 2 if (width + rest) / 2 <= width else rest / 2
    if choices.first == "equal":
        yield from (equal, rest / 2) if rest else (width,)
        return
    yield width
    if choices.first == "full":
        return
    # The last course full, then both alike, then whatever leaves enough at both edges.
    if rest >= least:
        yield rest
    yield equal
    steps = int((width - least) / _STEP)
    yield from (width - k * _STEP for k in range(1, steps + 1))


def _leave_open(area: Area, ground: Ground, courses: list[Course], least: float) -> None:
    """Take off the area what courses are too narrow to board, from joist to joist."""
    narrow = [
        cell
        for course in courses
        if course.narrowest < least
        for segment in course.segments
        for cell in _narrow_cells(segment, ground, least)
    ]
    off = unary_union([cell.buffer(1e-6, join_style="mitre") for cell in narrow])
    kept = _level(area.polygon.difference(off), courses)
    parts = [p for p in _parts(kept) if p.area > least**2]
    if parts:
        whole = max(parts, key=lambda p: p.area)
        area.left_open += area.polygon.area - whole.area
        area.polygon = whole


def _level(deck: BaseGeometry, courses: list[Course]) -> BaseGeometry:
    """Return a deck without what stands a hair beyond the edge of a course: that is rounding."""
    _, low, _, high = deck.bounds
    edges = {y for course in courses for y in (course.y0, course.y1)}
    near = max((y for y in edges if low < y <= low + _SPIKE), default=low)
    far = min((y for y in edges if high - _SPIKE <= y < high), default=high)
    return deck.intersection(box(-_WIDE, near, _WIDE, far))


def _narrow_cells(segment: Segment, ground: Ground, least: float) -> list[Polygon]:
    """Return what of a segment lies between joists where it is narrower than ``least`` [mm]."""
    middle = (segment.y0 + segment.y1) / 2
    joists = [m.centre(middle) for m in ground.joists]
    marks = [segment.x0 - 1, *(x for x in joists if segment.x0 < x < segment.x1), segment.x1 + 1]
    return [
        cell
        for a, b in itertools.pairwise(marks)
        for cell in _parts(segment.polygon.intersection(box(a, -_WIDE, b, _WIDE)))
        if narrowest_of(cell) < least
    ]


def _courses(area: Area, edge: float, first: float, width: float, *, near: bool) -> list[Course]:
    _, y0, _, y1 = area.polygon.bounds
    out: list[Course] = []
    lead = edge + first if near else edge - first
    while True:
        low, high = (lead - width, lead) if near else (lead, lead + width)
        course = _course(area, len(out), low, high)
        if course:
            out.append(course)
        if (near and lead >= y1 - _TINY) or (not near and lead <= y0 + _TINY):
            return out
        lead += width if near else -width


def _first_edge(area: Area, width: float, *, near: bool) -> float:
    _, y0, _, y1 = area.polygon.bounds
    if not area.laid:
        return float(y0 if near else y1)
    # Beside a deck already laid, courses lie in line with its own.
    beside = area.laid.y - y0 if near else y1 - area.laid.y
    back = math.ceil(beside / width - _TINY) * width
    return area.laid.y - back if near else area.laid.y + back


def _course(area: Area, index: int, y0: float, y1: float) -> Course | None:
    strip = box(-_WIDE, y0, _WIDE, y1)
    parts = sorted(_parts(area.polygon.intersection(strip)), key=lambda p: p.bounds[0])
    if not parts:
        return None
    segments = tuple(Segment(part) for part in parts)
    free = _parts(area.free.intersection(strip))
    mine = [f for f in free if any(f.intersects(part) for part in parts)]
    narrowest = min((narrowest_of(f) for f in mine), default=y1 - y0)
    return Course(index, y0, y1, segments, narrowest)


def _parts(shape: BaseGeometry) -> list[Polygon]:
    if isinstance(shape, Polygon):
        return [shape] if shape.area > 1 else []
    return [p for part in getattr(shape, "geoms", ()) for p in _parts(part)]


def narrowest_of(strip: Polygon) -> float:
    """Return the least width of a strip across the courses, its slanted ends left out [mm]."""
    left, right = ends_of(strip)
    corners = {x for x, _ in strip.exterior.coords if left < x < right}
    places = sorted({left, right, *corners})
    if right <= left:
        return float(strip.bounds[3] - strip.bounds[1])
    # The width is straight between corners, but may jump at one.
    probes = [p for x in places for p in (x - 0.5, x + 0.5) if left <= p <= right]
    return min(sum(b - a for a, b in sections(strip, x)) for x in probes or places)


def ends_of(strip: Polygon) -> tuple[float, float]:
    """Return between which xs [mm] no end of the strip, however it slants, cuts in."""
    x0, _, x1, _ = strip.bounds
    middle = (x0 + x1) / 2
    left, right = x0, x1
    coords = list(strip.exterior.coords)
    for (xa, ya), (xb, yb) in itertools.pairwise(coords):
        if abs(xb - xa) >= abs(yb - ya):
            continue
        if (xa + xb) / 2 < middle and max(xa, xb) < x0 + (x1 - x0) / 4:
            left = max(left, xa, xb)
        elif (xa + xb) / 2 >= middle and min(xa, xb) > x1 - (x1 - x0) / 4:
            right = min(right, xa, xb)
    return left, right


def sections(polygon: Polygon, x: float) -> list[tuple[float, float]]:
    """Return the stretches of y [mm] that a polygon holds at ``x``."""
    ys = []
    for ring in (polygon.exterior, *polygon.interiors):
        coords = list(ring.coords)
        for (xa, ya), (xb, yb) in itertools.pairwise(coords):
            if (xa <= x) != (xb <= x):
                ys.append(ya + (yb - ya) * (x - xa) / (xb - xa))
    ys.sort()
    return list(zip(ys[::2], ys[1::2], strict=False))
