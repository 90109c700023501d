"""Cutting diagrams: every board as it lies on the trestles, face up, with its saw marks.

The board is drawn as it will lie in the deck: its left-hand end is the one towards the start wall.
A piece is measured from the end that it keeps, for a board may be some millimetres longer or
shorter than its name. A mark is where the piece ends; the saw goes on the waste side of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from shapely import Polygon
from shapely import box as rectangle

from baywalk.sheets import corners, dims, lengths, letters
from baywalk.sheets.dims import Mark
from baywalk.sheets.ink import BROKEN, MEDIUM, SMALL, Box, Page, Point, Words, leading
from baywalk.sheets.view import fitting, hatched, scale_bar

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.sheets.paper import Book
    from baywalk.sheets.plan_parts import Deck

_HOW = (
    "Lay the board face up, its left-hand end towards the start wall; the lower edge lies towards "
    "the near edge of the deck. Figures run from the left-hand end; bold ones with an R from the "
    "right-hand end, from the board's own edge, not from the tongue: a hook does not hold there, "
    "so lay a whole mark of the tape on that edge and read as much more. Saw on the waste side of "
    "the mark, in the order under the board. Write the number on each piece."
)
_ACROSS = 2
_LEAD = 5.5
"""From a board's edge past the line that leads to a figure, and clear of the figure [mm]."""
_SLIM = 30.0
"""A piece shorter than this on paper has no room for both its number and its widths [mm]."""
_WORDS = 3
"""Lines of words that a board is given room for [-]."""


class Placed(NamedTuple):
    """A piece in its board: corners from the board's left-hand near corner [mm]."""

    piece: Mapping[str, Any]
    corners: list[Point]


def placed(deck: Deck, board: Mapping[str, Any]) -> list[Placed]:
    """Return the pieces of a board where they are cut from it."""
    strips = board.get("strips") or [board.get("cuts") or []]
    out: list[Placed] = []
    foot = 0.0
    for number, strip in enumerate(strips):
        pieces = [deck.pieces[name] for name in strip if name in deck.pieces]
        deep = max((p["width"] for p in pieces), default=0.0)
        at = 0.0
        for piece in pieces:
            at = float(piece.get("at", at))
            low = _low(deck, piece, foot, last=number == len(strips) - 1)
            out.append(Placed(piece, _moved(piece, at, low)))
            at += piece["length"]
        foot += deep
    return out


def _low(deck: Deck, piece: Mapping[str, Any], foot: float, *, last: bool) -> float:
    """Return how far above the board's near edge a piece's near limit lies [mm].

    A piece keeps the edge that it was not sawn along: the far one, where only the near one is cut.
    """
    wide, own = float(deck.board["width"]), float(piece["width"])
    if piece.get("near") == "cut" and piece.get("far") != "cut":
        return wide - own
    if last and foot > 0:
        return wide - own
    return foot


def _moved(piece: Mapping[str, Any], at: float, low: float) -> list[Point]:
    xs, ys = zip(*piece["polygon"], strict=True)
    return [(x - min(xs) + at, y - min(ys) + low) for x, y in piece["polygon"]]


