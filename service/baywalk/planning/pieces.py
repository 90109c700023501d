"""Pieces: every course cut at its joints, each piece with its edges and its board."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from shapely import Polygon, box
from shapely.geometry.polygon import orient

from baywalk.planning.layout.cutting import MIDDLE, Cut, Need, cut

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from baywalk.planning.choices import Board
    from baywalk.planning.courses import Course
    from baywalk.planning.layout.cutting import Held
    from baywalk.planning.layout.lay import Row
    from baywalk.rules import Pack

_WIDE = 1e6
_TOUCH = 0.05
"""Edges within this of one another are one line [mm]."""
_RUN = 1.0
"""An edge counts as the board's own where it follows it for at least this [mm]."""


@dataclass
class Piece:
    """One piece as laid: its place in the plane, its edges, and where it is cut from [mm].

    ``laid`` says that it lies there already, ``sawn`` which ends of its stretch must be sawn.
    """

    id: str
    course: int
    polygon: Polygon
    kind: str
    edges: dict[str, str]
    short: bool = False
    sawn: tuple[bool, bool] = (False, False)
    board: str = ""
    at: float = 0.0
    laid: bool = False

    @property
    def length(self) -> float:
        """Return the length it takes out of a board [mm]."""
        return float(self.polygon.bounds[2] - self.polygon.bounds[0])

    @property
    def width(self) -> float:
        """Return the width it takes out of a board [mm]."""
        return float(self.polygon.bounds[3] - self.polygon.bounds[1])

    def json(self) -> dict[str, Any]:
        """Return it as the plan shows it."""
        turned = orient(self.polygon)
        holes = [_ring(hole) for hole in turned.interiors]
        return {
            "id": self.id,
            "course": self.course,
            "polygon": _ring(turned.exterior),
            **({"holes": holes} if holes else {}),
            "length": round(self.length, 3),
            "width": round(self.width, 3),
            **self.edges,
            "board": self.board,
            "at": round(self.at, 3),
            "mark": f"{self.board} → {self.id}",
            **({"laid": True} if self.laid else {}),
        }


@dataclass(frozen=True)
class BoardUse:
    """One board and its pieces from its left-hand end."""

    id: str
    cut: Cut
    had: bool

    def json(self, board: Board, kerf: float) -> dict[str, Any]:
        """Return it as the plan shows it."""
        return {
            "id": self.id,
            "cuts": [need.id for need, _ in self.cut.pieces],
            "offcut": round(self.cut.offcut(board.length, kerf), 3),
            "had": self.had,
        }


def _ring(ring: Any) -> list[list[float]]:
    return [[round(x, 3), round(y, 3)] for x, y in list(ring.coords)[:-1]]


def pieces(
    rows: Sequence[Row], courses: Sequence[Course], pack: Pack, *, near: bool
) -> list[Piece]:
    """Return all pieces by course and place.

    ``near`` says that boards lie as they do when the near edge is laid first, groove towards it;
    otherwise they are turned end for end.
    """
    # Turned to look the other way, a board has its other short end on the same hand.
    tongue_right = (pack["board.tongue"] == "right") == near
    ends = ("groove", "tongue") if tongue_right else ("tongue", "groove")
    out: list[Piece] = []
    counts: dict[int, int] = {}
    for row in rows:
        course = courses[row.stretch.course]
        for k, polygon in enumerate(_polygons(row)):
            counts[course.index] = counts.get(course.index, 0) + 1
            name = f"{course.index + 1}.{counts[course.index]}"
            kind = row.kind(k)
            edges = _ends(row, k, ends) | _sides(polygon, course, near=near)
            sawn = row.stretch.ways.limits.sawn
            piece = Piece(name, course.index, polygon, kind, edges, _short(row, k), sawn)
            out.append(piece)
    return out


def _polygons(row: Row) -> list[Polygon]:
    segment = row.stretch.segment
    marks = [segment.x0 - 1, *(x for x, _ in row.joints), segment.x1 + 1]
    return [
        _largest(segment.polygon.intersection(box(a, -_WIDE, b, _WIDE)))
        for a, b in itertools.pairwise(marks)
    ]


