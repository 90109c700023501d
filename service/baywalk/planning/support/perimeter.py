"""Noggins under the deck's edges: in every bay, and beside walls where the deck reaches far."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shapely import LineString
from shapely.geometry.polygon import orient

from baywalk.planning.support.noggins import PERIMETER, Noggin, Section, across, along

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from shapely import Polygon

    from baywalk.planning.ground import Bay, Ground
    from baywalk.planning.support.builder import Builder
    from baywalk.rules import Pack

    Point = tuple[float, float]
    Edge = tuple[Point, Point]

_SQUARE = 10.0
"""An edge that rises by less than this within a bay gets a noggin set square [mm]."""
_JOIN = 0.5
_CLEAR = 1.0
"""How far a noggin along a wall keeps from a lap [mm]."""
_MORE = 5
"""How many more noggins along a wall are tried so that none stands in a lap."""


@dataclass(frozen=True)
class Line:
    """A stretch of the deck's edge within one bay, and which way the deck lies from it."""

    points: tuple[Point, ...]
    inward: int

    @property
    def width(self) -> float:
        """Return how far it goes across the bay [mm]."""
        return self.points[-1][0] - self.points[0][0]

    def slope(self) -> float:
        """Return how far it leaves square, dy/dx; 0 where a square noggin does [-]."""
        (xa, ya), (xb, yb) = self.points[0], self.points[-1]
        spread = max(y for _, y in self.points) - min(y for _, y in self.points)
        return 0.0 if spread < _SQUARE or xb - xa < _JOIN else (yb - ya) / (xb - xa)


def perimeter(polygon: Polygon, builder: Builder) -> list[tuple[Noggin, int]]:
    """Return the noggins under the edges of a deck, each with the way in which the deck lies.

    That is 1 or −1 in the direction of y, and 0 for those along the joists.
    """
    ground, size, pack = builder.ground, builder.size, builder.pack
    edges = _edges(polygon)
    out: list[tuple[Noggin, int]] = []
    for bay in ground.bays:
        if bay.beside_wall and _overhang(polygon, bay) <= pack["noggin.edge.overhang"]:
            continue
        lines = _lines(edges, bay)
        found = [(_under(line, ground, bay, size, pack), line.inward) for line in lines]
        out += [(noggin, inward) for noggin, inward in found if noggin]
        if not bay.beside_wall:
            out += [(noggin, 0) for noggin in _sides(edges, bay, builder)]
    return out


def _edges(polygon: Polygon) -> list[Edge]:
    """Return all edges with the deck on their left."""
    turned = orient(polygon)
    rings = [turned.exterior, *turned.interiors]
    return [
        edge
        for ring in rings
        for edge in zip(list(ring.coords), list(ring.coords)[1:], strict=False)
    ]


def _lines(edges: Sequence[Edge], bay: Bay) -> list[Line]:
    """Return the stretches of edge that cross a bay, joined where they meet."""
    parts: dict[int, list[tuple[Point, Point]]] = {1: [], -1: []}
    for (xa, ya), (xb, yb) in edges:
        if abs(xb - xa) < abs(yb - ya):
            continue
        inward = 1 if xb > xa else -1
        left, right = ((xa, ya), (xb, yb)) if xb > xa else ((xb, yb), (xa, ya))
        clipped = _clip(left, right, bay)
        if clipped:
            parts[inward].append(clipped)
    return [line for inward, found in parts.items() for line in _joined(found, inward)]


def _clip(left: Point, right: Point, bay: Bay) -> tuple[Point, Point] | None:
    """Return the part of an edge between the faces of a bay."""
    (xa, ya), (xb, yb) = left, right
    middle = (ya + yb) / 2
    low, high = max(xa, bay.left.right(middle)), min(xb, bay.right.left(middle))
    if high - low < _JOIN:
        return None
    rise = (yb - ya) / (xb - xa)
    return (low, ya + rise * (low - xa)), (high, ya + rise * (high - xa))


def _joined(parts: list[tuple[Point, Point]], inward: int) -> Iterable[Line]:
    points: list[Point] = []
    for left, right in sorted(parts):
        if points and math.dist(points[-1], left) > _JOIN:
            yield Line(tuple(points), inward)
            points = []
        points += [right] if points else [left, right]
    if points:
        yield Line(tuple(points), inward)


def _under(line: Line, ground: Ground, bay: Bay, size: Section, pack: Pack) -> Noggin | None:
    """Return the noggin under a stretch of edge, its outer face flush with the edge or outside."""
    if line.width < pack["noggin.cut_least"]:
        return None
    y = line.points[0][1]
    # Where a noggin askew crosses the middle of its bay depends on where it lies: so twice.
    for _ in range(2):
        found = across(ground, bay, y, PERIMETER, size, pack, line.slope())
        if found is None:
            return None
        off = [own - found.face(x, -line.inward) for x, own in line.points]
        y += min(off) if line.inward > 0 else max(off)
    found = across(ground, bay, y, PERIMETER, size, pack, line.slope())
    return found.serving("edge") if found else None


def _overhang(polygon: Polygon, bay: Bay) -> float:
    """Return how far the deck stands beyond the joist, undoubled, towards the wall [mm]."""
    corners = [c for ring in (polygon.exterior, *polygon.interiors) for c in ring.coords]
    low, high = bay.left.pad[1], bay.right.pad[0]
    if bay.left.wall:
        return max((bay.right.left(y) + high - x for x, y in corners), default=0.0)
    return max((x - bay.left.right(y) + low for x, y in corners), default=0.0)


