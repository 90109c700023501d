"""Noggins under the long edges of pieces too short to go without support on every edge."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from baywalk.planning.support.noggins import PERIMETER, across

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.courses import Course
    from baywalk.planning.pieces import Piece
    from baywalk.planning.support.builder import Builder

_REACH = 1.0


def support_short(pieces: Sequence[Piece], courses: Sequence[Course], builder: Builder) -> None:
    """Set noggins under both long edges of every short piece, in each bay that it crosses."""
    for piece in pieces:
        if piece.short:
            course = courses[piece.course]
            for y, inward in ((course.y0, 1), (course.y1, -1)):
                for x0, x1 in _sides(piece, y):
                    _edge(piece, (x0, x1), y, inward, builder)


def _sides(piece: Piece, y: float) -> list[tuple[float, float]]:
    """Return from where to where a piece has an edge at ``y`` [mm]."""
    return [
        (min(xa, xb), max(xa, xb))
        for (xa, ya), (xb, yb) in pairwise(piece.polygon.exterior.coords)
        if abs(ya - y) <= _REACH and abs(yb - y) <= _REACH and xa != xb
    ]


def _edge(
    piece: Piece, reach: tuple[float, float], y: float, inward: int, builder: Builder
) -> None:
    """Set the noggins under one edge, from joist to joist or to a timber along the bay."""
    for bay in builder.ground.bays:
        at = bay.left.right(y)
        # Timbers along the bay part it, and each part has a noggin of its own.
        while at < bay.right.left(y) - _REACH:
            room = builder.room(bay, at + _REACH, y)
            at = room.right.left(y) if not room.right.timber else room.right.right(y)
            low, high = max(reach[0], room.left.right(y)), min(reach[1], room.right.left(y))
            if high - low > _REACH:
                found = across(builder.ground, room, y, PERIMETER, builder.size, builder.pack)
                # What stands out past a joist towards an opening is carried by its board.
                if found and not builder.hangs(found) and not builder.in_opening(found):
                    serving = found.serving(piece.id)
                    builder.under(room, (low + high) / 2, y, inward, serving)