def _largest(shape: Any) -> Polygon:
    """Return the shape's polygon; crumbs that rounding may leave are dropped."""
    if isinstance(shape, Polygon):
        return shape
    found: Polygon = max((p for p in shape.geoms if isinstance(p, Polygon)), key=lambda p: p.area)
    return found


def _short(row: Row, k: int) -> bool:
    """Say whether a piece is too short to go without support on every edge."""
    bounds = row.stretch.ways.limits
    if not row.joints:
        return bounds.short
    first, last = row.joints[0][0], row.joints[-1][0]
    if 0 < k < len(row.joints):
        between = (np.array([row.joints[i][0]]) for i in (k - 1, k))
        return bool(bounds.too_short(*between)[0])
    return (k == 0 and first < bounds.first - _TOUCH) or (
        k == len(row.joints) and last > bounds.last + _TOUCH
    )


def _ends(row: Row, k: int, ends: tuple[str, str]) -> dict[str, str]:
    sawn = row.stretch.ways.limits.sawn
    single = not row.joints and row.stretch.ways.single > 0
    left = k == 0 and (row.starts or sawn[0] or single)
    right = k == len(row.joints) and (row.ends or sawn[1] or single)
    return {"left": "cut" if left else ends[0], "right": "cut" if right else ends[1]}


def _sides(polygon: Polygon, course: Course, *, near: bool) -> dict[str, str]:
    own = ("groove", "tongue") if near else ("tongue", "groove")
    return {
        "near": own[0] if _follows(polygon, course.y0) else "cut",
        "far": own[1] if _follows(polygon, course.y1) else "cut",
    }


def _follows(polygon: Polygon, y: float) -> bool:
    coords = list(polygon.exterior.coords)
    run = sum(
        abs(xb - xa)
        for (xa, ya), (xb, yb) in itertools.pairwise(coords)
        if abs(ya - y) < _TOUCH and abs(yb - y) < _TOUCH
    )
    return run >= _RUN


def saw(
    pieces: Sequence[Piece],
    board: Board,
    pack: Pack,
    had: int,
    held: Sequence[Held] = (),
    taken: Collection[str] = (),
) -> list[BoardUse]:
    """Give every piece its board and its place in it; the boards come in the order of laying.

    ``held`` are boards that were begun; no other gets an id that is ``taken``.
    """
    needs = [Need(p.id, p.length, p.kind) for p in pieces if not p.laid]
    order = {piece.id: k for k, piece in enumerate(pieces)}
    cuts = cut(needs, board.length, pack["board.kerf"], held)
    cuts.sort(key=lambda c: min(order[need.id] for need, _ in c.pieces))
    by_id = {piece.id: piece for piece in pieces}
    names = (name for k in itertools.count(1) if (name := f"B{k}") not in taken)
    uses = []
    for number, one in enumerate(cuts):
        name = one.board or next(names)
        uses.append(BoardUse(name, one, number < had))
        for need, at in one.pieces:
            by_id[need.id].board, by_id[need.id].at = name, at
    return uses


def own_ends(pieces: Sequence[Piece], board: Board, ends: tuple[str, str]) -> None:
    """Leave a board's own end on a piece in one length that happens to have it."""
    for piece in pieces:
        if piece.kind != MIDDLE:
            continue
        square = [
            ok and not sawn for ok, sawn in zip(_square(piece.polygon), piece.sawn, strict=True)
        ]
        if square[0] and piece.at < _TOUCH:
            piece.edges["left"] = ends[0]
        if square[1] and piece.at + piece.length > board.length - _TOUCH:
            piece.edges["right"] = ends[1]


def _square(polygon: Polygon) -> tuple[bool, bool]:
    x0, y0, x1, y1 = polygon.bounds
    found = []
    for x in (x0, x1):
        on = [y for px, y in polygon.exterior.coords if abs(px - x) < _TOUCH]
        found.append(max(on) - min(on) > y1 - y0 - 0.1)
    return found[0], found[1]
