"""Courses that are laid or begun: their joints, what carries each, and what stands against them.

Boards lie end to end at their full length, so the end of the last piece laid settles where every
joint to come in its stretch will be.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from shapely import Polygon, box

from baywalk.planning.courses import sections
from baywalk.planning.laid.fit import off_deck
from baywalk.planning.laid.place import span
from baywalk.planning.layout.begun import fixed_ways
from baywalk.planning.layout.cutting import LEFT, RIGHT, WHOLE
from baywalk.planning.layout.lay import Stretch
from baywalk.planning.layout.patterns import EPS, keep, limits
from baywalk.planning.layout.zones import FRAME, Zone, zones
from baywalk.planning.refused import Reason, Refused

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.choices import Weights
    from baywalk.planning.courses import Course, Segment
    from baywalk.planning.laid.place import HeldDeck, HeldPiece, HeldRow
    from baywalk.planning.pieces import Piece
    from baywalk.planning.task import Task

_WIDE = 1e6
_LOOSE = 0.001
"""The share of a piece's area by which it may differ from what it was planned [-]."""
_EDGE = 15.0
"""What of a piece's ends is not compared, for they may be cut askew [mm]."""
_HAIR = 0.5
"""How much narrower or wider a piece may be for rounding [mm]."""
_SAFE = 0.02
"""How much tighter than the rules the planner works [mm], so that rounding breaks none."""


@dataclass(frozen=True)
class _Fixed:
    """A joint that cannot move: where it lies [mm], its pieces' ids or None where not laid yet.

    ``up`` is the laid piece to take up so that it may lie elsewhere.
    """

    x: float
    left: str | None
    right: str | None
    up: str

    @property
    def laid(self) -> bool:
        return self.left is not None and self.right is not None


@dataclass(frozen=True)
class Begun:
    """A stretch of which pieces are laid, and the joints that follow from them."""

    course: int
    segment: Segment
    stretch: Stretch
    fixed: tuple[_Fixed, ...]

    def ends(self) -> list[tuple[float, float, float]]:
        """Return each joint's x and from which y to which it runs [mm]."""
        return [(j.x, *sections(self.segment.polygon, j.x)[0]) for j in self.fixed]


def begun_rows(
    task: Task,
    courses: Sequence[Course],
    weights: Weights,
    shortest: float,
    blocked: Sequence[Polygon],
) -> list[Begun]:
    """Return every stretch of which pieces are laid; lengths in mm.

    Raises ``Refused`` where a laid piece breaks a rule that nothing cures where it lies.
    """
    out: list[Begun] = []
    held = task.held
    for row in held.rows if held else ():
        course = next((c for c in courses if c.index == row.course), None)
        segment = None if course is None else _segment(row, course)
        if course is None or segment is None:
            raise Refused(off_deck(row.pieces[0].id))
        _fits(row, segment)
        if held:
            maker = _Maker(task, held, weights, shortest)
            out.append(maker.begun(row, course, segment, blocked))
    _apart(out, task.pack["joint.stagger"])
    return out


def _segment(row: HeldRow, course: Course) -> Segment | None:
    """Return the segment that a row lies in."""
    low, high = row.pieces[0].left, row.pieces[-1].right
    near = [s for s in course.segments if s.x0 - 1 < low and high < s.x1 + 1]
    return near[0] if near else None


def _fits(row: HeldRow, segment: Segment) -> None:
    """Raise where a piece as laid is not what is to be boarded at its place."""
    for piece in row.pieces:
        was = Polygon(piece.earlier["polygon"], piece.earlier.get("holes", ()))
        low, high = span(piece.earlier)
        both = box(max(piece.left, low) + _EDGE, -_WIDE, min(piece.right, high) - _EDGE, _WIDE)
        _, y0, _, y1 = was.bounds
        # Where it was cut to an edge or round an obstacle it still must be; its course may lie off.
        off = abs(segment.y0 - y0) + abs(segment.y1 - y1) + _HAIR
        there, then = segment.polygon.intersection(both).area, was.intersection(both).area
        if abs(there - then) > _LOOSE * then + off * piece.length:
            raise Refused(off_deck(piece.id))


