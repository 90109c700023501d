"""Strutting: rows of solid noggins between the joists, by their span."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from shapely import Point

from baywalk.planning.support.noggins import FRAME, STRUTTING, Noggin, Section, across

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Polygon

    from baywalk.planning.ground import Bay, Ground
    from baywalk.rules import Pack


def spans(run: dict[str, Any], polygon: Polygon) -> tuple[float, float, bool]:
    """Return the ys [mm] of the supports and whether they were read; else the deck's own limits."""
    ends = [joint["ends"] for joint in run["joists"] if joint.get("ends")]
    near = [e["near_support"]["value"] for e in ends if "near_support" in e]
    far = [e["far_support"]["value"] for e in ends if "far_support" in e]
    if near and far:
        return sum(near) / len(near), sum(far) / len(far), True
    _, low, _, high = polygon.bounds
    read = [j["span"]["value"] for j in run["joists"] if j.get("span")]
    if not read:
        return low, high, False
    middle, half = (low + high) / 2, max(read) / 2
    return middle - half, middle + half, True


def parted(ends: tuple[float, float], ground: Ground) -> list[tuple[float, float]]:
    """Return the spans [mm] that joists have from support to support: they end at each lap.

    What they lap over is taken to lie in the middle between the tape lines on its two sides.
    """
    middles = [sum(sum(one) / 2 for one in lap) / len(lap) for lap in ground.each_lap]
    return list(pairwise([ends[0], *(y for y in middles if ends[0] < y < ends[1]), ends[1]]))


def rows(span: float, pack: Pack) -> int:
    """Return how many rows of strutting a span [mm] calls for.

    NHBC Standards 6.4.15 Table 4 (2022): none under 2.5 m, one at mid-span to 4.5 m, then two.
    """
    none, one = (most for most, _ in pack["strutting.rows"])
    if span < none:
        return 0
    return 1 if span <= one else 2


def strutting(
    polygon: Polygon,
    ground: Ground,
    ends: tuple[float, float],
    size: Section,
    pack: Pack,
    there: list[Noggin],
    *,
    level: bool,
) -> list[Noggin]:
    """Return the strutting under a deck; ``level`` says that it stands as high as other noggins.

    Where a row comes close to the noggin of a frame, one timber does for both: that noggin is put
    into the row, in ``there``, and counts as strutting. Of any other noggin the row keeps clear.
    """
    out: list[Noggin] = []
    places = [
        low + (high - low) * k / (count + 1)
        for low, high in parted(ends, ground)
        for count in (rows(high - low, pack),)
        for k in range(1, count + 1)
    ]
    for bay in ground.bays:
        for y in places:
            if not _under(polygon, bay, y) or _stands(y, bay, pack, there):
                continue
            # Below a raised deck, what bears a joint stands above the row and is no part of it.
            if level and _joined(y, bay, ground, size, pack, there):
                continue
            clear = _clear_of(y, bay, [*there, *out], size)
            noggin = across(ground, bay, clear, STRUTTING, size, pack)
            if noggin:
                out.append(noggin.serving("row"))
    return out


def _under(polygon: Polygon, bay: Bay, y: float) -> bool:
    """Say whether a bay lies under the deck at ``y`` [mm], or beside it at a wall."""
    x = (bay.left.right(y) + bay.right.left(y)) / 2
    return bool(polygon.distance(Point(x, y)) <= (bay.gap(y) if bay.beside_wall else 1.0))


def _stands(y: float, bay: Bay, pack: Pack, there: Sequence[Noggin]) -> bool:
    """Say whether a row stands near ``y`` [mm] in a bay already, fixed before this plan."""
    near = [n for n in there if n.bay == bay and abs(n.y - y) < pack["strutting.aside"]]
    return any("row" in noggin.serves for noggin in near)


def _joined(
    y: float, bay: Bay, ground: Ground, size: Section, pack: Pack, there: list[Noggin]
) -> bool:
    """Put a frame's noggin near ``y`` [mm] into the row; say whether there was one."""
    for k, noggin in enumerate(there):
        near = abs(noggin.y - y) < pack["strutting.aside"]
        if noggin.bay == bay and noggin.x is None and noggin.use == FRAME and near:
            deep = across(ground, bay, noggin.y, STRUTTING, size, pack, noggin.slope)
            if deep:
                there[k] = replace(deep, serves=(*noggin.serves, "row"))
                return True
    return False


def _clear_of(y: float, bay: Bay, there: Sequence[Noggin], size: Section) -> float:
    """Return the place nearest to ``y`` [mm] where no other noggin of the bay is in the way."""
    half = size.breadth / 2
    bands = [n.band for n in there if n.bay == bay and n.x is None]
    tries = [y, *(b + half for _, b in bands), *(a - half for a, _ in bands)]
    free = [t for t in tries if all(t + half <= a + 1e-6 or t - half >= b - 1e-6 for a, b in bands)]
    return min(free, key=lambda t: abs(t - y))
