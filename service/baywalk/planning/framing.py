"""Openings and the joists to be added, each set out with regard to the other."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from shapely import LineString, Polygon

from baywalk.planning.added import member_ends, obstacles
from baywalk.planning.board import choose
from baywalk.planning.choices import TRUSSED
from baywalk.planning.openings import openings
from baywalk.planning.refused import Reason, Refused
from baywalk.planning.tails import unborne

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry.base import BaseGeometry

    from baywalk.planning.area import Area
    from baywalk.planning.board import Choice
    from baywalk.planning.choices import Choices
    from baywalk.planning.ground import Ground, Member
    from baywalk.planning.trimming import Opening
    from baywalk.rules import Pack

_ROUNDS = 4
"""How often joists are set out anew round what the openings made of them before."""
_THIN = 1.0
"""What of a trimmer stands no further out of the loft than this is rounding [mm]."""
_OVER = 1.0
"""What two timbers share in the plane that is no more than this is rounding [mm²]."""


def framed(
    run: dict[str, Any], there: Ground, parts: list[Area], choices: Choices, pack: Pack
) -> tuple[list[Opening], Choice]:
    """Return the openings of a run and the board of its decks, with the joists it needs added.

    A joist to be added that meets an opening is cut there and hangs from its trimmers. Raises
    :class:`Refused` where that cannot be, and whatever :func:`openings` and :func:`choose` raise.
    """
    decks = [part.polygon for part in parts]
    standing = obstacles(run)
    added: tuple[Member, ...] = ()
    for _ in range(_ROUNDS):
        holes, doubled = openings(run, there, decks, choices, pack, added)
        for hole in holes:
            if hole.stopped and not hole.cut:
                _may_be_framed(run, hole, holes, there, choices)
        choice = choose(parts, doubled, choices, pack, [hole.polygon for hole in holes], standing)
        # What doubles a joist for one that is to be added may leave that one less room.
        if choice.chosen.added == added:
            break
        added = choice.chosen.added
    else:
        stuck = choice.chosen.stuck or choice.chosen.added[0]
        raise Refused(_cannot(stuck, "what doubles the joists beside it leaves it no room"))
    for part in parts:
        own = [hole for hole in holes if home(hole, parts) is part]
        for member in added:
            low, high = member_ends(member, [part])
            if low < high and unborne(member, (low, high), own, pack):
                raise Refused(_cannot(member, "nothing bears what is left of it there"))
    for hole in holes:
        _reached(hole, parts, choice, pack)
    return holes, choice


def _reached(hole: Opening, parts: list[Area], choice: Choice, pack: Pack) -> None:
    """Stop where boards beside an opening reach too far without the added joist cut away there."""
    board = choice.chosen.board
    most = max(limit for limit, least in pack["deck.thickness"] if least <= board.thickness)
    _, low, _, high = hole.polygon.bounds
    whole = [m for m in choice.ground.joists if not hole.gone(m, low, high)]
    bends = {y for m in whole for _, y in m.points if low < y < high}
    for member in hole.stopped:
        # A line along the opening's own edge would not be cut by it.
        for y in sorted({low + _THIN, high - _THIN, *bends}):
            before = [m.centre(y) for m in whole if m.centre(y) < member.centre(y)]
            after = [m.centre(y) for m in whole if m.centre(y) > member.centre(y)]
            if not before or not after:
                continue
            over = LineString([(max(before), y), (min(after), y)])
            decks = [part.polygon.intersection(over) for part in parts]
            if max(_longest(deck) for deck in decks) > most + _THIN / 2:
                raise Refused(_cannot(member, "boards beside the opening would reach too far"))


def _longest(cut: BaseGeometry) -> float:
    """Return the length of the longest part of what a line across cuts out of a deck [mm]."""
    return max((part.length for part in getattr(cut, "geoms", [cut])), default=0.0)


def home(opening: Opening, parts: list[Area]) -> Area:
    """Return the deck that an opening belongs to: the one that it lies nearest."""
    return min(parts, key=lambda part: part.polygon.distance(opening.polygon))


def _may_be_framed(
    run: dict[str, Any], hole: Opening, holes: Sequence[Opening], there: Ground, choices: Choices
) -> None:
    """Stop where an opening that cuts no joist cannot have trimmers for one that is added."""
    member = hole.stopped[0]
    if choices.roof == TRUSSED:
        why = (
            "the roof is trussed, and what hangs on a truss is for the truss designer alone to say"
        )
        raise Refused(_cannot(member, why))
    if there.laps:
        raise Refused(_cannot(member, "the joists lap, and what carries it would have to as well"))
    if any(m.index != hole.sides[0].index for m in hole.stopped):
        raise Refused(_cannot(member, "the opening reaches over more than one bay"))
    if _in_the_way(run, hole, holes):
        raise Refused(_cannot(member, "there is no room for trimmers"))


def _in_the_way(run: dict[str, Any], hole: Opening, holes: Sequence[Opening]) -> bool:
    """Say whether something stands where an opening's trimmers would, or the loft ends there."""
    taken = [
        Polygon(feature["polygon"])
        for feature in run["features"]
        if feature["feature"] in ("opening", "obstacle") and feature.get("polygon")
    ]
    others = [other for other in holes if other is not hole]
    taken += [trimmer.polygon() for other in others for trimmer in other.trimmers]
    mine, outline = [trimmer.polygon() for trimmer in hole.trimmers], Polygon(run["outline"])
    if any(not a.difference(outline).buffer(-_THIN / 2).is_empty for a in mine):
        return True
    return any(a.intersection(b).area > _OVER for a in mine for b in taken)


def _cannot(member: Member, why: str) -> Reason:
    """Return why there is no plan where a joist to be added cannot be trimmed at an opening."""
    bay = f"J{member.index}–J{member.index + 1}"
    say = (
        f"{bay}: the joists stand so far apart that boards need {member.name} added between them,"
        f" and it would stand in an opening, where it cannot be trimmed: {why}. Where nothing"
        " thicker is to be had, have a structural engineer say what carries the deck beside that"
        " opening."
    )
    return Reason("joist.in_opening", say)