@dataclass(frozen=True)
class _Maker:
    """Makes the begun stretches of one deck."""

    task: Task
    held: HeldDeck
    weights: Weights
    shortest: float

    def begun(
        self,
        row: HeldRow,
        course: Course,
        segment: Segment,
        blocked: Sequence[Polygon],
    ) -> Begun:
        """Return one stretch of which a row is laid."""
        task, board = self.task, self.task.board.length
        fixed = _joints(row, segment, board)
        bounds = limits(segment, task.ground, task.pack, self.shortest)
        marks = [segment.x0, *(j.x for j in fixed), segment.x1]
        places = list(itertools.pairwise(marks))
        names = [_piece_at(row, (a + b) / 2) for a, b in places]
        kinds = [
            self.held.pieces[name].kind if name else _kind(k, b - a, board)
            for k, (name, (a, b)) in enumerate(zip(names, places, strict=True))
        ]
        for name, (a, b) in zip(names, places, strict=True):
            if name is None and b - a < bounds.least - EPS:
                raise Refused(_too_short(course, b - a, bounds.least, row))
        spots = zones(segment, task.ground, task.pack, self.weights, blocked, task.openings)
        joints = tuple((j.x, self._zone(j, course, spots)) for j in fixed)
        laid = [name is not None for name in names]
        ways = fixed_ways(
            (segment.x0, segment.x1), bounds, joints, kinds, laid, board, self.weights
        )
        stretch = Stretch(
            course.index, segment, tuple(spots), ways, joints, tuple(kinds), tuple(laid)
        )
        return Begun(course.index, segment, stretch, fixed)

    def _zone(self, joint: _Fixed, course: Course, spots: Sequence[Zone]) -> Zone:
        """Return what carries a joint; raise where nothing does, or its frame stands elsewhere."""
        here = [z for z in spots if z.low - _SAFE / 2 <= joint.x <= z.high + _SAFE / 2]
        frame = self._frame(joint)
        zone = min(here, key=lambda z: z.weight) if here else None
        if frame is not None:
            off = abs(joint.x - frame)
            seated = self.task.pack["noggin.breadth"] / 2 - off >= self.task.pack["joint.bearing"]
            bay = next((z.bay for z in spots if z.kind == FRAME and z.low <= frame <= z.high), None)
            if seated and bay is not None:
                return Zone(joint.x, joint.x, FRAME, self.weights.frame, bay=bay, seat=frame)
            if joint.laid and (zone is None or zone.kind == FRAME):
                raise Refused(_off_frame(joint, off))
        if zone is None or (joint.laid and zone.kind == FRAME):
            raise Refused(_bare(joint, course))
        return replace(zone, low=joint.x, high=joint.x)

    def _frame(self, joint: _Fixed) -> float | None:
        """Return where the piece along of a joint's frame is fixed [mm]; None without one."""
        deck: dict[str, Any] = self.held.earlier
        if joint.left is None and joint.right is None:
            return None
        for one in deck["joints"]:
            same = (joint.left is None or one["left"] == joint.left) and (
                joint.right is None or one["right"] == joint.right
            )
            if same and "frame" in one["support"]:
                names = {f["id"]: f for f in deck["frames"]}[one["support"]["frame"]]["noggins"]
                along = [n for n in deck["noggins"] if n["id"] in names and n.get("along")]
                return float(along[0]["x"]) if along else None
        return None


def _joints(row: HeldRow, segment: Segment, board: float) -> tuple[_Fixed, ...]:
    """Return all joints of a stretch of which a row is laid, boards ``board`` [mm] long."""
    pieces = row.pieces
    out = [_Fixed(a.right, a.id, b.id, b.id) for a, b in itertools.pairwise(pieces)]
    if not row.walls[0]:
        x, name = pieces[0].left, pieces[0].id
        while x > segment.x0 + EPS:
            out.insert(0, _Fixed(x, None, name if x == pieces[0].left else None, name))
            x -= board
    if not row.walls[1]:
        x, name = pieces[-1].right, pieces[-1].id
        while x < segment.x1 - EPS:
            out.append(_Fixed(x, name if x == pieces[-1].right else None, None, name))
            x += board
    return tuple(out)


def _piece_at(row: HeldRow, x: float) -> str | None:
    return next((p.id for p in row.pieces if p.left < x < p.right), None)


