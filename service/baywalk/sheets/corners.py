"""Pieces that are not plain: cut round an opening or an obstacle, or along a wall that bends.

Their corners are lettered on the drawing and set out in a schedule: how far each lies from the
board's left-hand end, and from its near edge.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from shapely import Polygon

from baywalk.sheets import lengths
from baywalk.sheets.ink import SMALL, Box, Page, Point, Words
from baywalk.sheets.table import Column, Table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

_PLAIN = 4
_STRAIGHT = 1.0
"""A corner that leaves the straight line by no more than this is no corner to cut [mm]."""


class Corner(NamedTuple):
    """A corner to set out: its letter, and its place from the left-hand end and near edge [mm]."""

    letter: str
    u: float
    v: float


def corners(piece: Mapping[str, Any], outer: Sequence[Point]) -> list[Corner]:
    """Return the corners of a piece that has more than four, or holes; none where it is plain.

    ``outer`` are its corners in the board [mm]; its holes are moved with them.
    """
    rings = [list(outer)]
    x, y = piece["polygon"][0]
    u, v = outer[0]
    rings += [[(p[0] - x + u, p[1] - y + v) for p in hole] for hole in piece.get("holes") or []]
    kept = [_kept(ring) for ring in rings]
    if len(kept) == 1 and len(kept[0]) <= _PLAIN:
        return []
    points = [point for ring in kept for point in ring]
    return [Corner(letter(k), *point) for k, point in enumerate(points)]


def _kept(ring: Sequence[Point]) -> list[Point]:
    """Return the corners of a ring that matter to a saw."""
    shape = Polygon(ring).simplify(_STRAIGHT)
    return [(x, y) for x, y in shape.exterior.coords[:-1]] if isinstance(shape, Polygon) else []


def letter(number: int) -> str:
    """Return the letters for a number from 0: a to z, then aa, ab and so on."""
    head, tail = divmod(number, 26)
    return (letter(head - 1) if head else "") + chr(ord("a") + tail)


_ROUND = ((0.9, -0.9), (-2.3, -0.9), (0.9, 2.6), (-2.3, 2.6), (2.4, 0.9), (-3.8, 0.9))
"""Where a letter may stand beside its corner, the best place first [mm]."""


def draw(page: Page, found: Sequence[Corner], box: Box, scale: int) -> None:
    """Write the letters of corners beside them, where nothing else is written [mm]."""
    for corner in found:
        x, y = box.left + corner.u / scale, box.bottom - corner.v / scale
        page.dot((x, y), 0.4)
        places = [Words((x + dx, y + dy), corner.letter, SMALL) for dx, dy in _ROUND]
        best = next((w for w in places if page.free(w.box)), None)
        if best:
            page.words(best.at, corner.letter, SMALL, clear=True)


def schedule() -> Table:
    """Return the schedule of corners, still empty."""
    names = ["board", "piece", "corner", "from left-hand end", "from near edge"]
    table = Table("corners", [Column(n, right=k > 2) for k, n in enumerate(names)])
    table.heads = ["board", "piece", "corner", "u", "v"]
    return table


def add(table: Table, of: tuple[str, str], found: Sequence[Corner], units: str) -> None:
    """Add the corners of a piece, named by its board and itself."""
    for name, u, v in found:
        said = [lengths.say(u, units), lengths.say(v, units)]
        table.add([*of, name, *said], [*of, name, u, v])
