"""Shapes in the plane made plain: no slivers, no needless corners."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from shapely import Polygon
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry


SLACK = 0.01
"""What is taken off beside a strip left open, so that nothing of it stays [mm]."""


_HAIR = 0.03
"""An edge that leaves a straight line by no more than this is straight [mm]."""


_ONE = 2 * SLACK
"""Corners nearer to each other than this are one: no saw tells them apart [mm]."""


CRUMB = 20.0
"""An area below this is rounding [mm²]."""


def rings(polygon: Polygon) -> tuple[list[list[float]], list[list[list[float]]]]:
    """Return a polygon's outer ring, anticlockwise, and its holes, as lists of points [mm]."""
    turned = orient(polygon)
    return _ring(turned.exterior), [_ring(hole) for hole in turned.interiors]


def _ring(ring: Any) -> list[list[float]]:
    return [[round(x, 3), round(y, 3)] for x, y in list(ring.coords)[:-1]]


def without_slivers(deck: BaseGeometry, least: float) -> tuple[BaseGeometry, float]:
    """Return the deck without strips too narrow to board, and the area [mm²] left open."""
    half = least / 2
    opened = deck.buffer(-half, join_style="mitre", mitre_limit=20).buffer(
        half, join_style="mitre", mitre_limit=20
    )
    # Rounding of the mitres leaves crumbs that are no strips.
    strips = [p for p in polygons(deck.difference(opened)) if p.area > CRUMB]
    if not strips:
        return deck, 0.0
    kept = deck.difference(
        unary_union([strip.buffer(SLACK, join_style="mitre") for strip in strips])
    )
    lost = sum(strip.area for strip in strips)
    return kept, lost if lost > half * least else 0.0


def straightened(deck: Polygon, most: float) -> Polygon:
    """Return a deck whose near and far edges are straight where they nearly are, within ``most``.

    ``most`` is in mm. The edge is drawn in, so the gap to the wall only grows.
    """
    _, y0, _, y1 = deck.bounds

    def level(point: tuple[float, ...]) -> tuple[float, float]:
        x, y = point[0], point[1]
        if y - y0 <= most:
            return x, low
        return (x, high) if y1 - y <= most else (x, y)

    ys = [point[1] for point in deck.exterior.coords]
    low = max(y for y in ys if y - y0 <= most)
    high = min(y for y in ys if y1 - y <= most)
    straight = Polygon([level(p) for p in deck.exterior.coords], list(deck.interiors))
    return straight if straight.is_valid and straight.area > 0 else deck


def plain(deck: Polygon) -> Polygon:
    """Return a deck whose corners all differ, and turn by more than a hair."""
    fine = deck.simplify(_HAIR)
    deck = fine if isinstance(fine, Polygon) and fine.is_valid and fine.area > 0 else deck
    plain = Polygon(_corners(deck.exterior), [_corners(hole) for hole in deck.interiors])
    return plain if plain.is_valid and plain.area > 0 else deck


def _corners(ring: Any) -> list[tuple[float, float]]:
    """Return the corners of a ring, those left out that lie where the one before does."""
    out: list[tuple[float, float]] = []
    for point in list(ring.coords)[:-1]:
        if not out or math.dist(out[-1], point) >= _ONE:
            out.append((point[0], point[1]))
    while len(out) > 1 and math.dist(out[0], out[-1]) < _ONE:
        out.pop()
    return out


def polygons(shape: BaseGeometry) -> list[Polygon]:
    """Return the polygons of a shape, lines and points left out."""
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    parts = getattr(shape, "geoms", ())
    return [p for part in parts for p in polygons(part)]