def boards(book: Book, deck: Deck) -> None:
    """Draw the boards, two beside each other, as many rows a page as there is room for."""
    wide, deep = (float(deck.board[k]) for k in ("length", "width"))
    boards = list(deck.data["boards"])
    title = f"{deck.title}: cutting the boards"
    reach = _reach(deck, book.units)
    while boards:
        page = book.page(title, notes=[" ".join([_HOW, *_kerf(deck, book.units)])])
        title = f"{deck.title}: cutting the boards, continued"
        share = page.area.width / _ACROSS
        scale = fitting(wide, share - 22)
        high = deep / scale + 2 * reach + _WORDS * leading(SMALL) + 1
        rows = max(1, int((page.area.height - 7) // high))
        for k, board in enumerate(boards[: rows * _ACROSS]):
            left = page.area.left + (k % _ACROSS) * share + 12
            top = page.area.top + (k // _ACROSS) * high + reach
            box = Box(left, top, left + wide / scale, top + deep / scale)
            _board(page, book, deck, board, box, scale)
            _told(page, book, deck, board, (left - 12, box.bottom + reach), share - 4)
        boards = boards[rows * _ACROSS :]
        scale_bar(page, (page.area.left, page.area.bottom - 5), scale, book.units)
        _key(page, (page.area.left + 72, page.area.bottom - 3))


def _kerf(deck: Deck, units: str) -> list[str]:
    """Say what a saw cut takes, where the plan says it."""
    if deck.kerf is None:
        return []
    unit = " mm" if units == "mm" else ""
    return [f"A saw cut takes {lengths.say(deck.kerf, units)}{unit}."]


def _key(page: Page, at: Point) -> None:
    """Draw what a groove, a tongue and waste look like, each with its word."""
    x, y = at
    page.line((x, y), (x + 8, y), dash=BROKEN)
    page.words((x + 9.5, y + SMALL / 2), "groove", SMALL)
    page.shape(Box(x + 24, y - 0.35, x + 32, y + 0.35).corners())
    page.words((x + 33.5, y + SMALL / 2), "tongue", SMALL)
    hatched(page, Box(x + 50, y - 1.5, x + 58, y + 1.5))
    page.words((x + 59.5, y + SMALL / 2), "left over: no piece of this plan is cut from it", SMALL)


def _reach(deck: Deck, units: str) -> float:
    """Return how far the figures of the boards stand out over and under them at most [mm]."""
    texts = [
        said(mark, units)
        for board in deck.data["boards"]
        for one in placed(deck, board)
        for far in (False, True)
        for mark in sawn(one, float(deck.board["length"]), far=far)
    ]
    return _LEAD + max((letters.width(t, SMALL, bold=True) for t in texts), default=0.0)


def _told(
    page: Page, book: Book, deck: Deck, board: Mapping[str, Any], at: Point, room: float
) -> None:
    """Write under a board its cuts in order, what is kept for a later course, and what is over."""
    text = " ".join([*orders(deck, board, book.units), *_later(deck, board)])
    if text:
        page.paragraph(at, text, room)


def orders(deck: Deck, board: Mapping[str, Any], units: str) -> list[str]:
    """Return a board's cuts in order, numbered, as one sentence; none for a whole board.

    Cuts across come first; where more than one strip is cut from a board, those along do. What is
    cut out of a piece comes last.
    """
    length = float(deck.board["length"])
    pieces = placed(deck, board)
    across: list[str] = []
    for one in pieces:
        near, far = (sawn(one, length, far=far) for far in (False, True))
        for a, b in zip(near, far, strict=True):
            ends = dict.fromkeys(said(m, units) for m in (a, b))
            across.append(f"across for {one.piece['id']} at {' (near), '.join(ends)}")
            if len(ends) > 1:
                across[-1] += " (far)"
    along = [text for one in pieces for text in _rip(deck, one, units)]
    out = [
        f"out of {one.piece['id']} by its lettered corners, which stand in a list of their own"
        for one in pieces
        if corners.corners(one.piece, one.corners)
    ]
    several = len(board.get("strips") or []) > 1
    cuts = [*along, *across, *out] if several else [*across, *along, *out]
    numbered = "; ".join(f"{k}: {cut}" for k, cut in enumerate(cuts, start=1))
    return [f"Cuts: {numbered}."] if cuts else []


def _rip(deck: Deck, one: Placed, units: str) -> list[str]:
    """Return the cut along a piece: how wide it is left, from which edge, and what comes off."""
    board, sides = float(deck.board["width"]), ripped(one)
    if min(sides) >= board - 0.5:
        return []
    left, right = (lengths.say(v, units) for v in sides)
    wide = (
        f"{left} wide" if left == right else f"{left} wide at its left end and {right} at its right"
    )
    cut = [side for side in ("near", "far") if one.piece.get(side) == "cut"]
    text = f"along {one.piece['id']}, {wide}"
    if len(cut) == 1:
        kept_edge = "far" if cut[0] == "near" else "near"
        text += f" from the board's {kept_edge} edge"
        off = board - max(sides) - (deck.kerf or 0.0)
        if off > 0.5 and left == right:
            size = " × ".join(lengths.say(v, units) for v in (off, one.piece["length"]))
            text += f" (a strip {size} is over)"
    return [text]


def _later(deck: Deck, board: Mapping[str, Any]) -> list[str]:
    """Say which pieces of a board wait for a later course than the one it is opened for."""
    pieces = [one.piece for one in placed(deck, board)]
    # Courses are numbered as they are laid, from whichever edge.
    first = min((p["course"] for p in pieces), default=0)
    return [
        f"Keep {p['id']} for course {p['course'] + 1}."
        for p in sorted(pieces, key=lambda p: int(p["course"]))
        if p["course"] > first
    ]


def _board(
    page: Page, book: Book, deck: Deck, board: Mapping[str, Any], box: Box, scale: int
) -> None:
    """Draw one board: waste hatched, pieces on it, marks along both edges."""
    title = f"{board['id']}" + ("  (there already)" if board.get("had") else "")
    page.words((box.left - 12, box.top + SMALL), title, SMALL, bold=True)
    hatched(page, box)
    pieces = placed(deck, board)
    for one in pieces:
        ring = tuple((box.left + u / scale, box.bottom - v / scale) for u, v in one.corners)
        page.shape(ring, pen=MEDIUM, fill=1.0)
    _tongue_and_groove(page, box, pieces)
    _marks(page, book, pieces, box, scale)
    # What is set out comes first; numbers go where nothing else is written.
    for one in pieces:
        corners.draw(page, corners.corners(one.piece, one.corners), box, scale)
    rings = [
        tuple((box.left + u / scale, box.bottom - v / scale) for u, v in one.corners)
        for one in pieces
    ]
    # Of a short piece the number matters more than its widths, which stand under the board too.
    slim = [max(x for x, _ in r) - min(x for x, _ in r) < _SLIM for r in rings]
    for short in (True, False):
        for one, ring, is_slim in zip(pieces, rings, slim, strict=True):
            if is_slim == short:
                _named(page, book, one, ring)
        if short:
            _widths(page, book, pieces, box, scale)


def _named(page: Page, book: Book, one: Placed, ring: tuple[Point, ...]) -> None:
    """Write a piece's number and size upon it, beside what is cut out of it or written there."""
    area = Polygon(ring)
    inside = area.buffer(-0.5)
    spot = area.centroid if area.contains(area.centroid) else area.representative_point()
    left, top, right, bottom = area.bounds
    shares = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.15, 0.85)
    spots = [(spot.x, spot.y)]
    spots += [
        (left + s * (right - left), top + t * (bottom - top)) for t in shares[:5] for s in shares
    ]
    size = " × ".join(lengths.say(one.piece[k], book.units) for k in ("length", "width"))
    name = str(one.piece["id"])
    tries = [
        [
            Words((x, y - 0.4), name, SMALL, "middle", bold=True),
            Words((x, y + 2.6), size, SMALL, "middle"),
        ]
        for x, y in spots
    ]
    tries += [[Words((x, y + SMALL / 2), name, SMALL, "middle", bold=True)] for x, y in spots]
    upright = [
        [Words((x + SMALL / 2, y), name, SMALL, "middle", bold=True, up=True)] for x, y in spots
    ]
    tries += upright
    free = (
        words
        for words in tries
        if all(inside.contains(rectangle(*w.box)) and page.free(w.box) for w in words)
    )
    page.items += next(free, upright[0])


def _tongue_and_groove(page: Page, box: Box, pieces: Sequence[Placed]) -> None:
    """Draw the tongues of a board outside its edges, its grooves as broken lines within."""
    edges = {
        (side, one.piece.get(side)) for one in pieces for side in ("left", "right", "near", "far")
    }
    turned = bool(
        edges & {("near", "tongue"), ("far", "groove"), ("left", "tongue"), ("right", "groove")}
    )
    left, top, right, bottom = box
    sides = {
        (False, True): (Box(left, top - 0.7, right, top), Box(right, top, right + 0.7, bottom)),
        (True, False): (Box(left, bottom, right, bottom + 0.7), Box(left - 0.7, top, left, bottom)),
    }[turned, not turned]
    for tongue in sides:
        page.shape(tongue.corners())
    x, y = (right - 0.8, top + 0.8) if turned else (left + 0.8, bottom - 0.8)
    page.line((left, y), (right, y), pen=0.1, dash=BROKEN)
    page.line((x, top), (x, bottom), pen=0.1, dash=BROKEN)


def _marks(page: Page, book: Book, pieces: Sequence[Placed], box: Box, scale: int) -> None:
    """Write the saw marks along the board's far and near edge."""
    length = box.width * scale
    span = (box.left - 2, box.right + 6)
    for far in (True, False):
        found = {m.u: m for one in pieces for m in sawn(one, length, far=far)}
        marks = [
            Mark(box.left + m.u / scale, said(m, book.units), bold=m.end == "right")
            for m in found.values()
        ]
        edge = box.top - 0.7 if far else box.bottom + 0.7
        # Figures from opposite ends of the board are kept well apart.
        both = len({m.end for m in found.values()}) > 1
        dims.beside(page, edge, marks, span, above=far, apart=2.2 if both else 1.0)


class Saw(NamedTuple):
    """A saw mark: ``u`` from the left-hand end, ``value`` from the ``end`` hooked on [mm]."""

    u: float
    value: float
    end: str


def said(mark: Saw, units: str) -> str:
    """Return a saw mark as it is written: an R stands for the right-hand end."""
    return lengths.say(mark.value, units) + (" R" if mark.end == "right" else "")


def kept(piece: Mapping[str, Any]) -> str:
    """Return the end of the board that a piece keeps, and is measured from."""
    return "right" if piece.get("left") == "cut" and piece.get("right") != "cut" else "left"


def sawn(one: Placed, length: float, *, far: bool) -> list[Saw]:
    """Return a piece's saw marks along its far or near edge; ``length`` is the board's [mm]."""
    end = kept(one.piece)
    # An end that is sawn askew may begin at the board's own corner: it is marked there as well.
    cut = [any(0.5 < u < length - 0.5 for u in pair) for pair in _pairs(one)]
    us = [u for u, sawn_ in zip(ends(one, far=far), cut, strict=True) if sawn_]
    return [Saw(u, length - u if end == "right" else u, end) for u in us]


def _pairs(one: Placed) -> list[tuple[float, float]]:
    """Return where a piece begins, and where it ends, at its near and its far edge [mm]."""
    return list(zip(ends(one, far=False), ends(one, far=True), strict=True))


def outer(points: Sequence[Point]) -> tuple[Point, Point, Point, Point]:
    """Return the outer corners of a shape: near left, near right, far right, far left [mm]."""
    return (
        min(points, key=lambda p: p[0] + p[1]),
        max(points, key=lambda p: p[0] - p[1]),
        max(points, key=lambda p: p[0] + p[1]),
        min(points, key=lambda p: p[0] - p[1]),
    )


def ends(one: Placed, *, far: bool) -> list[float]:
    """Return where a piece begins and ends along its far or near edge, from the left [mm]."""
    near_left, near_right, far_right, far_left = outer(one.corners)
    return [far_left[0], far_right[0]] if far else [near_left[0], near_right[0]]


def ripped(one: Placed) -> tuple[float, float]:
    """Return how wide a piece is at its left and at its right end [mm]."""
    near_left, near_right, far_right, far_left = outer(one.corners)
    return far_left[1] - near_left[1], far_right[1] - near_right[1]


def _widths(page: Page, book: Book, pieces: Sequence[Placed], box: Box, scale: int) -> None:
    """Draw how wide a ripped piece is: at both its ends, or once where it is as wide all along."""
    board = box.height * scale
    for one in pieces:
        sides = ripped(one)
        if min(sides) >= board - 0.5:
            continue
        near_left, near_right, far_right, far_left = outer(one.corners)
        if (max(near_right[0], far_right[0]) - near_left[0]) / scale < 3 * dims.pitch() + 8:
            continue
        ends = [(near_left, far_left, 4.4), (near_right, far_right, -1.6)]
        texts = [lengths.say(v, book.units) for v in sides]
        for text, (near, far, shift) in list(zip(texts, ends, strict=True))[: len(set(texts))]:
            x = box.left + max(near[0], far[0]) / scale + shift
            if shift < 0:
                x = box.left + min(near[0], far[0]) / scale + shift
            low, high = (box.bottom - p[1] / scale for p in (near, far))
            # Where something else stands, the cuts under the board tell its width.
            if page.free(dims.read_up((x, low), (x, high), text).box):
                dims.upright(page, (x, low), (x, high), text)
