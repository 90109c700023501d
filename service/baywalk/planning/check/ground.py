"""The loft as the as-built has it: joists and walls as lines x(y), bays, outline, features."""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from shapely.geometry import Polygon

if TYPE_CHECKING:
    from collections.abc import Iterable

Point = tuple[float, float]


@dataclass(frozen=True)
class Line:
    """A joist or a wall's face as it lies: straight between its known points and beyond them.

    Attributes:
        name: how the plan calls it: J4, J4a, wall.
        points: places of its centre line, from the near edge to the far one [mm].
        breadth: its breadth, 0 for a wall [mm].
        laps: from where to where along it another timber takes over, both perhaps there [mm].
    """

    name: str
    points: tuple[Point, ...]
    breadth: float = 0.0
    laps: tuple[Point, ...] = ()

    def _piece(self, y: float) -> tuple[Point, Point]:
        points = self.points
        # Lines have few points: walking along them is quicker than a search.
        index = 1
        while index < len(points) - 1 and y > points[index][1]:
            index += 1
        return points[index - 1], points[index]

    def slope(self, y: float) -> float:
        """Return dx/dy of the centre line at ``y`` [-]."""
        a, b = self._piece(y)
        return (b[0] - a[0]) / (b[1] - a[1])

    def x(self, y: float) -> float:
        """Return where the centre line is at ``y`` [mm]."""
        a, b = self._piece(y)
        return a[0] + (y - a[1]) * (b[0] - a[0]) / (b[1] - a[1])

    @cached_property
    def timbers(self) -> list[Line]:
        """The timbers that it is made of, from the near one; itself where it is one alone."""
        out = []
        rest = self.points
        for begins, _ in sorted(self.laps):
            before = tuple(p for p in rest if p[1] <= begins)
            rest = rest[len(before) :]
            out.append(Line(self.name, before, self.breadth))
        return [*out, Line(self.name, rest, self.breadth)] if out else [self]

    def _half(self, y: float) -> float:
        return self.breadth / 2 * math.hypot(1, self.slope(y))

    def _there(self, y: float) -> list[Line]:
        """Return every timber that may be there at ``y``."""
        # In a lap the one before it and the one after it may both be there, or either alone.
        passed = sum(begins <= y for begins, _ in self.laps)
        ended = sum(ends < y for _, ends in self.laps)
        return self.timbers[ended : passed + 1]

    def left(self, y: float) -> float:
        """Return where the face towards the start wall is at ``y``, of a lap the outer one [mm]."""
        if self.laps:
            return min(timber.left(y) for timber in self._there(y))
        return self.x(y) - self._half(y)

    def right(self, y: float) -> float:
        """Return where the face towards the end wall is at ``y``, of a lap the outer one [mm]."""
        if self.laps:
            return max(timber.right(y) for timber in self._there(y))
        return self.x(y) + self._half(y)

    def sure(self, y: float) -> tuple[float, float]:
        """Return between which faces there is timber at ``y`` whichever of a lap is there [mm]."""
        there = self._there(y) if self.laps else [self]
        return max(timber.left(y) for timber in there), min(timber.right(y) for timber in there)

    def lapping(self, y0: float, y1: float) -> bool:
        """Say whether another timber takes over anywhere between two places along it."""
        return any(max(begins, y0) < min(ends, y1) for begins, ends in self.laps)

    def kinks(self, y0: float, y1: float) -> list[float]:
        """Return the places from ``y0`` to ``y1`` between which the line is straight [mm]."""
        inner = [p[1] for p in self.points if y0 < p[1] < y1]
        # A kink has a face on each side of it: both are looked at.
        both = [y + d for y in inner for d in (-1e-6, 1e-6)]
        return sorted([y0, *both, y1])

    def strip(self, y0: float, y1: float) -> Polygon:
        """Return its top from ``y0`` to ``y1`` as an area."""
        ys = self.kinks(y0, y1)
        left = [(self.left(y), y) for y in ys]
        return Polygon(left + [(self.right(y), y) for y in reversed(ys)])


