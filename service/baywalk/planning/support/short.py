"""Noggins under the long edges of pieces too short to go without support on every edge."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from shapely import Point

from baywalk.planning.support.noggins import PERIMETER, across

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Polygon

    from baywalk.planning.courses import Course
    from baywalk.planning.pieces import Piece
    from baywalk.planning.support.builder import Builder

_REACH = 1.0


def support_short(
    pieces: Sequence[Piece], courses: Sequence[Course], builder: Builder, deck: Polygon
) -> None:
    """Set noggins under both long edges of every short piece, in each bay that it crosses.

    Where that is an edge of the ``deck`` as well, they stand flush with it: beyond it is a wall.
    """
    half = builder.size.breadth / 2
    for piece in pieces:
        if piece.short:
            course = courses[piece.course]
            for y, inward in ((course.y0, 1), (course.y1, -1)):
                for x0, x1 in _sides(piece, y):
                    rim = deck.boundary.distance(Point((x0 + x1) / 2, y)) <= _REACH
                    place = y + inward * half if rim else y
                    _edge(piece, (x0, x1), y, inward, builder, place)


def _sides(piece: Piece, y: float) -> list[tuple[float, float]]:
    """Return from where to where a piece has an edge at ``y`` [mm]."""
    return [
        (min(xa, xb), max(xa, xb))
        for (xa, ya), (xb, yb) in pairwise(piece.polygon.exterior.coords)
        if abs(ya - y) <= _REACH and abs(yb - y) <= _REACH and xa != xb
    ]


def _edge(
    piece: Piece,
    reach: tuple[float, float],
    y: float,
    inward: int,
    builder: Builder,
    place: float,
) -> None:
    """Set the noggins under one edge, from joist to joist or to a timber along the bay.

    ``place`` is where the centre line of one lies whose place nothing else decides [mm].
    """
    for bay in builder.ground.bays:
        at = bay.left.right(y)
        # Timbers along the bay part it, and each part has a noggin of its own.
        while at < bay.right.left(y) - _REACH:
            room = builder.room(bay, at + _REACH, y)
            at = room.right.left(y) if not room.right.timber else room.right.right(y)
            low, high = max(reach[0], room.left.right(y)), min(reach[1], room.right.left(y))
            if high - low > _REACH:
                found = across(builder.ground, room, place, PERIMETER, builder.size, builder.pack)
                # What stands out past a joist towards an opening is carried by its board.
                if found and not builder.hangs(found) and not builder.in_opening(found):
                    serving = found.serving(piece.id)
                    builder.under(room, (low + high) / 2, y, inward, serving)
