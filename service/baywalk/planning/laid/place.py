"""Where every laid piece lies: what was told, and what follows from it for its neighbours.

A piece cut before it was laid keeps its length, so a joint that landed off takes along whatever
was laid after it. An end at a wall stays where it was planned unless it was told: the piece was cut
to suit. A course's leading edge that was told is shared out evenly over the courses before it.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from baywalk.planning.layout.cutting import LEFT, MIDDLE, RIGHT, WHOLE
from baywalk.planning.refused import Reason, Refused

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.laid.read import LaidDeck, LaidPiece
    from baywalk.rules import Pack

_TOUCH = 0.05
"""Lengths within this of one another are one: a plan's coordinates are rounded [mm]."""


@dataclass(frozen=True)
class HeldPiece:
    """A piece as it lies: ``left`` and ``right`` are the xs of its ends [mm].

    ``kind`` is which ends of its board it has, ``earlier`` the piece as the earlier plan has it.
    """

    id: str
    course: int
    left: float
    right: float
    kind: str
    earlier: dict[str, Any]

    @property
    def length(self) -> float:
        """Return its length as it lies [mm]."""
        return self.right - self.left


@dataclass(frozen=True)
class HeldRow:
    """Pieces laid end to end in one course, from left to right.

    ``walls`` says whether they begin and end where the boarding does, ``told`` whether those ends
    were told.
    """

    course: int
    pieces: tuple[HeldPiece, ...]
    walls: tuple[bool, bool]
    told: tuple[bool, bool]

    @property
    def joints(self) -> list[float]:
        """Return the xs of the joints between them [mm]."""
        return [piece.right for piece in self.pieces[:-1]]


@dataclass(frozen=True)
class HeldDeck:
    """What is laid of one deck; lengths and places in mm.

    ``base`` is where the boards of the first course begin, ``leads`` the leading edges of the
    courses of which something is laid, ``offs`` how far each lies off where it was planned.
    ``earlier`` is the deck as the earlier plan has it.
    """

    near: bool
    base: float
    leads: tuple[float, ...]
    offs: tuple[float, ...]
    rows: tuple[HeldRow, ...]
    laid: LaidDeck
    earlier: dict[str, Any]

    @property
    def shift(self) -> float:
        """Return how far the first course was moved as a whole, in y [mm]."""
        start = self.leads[0] - self.offs[0]
        width: float = self.earlier["deck"]["board"]["width"]
        return self.base - (start - width if self.near else start + width)

    @property
    def pieces(self) -> dict[str, HeldPiece]:
        """Return every laid piece by its id."""
        return {piece.id: piece for row in self.rows for piece in row.pieces}


def place(laid: LaidDeck, earlier: dict[str, Any], pack: Pack) -> HeldDeck:
    """Return where everything that is laid of a deck lies; raise ``Refused`` where it cannot."""
    near = earlier["laid_from"] == "near"
    courses = sorted({p["course"] for p in _named(laid, earlier)})
    missing = next((k for k, course in enumerate(courses) if course != k), None)
    if missing is not None:
        raise Refused(_course_missing(missing, courses[missing]))
    base, leads, offs = _leads(laid, earlier, len(courses), pack, near=near)
    rows = tuple(row for course in courses for row in _rows(course, laid, earlier, pack))
    return HeldDeck(near, base, leads, offs, rows, laid, earlier)


def _named(laid: LaidDeck, earlier: dict[str, Any]) -> list[dict[str, Any]]:
    names = {piece.id for piece in laid.pieces}
    return [piece for piece in earlier["pieces"] if piece["id"] in names]


def _course_missing(missing: int, laid: int) -> Reason:
    say = (
        f"Course {laid + 1} has pieces laid and course {missing + 1} has none. Boards between them"
        " could not be pushed home. Say what of it is laid, or take up what lies beyond."
    )
    return Reason("laid.course_missing", say)