@dataclass(frozen=True)
class Ground:
    """One run of the as-built.

    Attributes:
        start, end: the walls' faces.
        joists: by number.
        run: the run as the as-built gives it, for what is read only once.
    """

    start: Line
    end: Line
    joists: dict[int, Line]
    run: dict[str, Any]

    @property
    def outline(self) -> Polygon:
        """The limit of the deck."""
        return Polygon(self.run["outline"])

    def rectangles(self, kind: str) -> list[tuple[str, Polygon]]:
        """Return id and area of every feature of that kind that has a place."""
        return [
            (f["id"], Polygon(f["polygon"]))
            for f in self.run["features"]
            if f["feature"] == kind and f.get("polygon")
        ]

    def joist_json(self, joist: int) -> dict[str, Any]:
        """Return a joist as the as-built gives it."""
        found: dict[str, Any] = self.run["joists"][joist - 1]
        return found

    def spacing(self) -> float | None:
        """Return the usual centres: those set out to, else the median on the first line [mm]."""
        if self.run["nominal"]["centres"]:
            return float(self.run["nominal"]["centres"])
        first = self.run["lines"][0]
        read = [bay["at"].get(first, {}).get("centres") for bay in self.run["bays"]]
        own = [b.x(0) - a.x(0) for a, b in pairwise(self.joists.values())]
        # What is not told of a bay follows from where its joists stand.
        pairs = zip(read[1:], own, strict=False)
        known = [told if told is not None else found for told, found in pairs]
        return statistics.median(known) if known else None


def ground(run: dict[str, Any]) -> Ground | None:
    """Return a run's lines; None where a joist, a wall or the outline has no known place."""
    # A joist without a place makes every bay beside it a guess, so there is no ground at all.
    walls = [_line("wall", run["walls"][end], 0.0) for end in ("start", "end")]
    joists: dict[int, Line] = {}
    for joist in run["joists"]:
        breadth = joist["breadth"]
        line = breadth and _line(f"J{joist['index']}", joist, breadth["value"])
        laps = _laps(joist, run.get("laps") or [])
        if not line or laps is None:
            return None
        joists[joist["index"]] = replace(line, laps=laps)
    if walls[0] is None or walls[1] is None or run["outline"] is None:
        return None
    return Ground(walls[0], walls[1], joists, run)


def _line(name: str, member: dict[str, Any], breadth: float) -> Line | None:
    points = [place["point"] for place in member["at"].values() if place["point"]]
    # One place and a direction are a line as well.
    if len(points) == 1 and member["angle"] is not None:
        (x, y) = points[0]
        points.append([x + 1000 * math.tan(math.radians(member["angle"])), y + 1000])
    if len(points) < 2:
        return None
    return Line(name, tuple(sorted(((p[0], p[1]) for p in points), key=lambda p: p[1])), breadth)


def _laps(joist: dict[str, Any], pairs: list[list[str]]) -> tuple[Point, ...] | None:
    """Return where a joist laps [mm]; None where a timber of it has no known direction."""
    out = []
    for pair in pairs:
        places = [joist["at"].get(name, {}).get("point") for name in pair]
        if None in places:
            return None
        begins, ends = sorted(place[1] for place in places)
        out.append((begins, ends))
    known = sorted(p["point"][1] for p in joist["at"].values() if p["point"])
    borders = [-math.inf, *(b for b, _ in sorted(out)), math.inf]
    parts = [sum(a < y <= b for y in known) for a, b in pairwise(borders)]
    return tuple(out) if not out or min(parts) > 1 else None


def least(values: Iterable[float]) -> float:
    """Return the least of some lengths, endless where there are none."""
    return min(values, default=math.inf)


def crossing(line: Line, face: str, middle: Point, slope: float) -> Point:
    """Return where a line through ``middle`` of that ``slope`` (dy/dx) meets a face of ``line``."""
    x = middle[0]
    # Joists stand nearly square to what crosses them, so each step gains several digits.
    for _ in range(12):
        y = middle[1] + slope * (x - middle[0])
        x = getattr(line, face)(y)
    return (x, middle[1] + slope * (x - middle[0]))
