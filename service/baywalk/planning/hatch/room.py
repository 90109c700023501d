"""Every place where a rectangle fits between what must stay, exactly, whatever leans or bows.

A place is the corner of the rectangle nearest to the start wall and the near edge. What is
forbidden is swept by the rectangle turned about that corner: what is left of the plane are the
places at which the rectangle meets nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon, box
from shapely.errors import GEOSException
from shapely.ops import unary_union

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from shapely.geometry.base import BaseGeometry

_GRID = 1e-6
"""What coordinates are rounded to where they cannot be joined as they are [mm]."""
_HAIR = 0.01
"""By how much less than its size a rectangle must fit at each side, so that an exact fit does [mm].
"""


@dataclass(frozen=True)
class Reach:
    """A rectangle that goes with a place: from where to where it reaches from there [mm]."""

    x0: float
    x1: float
    y0: float
    y1: float

    def less_a_hair(self) -> Reach:
        """Return it smaller by what is rounding."""
        return Reach(self.x0 + _HAIR, self.x1 - _HAIR, self.y0 + _HAIR, self.y1 - _HAIR)


def places(zone: BaseGeometry, own: Reach) -> BaseGeometry:
    """Return all places [mm] of which ``own`` lies in a zone; touching its limit is within."""
    x0, y0, x1, y1 = zone.bounds
    # A place has its own corner in the zone, so nothing beyond this frame matters.
    frame = box(x0 - 1, y0 - 1, x1 + 1, y1 + 1)
    around = box(x0 - own.x1, y0 - own.y1, x1 + own.x1, y1 + own.y1)
    return clear(frame, [(own, around.difference(zone))])


def clear(free: BaseGeometry, forbidden: Iterable[tuple[Reach, BaseGeometry]]) -> BaseGeometry:
    """Return those of some places [mm] of which no rectangle meets its shape, but for touching."""
    taken = [_swept(p, r.less_a_hair()) for r, shape in forbidden for p in polygons(shape)]
    return free.difference(unary_union(taken)) if taken else free


def meeting(free: BaseGeometry, own: Reach, shape: Polygon) -> BaseGeometry:
    """Return those of some places [mm] at which ``own`` meets a shape."""
    return free.intersection(_swept(shape, own))


def polygons(shape: BaseGeometry) -> Iterator[Polygon]:
    """Give the polygons of a shape, lines and points left out."""
    if isinstance(shape, Polygon):
        if not shape.is_empty:
            yield shape
        return
    for part in getattr(shape, "geoms", ()):
        yield from polygons(part)


def _swept(shape: Polygon, reach: Reach) -> BaseGeometry:
    """Return the places [mm] at which a rectangle meets a shape."""
    # The sum of a shape and a rectangle is the shape moved, and all that its sides pass over.
    offsets = np.array([(-dx, -dy) for dx in (reach.x0, reach.x1) for dy in (reach.y0, reach.y1)])
    rings = [np.array(ring.coords)[:, :2] for ring in (shape.exterior, *shape.interiors)]
    moved = Polygon(rings[0] + offsets[0], [ring + offsets[0] for ring in rings[1:]])
    ends = np.concatenate([np.stack([ring[:-1], ring[1:]], axis=1) for ring in rings])
    over = (ends[:, :, None, :] + offsets).reshape(len(ends), -1, 2)
    points = shapely.multipoints(
        over.reshape(-1, 2), indices=np.repeat(np.arange(len(over)), over.shape[1])
    )
    parts = [moved, *shapely.convex_hull(points)]
    try:
        return unary_union(parts)
    except GEOSException:
        # Slivers that nearly touch may be too fine to be joined but on a grid.
        return shapely.union_all(parts, grid_size=_GRID)
