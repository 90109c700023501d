"""The deck drawn in to what is laid: where a board stands further off a wall, that stays open."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely import Polygon, box
from shapely.affinity import translate
from shapely.ops import unary_union

from baywalk.planning.laid.place import span
from baywalk.planning.refused import Reason, Refused
from baywalk.planning.shapes import plain

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from baywalk.planning.area import Area
    from baywalk.planning.laid.place import HeldDeck, HeldPiece, HeldRow
    from baywalk.rules import Pack

_WIDE = 1e6
_TOUCH = 0.05
"""Lengths within this of one another are one: a plan's coordinates are rounded [mm]."""
_UNTOLD = 0.5
"""An end that was not told lies at the deck's edge where it is no further from it [mm]."""
_HAIR = 0.01
"""An edge that is askew leaves hair lines of no more than this where it is moved [mm]."""
_CRUMB = 20.0
"""An area below this is rounding [mm²]."""


def draw_in(area: Area, held: HeldDeck, pack: Pack) -> None:
    """Take off the area what boards that landed further from its edge leave bare.

    Raises ``Refused`` where one lies beyond the edge, or no longer reaches to where it is now.
    """
    deck = area.polygon
    first = [row for row in held.rows if row.course == 0]
    if first:
        bare = [_behind(held), *(_behind_row(deck, row, held) for row in first)]
        there = unary_union(bare).intersection(deck)
        deck = _largest(deck.difference(unary_union(bare))) if there.area > _CRUMB else deck
    for row in held.rows:
        for side in (0, 1):
            if row.walls[side]:
                deck = _end(deck, row, side, held, pack)
    if deck is not area.polygon:
        area.polygon = plain(deck)


def band(held: HeldDeck, course: int) -> tuple[float, float]:
    """Return the near and the far edge of a course that is laid [mm]."""
    edges = (held.base, *held.leads)
    low, high = sorted(edges[course : course + 2])
    return low, high


def _behind(held: HeldDeck) -> Polygon:
    """Return everything behind the board edge that the first course starts from."""
    low, high = (-_WIDE, held.base) if held.near else (held.base, _WIDE)
    return box(-_WIDE, low, _WIDE, high)


def _behind_row(deck: Polygon, row: HeldRow, held: HeldDeck) -> BaseGeometry:
    """Return what ripped pieces of the first course leave bare at the edge that they start from."""
    left, right = row.pieces[0].left, row.pieces[-1].right
    low, high = band(held, 0)
    middle = (low + high) / 2
    half = (-_WIDE, middle) if held.near else (middle, _WIDE)
    half_box = box(left, half[0], right, half[1])
    was = unary_union([Polygon(piece.earlier["polygon"]) for piece in row.pieces])
    was = translate(was, 0, held.shift)
    # Where their ends landed further on, the rip goes on as it did.
    ends = [left - span(row.pieces[0].earlier)[0], right - span(row.pieces[-1].earlier)[1]]
    was = unary_union([was, *(translate(was, off, 0) for off in ends)])
    return _strip(deck.intersection(half_box), was).intersection(half_box)


def _strip(there: BaseGeometry, moved: BaseGeometry) -> BaseGeometry:
    """Return what lies bare where a board has moved away, up to the board and a hair beyond."""
    bare = there.difference(moved).buffer(-_HAIR, join_style="mitre")
    return bare.buffer(2 * _HAIR, join_style="mitre").difference(moved)


def _end(deck: Polygon, row: HeldRow, side: int, held: HeldDeck, pack: Pack) -> Polygon:
    """Return the deck drawn in to one end of a row that begins or ends at its edge."""
    piece = row.pieces[0 if side == 0 else -1]
    low, high = band(held, row.course)
    middle = (piece.left + piece.right) / 2
    strip = deck.intersection(box(-_WIDE, low, _WIDE, high))
    here = [p for p in _polygons(strip) if p.bounds[0] < middle < p.bounds[2]]
    if not here:
        raise Refused(off_deck(piece.id))
    edge = here[0].bounds[0 if side == 0 else 2]
    inward = piece.left - edge if side == 0 else edge - piece.right
    # A wall askew is elsewhere where the course is.
    moved = abs(held.offs[row.course]) > _TOUCH and not row.told[side]
    if abs(inward) <= (_UNTOLD if moved else _TOUCH):
        return deck
    if inward < 0:
        raise Refused(_too_near(piece, -inward, held))
    if inward > pack["deck.least.width"]:
        raise Refused(_falls_short(piece, inward))
    half = box(-_WIDE, low, middle, high) if side == 0 else box(middle, low, _WIDE, high)
    there = here[0].intersection(half)
    drawn = translate(there, inward if side == 0 else -inward, 0)
    # What lies beyond the middle belongs to no end, and what lies beyond the row to another.
    _, y0, _, y1 = deck.bounds
    low, high = (low if y0 < low - 1 else -_WIDE), (high if y1 > high + 1 else _WIDE)
    ends = box(-_WIDE, low, middle - 1, high) if side == 0 else box(middle + 1, low, _WIDE, high)
    return _largest(deck.difference(_strip(there, drawn).intersection(ends)))


def off_deck(name: str) -> Reason:
    """Return the reason against a laid piece that lies where the deck is not, or no longer."""
    say = (
        f"Piece {name} as laid does not fit what is to be boarded now: an opening, an obstacle or"
        " an edge lies elsewhere. Saw it to fit and set the rest out as a deck already laid, or"
        " take it up."
    )
    return Reason("laid.off_deck", say)


def _too_near(piece: HeldPiece, by: float, held: HeldDeck) -> Reason:
    say = (
        f"Piece {piece.id} reaches {by:.0f} beyond the deck's edge, into the gap of"
        f" {held.earlier['deck']['gap']:g} or over an opening. Saw its end back where it lies, or"
        " take it up."
    )
    return Reason("laid.too_near", say)


def _falls_short(piece: HeldPiece, by: float) -> Reason:
    say = (
        f"Piece {piece.id} now ends {by:.0f} short of the deck's edge, and its sawn end takes no"
        " other board. Take it up and lay a longer one."
    )
    return Reason("laid.falls_short", say)


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    return [p for part in getattr(shape, "geoms", ()) for p in _polygons(part)]


def _largest(shape: BaseGeometry) -> Polygon:
    """Return the deck that is left; raise where boards laid part it in two."""
    parts = sorted(_polygons(shape), key=lambda p: -p.area)
    if len(parts) != 1 and (not parts or parts[1].area > _CRUMB):
        say = "What is laid parts the deck in two. Read again where its pieces lie."
        raise Refused(Reason("laid.parted", say))
    return parts[0]
