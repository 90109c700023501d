"""Joists to be added in a bay too wide for its boards: where each is set, and how long it is."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from shapely import LineString, Polygon

from baywalk.planning.courses import sections
from baywalk.planning.ground import Bay, Member

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely.geometry.base import BaseGeometry

    from baywalk.planning.area import Area
    from baywalk.rules import Pack

_STUB = 100.0
"""An added joist that reaches no further past a lap than this is of one piece [mm]."""
_TRIES = 200
"""Ways to move the joists added in one bay that are tried."""
_HAIR = 0.01
"""What stands in an opening by no more than this is rounding [mm]."""
EPS = 0.05
"""Centres within this of a limit meet it [mm]: the as-built is rounded."""

Things = tuple["Sequence[Polygon]", "Sequence[Polygon]", "Sequence[Polygon]"]
"""Openings, obstacles that go down between the joists, and all obstacles."""


def places(polygon: Polygon, bay: Bay) -> list[float]:
    """Return the ys [mm] at which a bay under the deck could be widest."""
    ys = bay.bends(polygon.bounds[1], polygon.bounds[3])
    strip = Polygon(
        [*((bay.left.centre(y), y) for y in ys), *((bay.right.centre(y), y) for y in ys[::-1])]
    )
    under = polygon.intersection(strip)
    if under.is_empty or under.area < 1:
        return []
    y0, y1 = under.bounds[1], under.bounds[3]
    return bay.bends(y0, y1)


def meets(member: Member, holes: Sequence[Polygon]) -> bool:
    """Say whether a joist would stand in one of some openings."""
    return any(_moved_clear(member, hole) for hole in holes)


def _moved_clear(member: Member, hole: Polygon) -> tuple[float, ...]:
    """Return by how much a joist must move to either side to clear an opening [mm], if at all."""
    low, high = hole.bounds[1], hole.bounds[3]
    corners = [(x, y) for x, y in hole.exterior.coords]
    ys = {low, high, *(y for _, y in member.points if low < y < high)}
    places = [*corners, *((x, y) for y in ys for x in _across(hole, y))]
    left = min(x - member.right(y) for x, y in places)
    right = max(x - member.left(y) for x, y in places)
    return (left, right) if left < -_HAIR and right > _HAIR else ()


def _across(hole: Polygon, y: float) -> list[float]:
    """Return where a line across at ``y`` crosses an opening's edges [mm]."""
    turned = Polygon([(v, u) for u, v in hole.exterior.coords])
    return [x for pair in sections(turned, y) for x in pair]


def _beside_openings(
    added: Sequence[Member], holes: Sequence[Polygon]
) -> Iterator[tuple[Member, ...]]:
    """Give the joists as they are, then moved just clear of the openings that they stand in."""
    yield tuple(added)
    moves = [
        sorted({0.0, *(off for hole in holes for off in _moved_clear(member, hole))}, key=abs)
        for member in added
    ]
    for offs in itertools.islice(itertools.product(*moves), 1, _TRIES):
        yield tuple(_moved(m, off) for m, off in zip(added, offs, strict=True))


def _moved(member: Member, off: float) -> Member:
    return replace(member, points=tuple((x + off, y) for x, y in member.points))


def _fits(sides: Sequence[Member], ys: Sequence[float], most: float) -> bool:
    """Say whether joists stand side by side, their centres no more than ``most`` apart [mm]."""
    return all(
        b.centre(y) - a.centre(y) <= most + EPS and b.left(y) >= a.right(y)
        for a, b in itertools.pairwise(sides)
        for y in ys
    )


def joists_added(
    bay: Bay,
    areas: list[Area],
    most: float,
    pack: Pack,
    things: Things,
) -> list[Member]:
    """Return the joists that a bay needs so that no centres in it pass ``most`` [mm].

    They stand evenly; where one would stand in an opening, they stand just beside it, one more of
    them if need be, and as far from an obstacle as the deck stays, or just clear of it. Where that
    helps nothing they are returned as they would stand.
    """
    holes, solid, standing = things
    kept = [shape.buffer(areas[0].gap, join_style="mitre") for shape in standing]
    ys = [y for area in areas for y in places(area.polygon, bay)]
    centres = max((bay.centres(y) for y in ys), default=0.0)
    count = math.ceil((centres - EPS) / most) - 1
    even: list[Member] = []
    while count > 0:
        added = [_between(bay, n, count + 1, min(ys), max(ys), pack) for n in range(1, count + 1)]
        # Its neighbours may be bowed; a new joist is straight.
        if _fits([bay.left, *added, bay.right], ys, most):
            clear = (
                tried
                for what in ([*holes, *kept], [*holes, *standing], [*holes, *solid], holes)
                for tried in _beside_openings(added, what)
                if not any(meets(m, what) for m in tried)
                and _fits([bay.left, *tried, bay.right], ys, most)
            )
            found = next(clear, None)
            if found or even:
                return list(found or even)
            even = added
        count += 1
    return []