def _leads(
    laid: LaidDeck, earlier: dict[str, Any], count: int, pack: Pack, *, near: bool
) -> tuple[float, tuple[float, ...], tuple[float, ...]]:
    """Return where the first course begins, the leading edges, and how far each lies off [mm]."""
    sign, width = (1 if near else -1), earlier["deck"]["board"]["width"]
    most, told = pack["laid.size"], dict(laid.edges)
    planned = _planned_leads(earlier, sign, width)[: max(count, 1)]
    base, ahead = planned[0] - sign * width, sign * (told.get(0, planned[0]) - planned[0])
    if ahead < -most:
        raise Refused(_too_near_wall(-ahead, pack))
    # The first course is one board wide: further from the wall, all of it stands off.
    if ahead > 0 and not earlier["deck"]["continues"]:
        base += sign * ahead
    offs = _offs({k: edge - planned[k] for k, edge in told.items()}, len(planned))
    leads = [lead + off for lead, off in zip(planned, offs, strict=True)]
    for k, (one, other) in enumerate(itertools.pairwise((base, *leads))):
        if abs(sign * (other - one) - width) > most:
            raise Refused(_open_seam(k, sign * (other - one) - width, pack))
    return base, tuple(leads), tuple(offs)


def _offs(told: dict[int, float], count: int) -> list[float]:
    """Return how far each course lies off [mm]: between what was told in even steps."""
    places = sorted(told)
    ends = [(-1, 0.0), *((k, told[k]) for k in places)]
    out = [
        a + (b - a) * (k - low) / (high - low)
        for (low, a), (high, b) in itertools.pairwise(ends)
        for k in range(low + 1, high + 1)
    ]
    return out + [ends[-1][1]] * (count - len(out))


def _planned_leads(earlier: dict[str, Any], sign: int, width: float) -> list[float]:
    """Return the leading edges as planned; the last course would have one were it not the last."""
    lead, start = ("y1", "y0") if sign > 0 else ("y0", "y1")
    courses = earlier["courses"]
    leads = [course[lead] for course in courses[:-1]]
    return [*leads, (leads[-1] if leads else courses[0][start]) + sign * width]


def _too_near_wall(by: float, pack: Pack) -> Reason:
    say = (
        f"Course 1 lies {by:.0f} nearer to the edge that it starts from than planned. Boards are at"
        f" most {pack['laid.size']:g} narrower than they should be, so the gap at the wall is too"
        " small. Draw the course off the wall, or take it up and rip it."
    )
    return Reason("laid.first_course", say)


def _open_seam(index: int, by: float, pack: Pack) -> Reason:
    what = "stands open" if by > 0 else "is narrower than its boards"
    say = (
        f"Course {index + 1} {what} by {abs(by):.0f}; boards differ by {pack['laid.size']:g} at"
        " most. Read its edge again. Drive an open seam home, or take the course up."
    )
    return Reason("laid.open_seam", say)


def _rows(course: int, laid: LaidDeck, earlier: dict[str, Any], pack: Pack) -> list[HeldRow]:
    """Return the rows laid in a course: one for each of its stretches of which pieces are laid."""
    out = []
    mine = [piece for piece in earlier["pieces"] if piece["course"] == course]
    for low, high in next(c["segments"] for c in earlier["courses"] if c["index"] == course):
        inside = [p for p in mine if low - 1 < sum(span(p)) / 2 < high + 1]
        inside.sort(key=span)
        row = _row(course, inside, laid, earlier, pack)
        out += [row] if row else []
    return out


def span(piece: dict[str, Any]) -> tuple[float, float]:
    """Return the xs between which a piece of a plan lies [mm]."""
    xs = [x for x, _ in piece["polygon"]]
    return min(xs), max(xs)


