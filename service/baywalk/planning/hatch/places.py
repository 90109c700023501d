"""The best place for each choice of joists to cut, weighed by timber, work and what it disturbs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from shapely import Point, Polygon, box

from baywalk.planning.choices import price
from baywalk.planning.hatch.around import anywhere, between_joists, close, cutting
from baywalk.planning.hatch.room import polygons
from baywalk.planning.openings import opened

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from shapely.geometry.base import BaseGeometry

    from baywalk.planning.choices import Choices
    from baywalk.planning.hatch.around import Around
    from baywalk.planning.trimming import Opening

NAME = "new"
"""How the plan calls the opening that it found a place for."""
Size = tuple[float, float]
"""How wide an opening is across the joists, and how long along them [mm]."""


@dataclass(frozen=True)
class Place:
    """One place of the opening; ``away`` is how far its sides stand off the timber beside [mm].

    ``metres`` of timber and ``minutes`` of work go into it, which ``cost`` so much; ``off`` is how
    far it lies from the middle of the zone [mm].
    """

    opening: Opening
    away: tuple[float, float]
    metres: float
    minutes: float
    cost: float
    off: float

    @property
    def rank(self) -> tuple[float, ...]:
        """Return what places are ranked by, the best least."""
        # A few pence between two places are rounding: there the middle of the zone decides.
        return len(self.opening.cut), round(self.cost), self.off


def ranked(it: Around, zone: Polygon, asked: Size, choices: Choices, more: int) -> list[Place]:
    """Return the best place for each choice of joists to cut, the best of all first.

    Only the fewest joists, and ``more`` than these, are looked at. Empty where there is no place.
    """
    out: list[Place] = []
    free = anywhere(it, zone, asked)
    for count in range(len(it.ground.joists) + 1):
        found = _cutting(it, free, asked, count)
        out += [p for row, where in found if (p := _best(it, zone, asked, where, row, choices))]
        if out and count >= len(out[0].opening.cut) + more:
            break
    return sorted(out, key=lambda place: place.rank)


def _cutting(
    it: Around, free: BaseGeometry, asked: Size, count: int
) -> Iterator[tuple[tuple[int, ...], Polygon]]:
    """Give the stretches of places [mm] where just so many joists are cut, each with its joists."""
    if count == 0:
        for part in polygons(between_joists(it, free, asked)):
            yield (), part
    for first in range(1, len(it.ground.joists) - count + 2) if count else ():
        last = first + count - 1
        if it.may_be_cut(first, last):
            for part in polygons(cutting(it, free, asked, first, last)):
                yield tuple(range(first, last + 1)), part


def _best(
    it: Around, zone: Polygon, asked: Size, free: Polygon, row: Sequence[int], choices: Choices
) -> Place | None:
    """Return the best place of one stretch of places that cuts just these joists."""
    middle = zone.centroid
    wish = Point(middle.x - asked[0] / 2, middle.y - asked[1] / 2)

    def at(x: float, y: float) -> Place:
        return _place(it, zone, box(x, y, x + asked[0], y + asked[1]), choices)

    some = free.representative_point()
    parts = [free, *close(it, free, at(some.x, some.y).opening)]
    spots = {spot for part in parts for spot in _worth_a_look(part, wish)}
    fitting = [place for x, y in spots if (place := at(x, y)).opening.cut == tuple(row)]
    return min(fitting, key=lambda place: place.rank, default=None)


def _worth_a_look(free: Polygon, wish: Point) -> set[tuple[float, float]]:
    """Return the corners of a stretch of places, and those of each side nearest to the wish."""
    # What is weighed is linear along each side, but for the way to the wish.
    out = {(wish.x, wish.y)} if free.covers(wish) else set()
    for ring in (free.exterior, *free.interiors):
        for a, b in pairwise(ring.coords):
            out |= {a[:2], b[:2], _nearest(a[:2], b[:2], wish)}
    return {_marked(free, *place) for place in out}


def _marked(free: Polygon, x: float, y: float) -> tuple[float, float]:
    """Return a place in whole millimetres, as it is set out, where that is a place as well."""
    whole = [
        (float(a), float(b))
        for a in {math.floor(x), math.ceil(x)}
        for b in {math.floor(y), math.ceil(y)}
    ]
    whole.sort(key=lambda spot: math.dist(spot, (x, y)))
    exact = (round(x, 3), round(y, 3))
    return next((spot for spot in whole if free.covers(Point(spot))), exact)


def _nearest(a: tuple[float, ...], b: tuple[float, ...], wish: Point) -> tuple[float, float]:
    """Return the place on a line from ``a`` to ``b`` that is nearest to the wish [mm]."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    whole = dx * dx + dy * dy
    t = ((wish.x - a[0]) * dx + (wish.y - a[1]) * dy) / whole if whole else 0.0
    t = min(max(t, 0.0), 1.0)
    return a[0] + t * dx, a[1] + t * dy


def _place(it: Around, zone: Polygon, shape: Polygon, choices: Choices) -> Place:
    feature = {"id": NAME, "polygon": [list(p) for p in list(shape.exterior.coords)[:-1]]}
    opening = opened(feature, NAME, it.run, it.ground, it.pack)
    away = _away(it, opening)
    of = price(choices, it.pack)
    metres, minutes = _timber(it, opening, away, of)
    cost = metres * of("price.timber") + minutes * of("price.minute")
    off = shape.centroid.distance(zone.centroid)
    return Place(opening, away, metres, minutes, cost, off)


def _away(it: Around, opening: Opening) -> tuple[float, float]:
    """Return how far the sides stand off the timbers beside them at most [mm]; walls count too."""
    x0, y0, x1, y1 = opening.polygon.bounds
    low, high = it.beside(opening)
    ys = [y0, y1, *(y for side in (low, high) for _, y in side.points if y0 < y < y1)]
    left = max(x0 - low.right(y) for y in ys) - it.doubling(opening, 0)
    right = max(high.left(y) - x1 for y in ys) - it.doubling(opening, 1)
    return max(left, 0.0), max(right, 0.0)


def _timber(
    it: Around, opening: Opening, away: tuple[float, float], of: Callable[[str], float]
) -> tuple[float, float]:
    """Return the timber [m] and the minutes that go into an opening."""
    told = opening.json(it.outline)
    _, y0, _, y1 = opening.polygon.bounds
    # One timber doubles a joist for all openings along it.
    new = [t for k, t in enumerate(told["trimming"]) if it.doubling(opening, _hand(opening, k))]
    sides = sum(gap > it.pack["noggin.cut_least"] for gap in away)
    metres = sum(t["length"] * t["plies"] for t in told["trimmers"]) / 1000
    metres += sum(t["length"] for t in new) / 1000 + sides * (y1 - y0) / 1000
    minutes = len(told["trimmers"]) * of("price.minutes.trimmer")
    minutes += len(new) * of("price.minutes.doubling")
    minutes += 2 * len(opening.cut) * of("price.minutes.tail")
    minutes += sides * of("price.minutes.side")
    return round(metres, 3), math.ceil(minutes)


def _hand(opening: Opening, place: int) -> int:
    """Return on which side of an opening one of its trimming joists stands: 0 left, 1 right."""
    return 1 if opening.sides[0].wall else place