def _between(bay: Bay, n: int, parts: int, low: float, high: float, pack: Pack) -> Member:
    """Return the ``n``-th of the joists that divide a bay into ``parts``, straight throughout.

    Between joists that lap it laps as they do.
    """
    share = n / parts
    laps = tuple(
        lap
        for lap in (
            (a + share * (c - a), b + share * (d - b))
            for (a, b), (c, d) in zip(bay.left.laps, bay.right.laps, strict=False)
        )
        if low < lap[0] - _STUB and lap[1] + _STUB < high
    )
    points = tuple(
        (bay.left.centre(y) + share * (bay.right.centre(y) - bay.left.centre(y)), y)
        for y in (low, *(y for lap in laps for y in lap), high)
    )
    name = f"{bay.left.name}{'abcdefgh'[n - 1]}"
    # It stands no higher than its neighbours: a whole millimetre, and none above.
    depth = float(math.floor(max(bay.left.depth, bay.right.depth) + EPS))
    breadth = float(pack["noggin.breadth"])
    return Member(name, bay.number, points, breadth, depth, added=n, laps=laps)


def member_length(member: Member, areas: list[Area]) -> float:
    """Return how long an added joist must be, from one limit of the loft to the other [mm].

    Of one that laps it is all of its timbers together.
    """
    return sum(member_timbers(member, areas))


def member_timbers(member: Member, areas: list[Area]) -> list[float]:
    """Return how long each timber of an added joist must be [mm]: each reaches past every lap."""
    low, high = member_ends(member, areas)
    if not member.laps and high > low:
        # One that leans is longer than what it crosses.
        return [round(math.hypot(high - low, member.centre(high) - member.centre(low)), 1)]
    starts = [low, *(a for a, _ in member.laps)]
    ends = [*(b for _, b in member.laps), high]
    return [b - a for a, b in zip(starts, ends, strict=True)] if high > low else [0.0]


def member_ends(member: Member, areas: list[Area]) -> tuple[float, float]:
    """Return the ys [mm] between which an added joist lies: from limit to limit of the loft.

    It bears where the joists beside it do, so it goes on under what is laid already.
    """
    stretches = [
        (low - area.gap, high + area.gap)
        for area in areas
        for a, b in _along(member, area.polygon)
        for low, high in _along(member, area.free)
        if low < b and a < high
    ]
    if not stretches:
        return 0.0, 0.0
    return min(low for low, _ in stretches), max(high for _, high in stretches)


def goes_under(member: Member, area: Area) -> bool:
    """Say whether an added joist reaches on under boards that are laid already."""
    low, high = member_ends(member, [area])
    deck = [y for stretch in _along(member, area.polygon) for y in stretch]
    beyond = min(deck, default=low) - low, high - max(deck, default=high)
    return area.laid is not None and max(beyond) > 2 * area.gap


def stands_over(run: dict[str, Any], member: Member) -> bool:
    """Say whether an obstacle of a run stands over an added joist."""
    return any(meets(member, [shape]) for shape in obstacles(run))


def obstacles(run: dict[str, Any]) -> list[Polygon]:
    """Return the places of a run's obstacles, without the gap that a deck keeps from them."""
    return [
        Polygon(feature["polygon"])
        for feature in run["features"]
        if feature["feature"] == "obstacle" and feature.get("polygon")
    ]


def _along(member: Member, shape: BaseGeometry) -> list[tuple[float, float]]:
    """Return from which y to which its own line lies in a shape [mm]: it may lean."""
    _, low, _, high = shape.bounds
    ys = sorted({low, high, *(y for _, y in member.points if low < y < high)})
    under = shape.intersection(LineString([(member.centre(y), y) for y in ys]))
    parts = [part for part in getattr(under, "geoms", [under]) if part.length > _HAIR]
    return [(part.bounds[1], part.bounds[3]) for part in parts]