def _row(
    course: int,
    pieces: list[dict[str, Any]],
    laid: LaidDeck,
    earlier: dict[str, Any],
    pack: Pack,
) -> HeldRow | None:
    told = {piece.id: piece for piece in laid.pieces}
    at = [k for k, piece in enumerate(pieces) if piece["id"] in told]
    if not at:
        return None
    first, last = at[0], at[-1]
    between = [p["id"] for p in pieces[first:last] if p["id"] not in told]
    if between:
        raise Refused(_piece_missing(between[0]))
    run = pieces[first : last + 1]
    walls = first == 0, last == len(pieces) - 1
    marks = _marks(run, [told[p["id"]] for p in run], walls)
    board = earlier["deck"]["board"]["length"]
    held = tuple(
        _held(piece, a, b, board, pack, (k == 0 and walls[0], k == len(run) - 1 and walls[1]))
        for k, (piece, (a, b)) in enumerate(zip(run, itertools.pairwise(marks), strict=True))
    )
    ends = told[run[0]["id"]].left is not None, told[run[-1]["id"]].right is not None
    return HeldRow(course, held, walls, ends)


def _piece_missing(name: str) -> Reason:
    say = (
        f"Piece {name} is not laid, and pieces on both sides of it are. It could not be pushed"
        " home between them. Say that it is laid, or take up what lies on one side."
    )
    return Reason("laid.piece_missing", say)


def _marks(
    run: Sequence[dict[str, Any]], told: Sequence[LaidPiece], walls: tuple[bool, bool]
) -> list[float]:
    """Return the xs of the ends and joints of pieces laid end to end [mm]."""
    joints = [_joint(a, b) for a, b in itertools.pairwise(told)]
    ends = [told[0].left, *joints, told[-1].right]
    marks = [_start(run[0], ends, wall=walls[0])]
    for k, piece in enumerate(run):
        low, high = span(piece)
        after = ends[k + 1]
        if after is None:
            at_wall = k == len(run) - 1 and walls[1] and piece["right"] == "cut"
            after = high if at_wall else marks[k] + high - low
        marks.append(after)
    return marks


def _joint(left: LaidPiece, right: LaidPiece) -> float | None:
    """Return where two laid pieces meet, None where it was not told; raise where they do not."""
    if left.right is None or right.left is None:
        return right.left if left.right is None else left.right
    if abs(left.right - right.left) > _TOUCH:
        open_ = right.left - left.right
        what = f"stand {open_:.0f} apart" if open_ > 0 else "lie over each other"
        say = (
            f"Pieces {left.id} and {right.id} {what} by what was read. Knock the joint up and give"
            " it as one place, or take one of them up."
        )
        raise Refused(Reason("laid.open_joint", say))
    return left.right


def _start(piece: dict[str, Any], ends: Sequence[float | None], *, wall: bool) -> float:
    """Return where a row of laid pieces begins [mm]."""
    low, high = span(piece)
    if ends[0] is not None:
        return ends[0]
    if ends[1] is None or (wall and piece["left"] == "cut"):
        return low
    return ends[1] - (high - low)


def _held(
    piece: dict[str, Any],
    left: float,
    right: float,
    board: float,
    pack: Pack,
    walls: tuple[bool, bool],
) -> HeldPiece:
    """Return a piece as it lies; raise where it would be longer than its board, or stretched."""
    kind, off = kind_of(piece, board), pack["laid.size"]
    more = right - left - board
    if kind == WHOLE and more < -off and any(walls):
        # Sawn back at the wall where it lay: its board's other end is gone.
        kind = RIGHT if walls[0] else LEFT
    if (kind == WHOLE and abs(more) > off) or more > off:
        say = (
            f"Piece {piece['id']} would be {right - left:.0f} long, from a board of {board:g}."
            " Read where its ends are again. Knock up a joint that stands open, or take it up."
        )
        raise Refused(Reason("laid.stretched", say))
    return HeldPiece(piece["id"], piece["course"], left, right, kind, piece)


def kind_of(piece: dict[str, Any], board: float) -> str:
    """Return which ends of its board, ``board`` [mm] long, a piece of a plan has."""
    begins = piece["at"] < _TOUCH
    ends = piece["at"] + piece["length"] > board - _TOUCH
    if begins and ends:
        return WHOLE
    if begins and piece["left"] != "cut":
        return LEFT
    return RIGHT if ends and piece["right"] != "cut" else MIDDLE