def keep_between(polygon: Polygon, builder: Builder) -> None:
    """Let noggins along a wall that are fixed already bear its edge."""
    least = builder.pack["noggin.edge.overhang"]
    for k, noggin in enumerate(builder.fixed):
        bay, mine = noggin.bay, noggin.use == PERIMETER and noggin.x is None
        if not mine or not bay.beside_wall:
            continue
        if _overhang(polygon, bay) > least and _decked(polygon, bay, noggin.y):
            builder.noggins[k] = builder.noggins[k].serving("edge")


def between(polygon: Polygon, builder: Builder) -> list[Noggin]:
    """Return the noggins along a wall between those that are there and bear its edge already."""
    out: list[Noggin] = []
    ground, size, pack = builder.ground, builder.size, builder.pack
    for bay in ground.bays:
        if not bay.beside_wall or _overhang(polygon, bay) <= pack["noggin.edge.overhang"]:
            continue
        held, (low, high) = _held(bay, builder), polygon.bounds[1::2]
        for one, other in itertools.pairwise(held):
            for y in _shared(one, other, bay, size, pack):
                noggin = across(ground, bay, y, PERIMETER, size, pack)
                if noggin and _decked(polygon, bay, y) and not builder.in_opening(noggin):
                    out.append(noggin.serving("edge"))
        # Where a leaning joist comes near the wall there is none at that end to go on to.
        for one, other in ((low, min(held, default=high)), (max(held, default=high), high)):
            for y in _shared(one, other, bay, size, pack):
                noggin = across(ground, bay, y, PERIMETER, size, pack)
                far = _overhang_at(polygon, bay, y) > pack["noggin.edge.overhang"]
                if noggin and far and not builder.in_opening(noggin):
                    out.append(noggin.serving("edge"))
    return out


def _overhang_at(polygon: Polygon, bay: Bay, y: float) -> float:
    """Return how far the deck stands beyond the joist towards the wall at ``y`` [mm]."""
    line = LineString([(bay.left.right(y), y), (bay.right.left(y), y)])
    return float(polygon.intersection(line).length)


def _shared(one: float, other: float, bay: Bay, size: Section, pack: Pack) -> list[float]:
    """Return the places between two noggins, evenly apart, clear of where the joist laps."""
    least = math.ceil((other - one) / pack["noggin.edge.apart"] - 1e-9)
    half = size.breadth / 2
    tries = [
        [one + (other - one) * k / parts for k in range(1, parts)]
        for parts in range(least, least + _MORE)
    ]
    clear = [ys for ys in tries if not any(bay.in_lap(y - half, y + half) for y in ys)]
    return (clear or [_round_laps(one, other, bay, half, pack["noggin.edge.apart"])])[0]


def _round_laps(one: float, other: float, bay: Bay, half: float, apart: float) -> list[float]:
    """Return places between two noggins that stand just before and just past each lap [mm]."""
    laps = [lap for side in (bay.left, bay.right) for lap in side.laps]
    off = half + _CLEAR
    beside = [y for low, high in laps for y in (low - off, high + off) if one < y < other]
    marks = sorted([one, *beside, other])
    out = [y for y in beside if not bay.in_lap(y - half, y + half)]
    for a, b in itertools.pairwise(marks):
        if not bay.in_lap(a, b):
            parts = math.ceil((b - a) / apart - 1e-9)
            out += [a + (b - a) * k / parts for k in range(1, parts)]
    return sorted(out)


def _held(bay: Bay, builder: Builder) -> list[float]:
    """Return where noggins and trimmers cross a bay, in order [mm]."""
    ys = [n.y for n in builder.noggins if n.bay == bay and n.x is None]
    for trimmer in builder.trimmers:
        x = (bay.left.right(trimmer.y) + bay.right.left(trimmer.y)) / 2
        ys += [trimmer.y] if trimmer.x0 <= x <= trimmer.x1 else []
    return sorted(ys)


def _decked(polygon: Polygon, bay: Bay, y: float) -> bool:
    return _overhang_at(polygon, bay, y) > 1


def _sides(edges: Sequence[Edge], bay: Bay, builder: Builder) -> list[Noggin]:
    """Return timbers under edges that run with the joists, too far from one to need none."""
    size, pack = builder.size, builder.pack
    out = []
    for (xa, ya), (xb, yb) in edges:
        if abs(xb - xa) >= abs(yb - ya):
            continue
        y, x = (ya + yb) / 2, (xa + xb) / 2
        # The deck lies on the left of its edge: going up, towards the start wall.
        inward = -1 if yb > ya else 1
        low, high = bay.left.right(y), bay.right.left(y)
        # An edge over a joist that is cut away there has as little under it.
        if inward > 0 and any(o.gone(bay.left, y, y) for o in builder.openings):
            low = bay.left.left(y)
        if inward < 0 and any(o.gone(bay.right, y, y) for o in builder.openings):
            high = bay.right.right(y)
        if not low < x < high:
            continue
        reach = x - bay.left.right(y) if inward < 0 else bay.right.left(y) - x
        if bay.in_lap(min(ya, yb), max(ya, yb)):
            # Beside a lap the farther of the two timbers may be the one that is there.
            sides = [side.reach(min(ya, yb), max(ya, yb)) for side in (bay.left, bay.right)]
            reach = x - sides[0].right if inward < 0 else sides[1].left - x
        if reach <= pack["noggin.edge.overhang"]:
            continue
        place = x + inward * size.breadth / 2
        low, high = min(ya, yb), max(ya, yb)
        found = along(bay, place, low, high, PERIMETER, size, pack, ("noggin", "noggin"))
        if found:
            out.append(found.serving("edge"))
    return out