def _kind(k: int, length: float, board: float) -> str:
    if length >= board - EPS:
        return WHOLE
    return RIGHT if k == 0 else LEFT


def _apart(rows: Sequence[Begun], apart: float) -> None:
    """Raise where two joints of neighbouring courses that cannot move lie too near."""
    for one, other in itertools.product(rows, rows):
        if other.course != one.course + 1:
            continue
        for a, b in itertools.product(one.fixed, other.fixed):
            if abs(a.x - b.x) < apart:
                raise Refused(_too_close(one, a, other, b, apart))


def _too_short(course: Course, length: float, least: float, row: HeldRow) -> Reason:
    say = (
        f"Course {course.index + 1}: with what is laid, {max(length, 0):.0f} would be left for a"
        f" piece at its end, and {least:g} is the least. Take up {row.pieces[-1].id} and saw"
        " another length there."
    )
    return Reason("laid.too_short", say)


def _off_frame(joint: _Fixed, off: float) -> Reason:
    say = (
        f"The joint between {joint.left} and {joint.right} landed {off:.0f} beside its noggin, and"
        f" too little of it bears. Take up {joint.up}, move the noggin along under the joint,"
        " and lay it again."
    )
    return Reason("laid.off_frame", say)


def _bare(joint: _Fixed, course: Course) -> Reason:
    what = (
        f"The joint between {joint.left} and {joint.right} landed"
        if joint.laid
        else f"With what is laid, an end joint of course {course.index + 1} falls"
    )
    say = (
        f"{what} at {joint.x:.0f}, where neither a joist nor a cleat bears both boards. Take up"
        f" {joint.up} and plan again without it: what is missing goes under it first."
    )
    return Reason("laid.no_bearing", say)


def _too_close(one: Begun, a: _Fixed, other: Begun, b: _Fixed, apart: float) -> Reason:
    say = (
        f"End joints of courses {one.course + 1} and {other.course + 1} are {abs(a.x - b.x):.1f}"
        f" apart with what is laid, at {a.x:.0f} and {b.x:.0f}; {apart:g} is the least. Take up"
        f" {b.up} and saw another length there."
    )
    return Reason("laid.stagger", say)


def as_laid(pieces: Sequence[Piece], held: HeldDeck) -> None:
    """Give every laid piece its own name and edges; the others take the names that are left."""
    used: dict[int, set[str]] = {}
    for one in held.pieces.values():
        used.setdefault(one.course, set()).add(one.id)
    counts: dict[int, int] = {}
    for piece in pieces:
        x0, _, x1, _ = piece.polygon.bounds
        mine = _held_at(held, piece.course, (x0 + x1) / 2)
        if mine:
            piece.laid, piece.id, piece.kind = True, mine.id, mine.kind
            piece.edges = _edges(mine)
            continue
        names = used.get(piece.course, set())
        while (name := _next(piece.course, counts)) in names:
            pass
        piece.id = name


def _next(course: int, counts: dict[int, int]) -> str:
    counts[course] = counts.get(course, 0) + 1
    return f"{course + 1}.{counts[course]}"


def _held_at(held: HeldDeck, course: int, x: float) -> HeldPiece | None:
    return next(
        (p for p in held.pieces.values() if p.course == course and p.left < x < p.right), None
    )


def _edges(piece: HeldPiece) -> dict[str, str]:
    """Return the edges of a laid piece: those it was planned with, and cut where it was sawn."""
    out = {side: piece.earlier[side] for side in ("left", "right", "near", "far")}
    if piece.kind == RIGHT:
        out["left"] = "cut"
    if piece.kind == LEFT:
        out["right"] = "cut"
    return out


def as_before(found: Sequence[Stretch], held: HeldDeck) -> list[Stretch]:
    """Return stretches that are laid as they were planned before where that costs no more."""
    out = []
    for stretch in found:
        x0, x1 = stretch.segment.x0, stretch.segment.x1
        xs = [
            joint["x"]
            for joint in held.earlier["joints"]
            if joint["course"] == stretch.course and x0 < joint["x"] < x1
        ]
        free = bool(xs) and not stretch.kinds
        out.append(replace(stretch, ways=keep(stretch.ways, min(xs))) if free else stretch)
    return out
