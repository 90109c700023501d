"""Openings: which joists are cut, and the timbers that take over from them."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from shapely import Polygon, box

from baywalk.planning.choices import TIED, TRUSSED
from baywalk.planning.ground import Bay
from baywalk.planning.refused import Reason, Refused
from baywalk.planning.trimming import Opening, Trimmer, named

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.choices import Choices
    from baywalk.planning.ground import Ground, Member
    from baywalk.rules import Pack

_TOUCH = 1.0
"""A joist that an opening only grazes by this is not cut [mm]."""
_FAR = 1e6
"""Beyond any loft [mm]."""


def openings(
    run: dict[str, Any],
    ground: Ground,
    decks: Sequence[Polygon],
    choices: Choices,
    pack: Pack,
    added: Sequence[Member] = (),
) -> tuple[list[Opening], Ground]:
    """Return the openings of a run, and the ground with the joists beside them doubled.

    ``decks`` is what is to be boarded, ``added`` the joists that are to be added. Raises
    :class:`Refused` where a joist would be cut that must not be.
    """
    found: list[Opening] = []
    shapes = [
        Polygon(feature["polygon"])
        for feature in run["features"]
        if feature["feature"] == "opening" and feature.get("polygon")
    ]
    tags: Counter[str] = Counter()
    doubled = ground
    for feature in run["features"]:
        if feature["feature"] == "opening" and feature.get("polygon"):
            short = feature["id"][:4]
            tags[short] += 1
            # Two ids may begin alike; no two timbers may have one name.
            tag = short if tags[short] == 1 else f"{short}.{tags[short]}"
            opening = opened(feature, tag, run, ground, pack, shapes, added)
            if opening.cut:
                may_cut(run, opening, choices)
                _not_lapped(run, opening, ground)
            if opening.framed:
                _deep(run, opening)
            if opening.cut:
                _carried_at_wall(run, opening, decks, pack)
            if opening.framed:
                doubled = _with_doubling(doubled, opening)
            found.append(opening)
    for opening in found:
        _carried_by_whole(run, opening, found)
    for opening in found:
        if opening.framed:
            _room_for_doubling(run, opening, shapes)
    return found, doubled


def may_cut(run: dict[str, Any], opening: Opening, choices: Choices) -> None:
    """Raise :class:`Refused` where the roof forbids cutting: nobody with a phone decides that."""
    name, cut = run["title"] or run["id"], named(opening.cut)
    if choices.roof == TRUSSED:
        say = (
            f"{name}: the opening would cut {cut}, and the roof is trussed. Cutting any part of a"
            " truss weakens all of it. Only the truss designer can say whether and how."
        )
        raise Refused(Reason("opening.trussed", say))
    if choices.roof == TIED:
        say = (
            f"{name}: the opening would cut {cut}, and the joists tie the rafters. They need a"
            " designed replacement first. A structural engineer and building control decide."
        )
        raise Refused(Reason("opening.tied", say))


def _not_lapped(run: dict[str, Any], opening: Opening, ground: Ground) -> None:
    """Stop where the joists lap: no timber of one length doubles those beside the opening."""
    if ground.laps:
        name = run["title"] or run["id"]
        say = (
            f"{name}: the opening would cut {named(opening.cut)}, and the joists lap. What doubles"
            " the joists beside it would have to lap as well, and to bear on what they lap over. A"
            " structural engineer must design it. Move the opening between two joists, or strike it"
            " out."
        )
        raise Refused(Reason("opening.lapped", say))


def _deep(run: dict[str, Any], opening: Opening) -> None:
    """Stop where nothing says how deep a joist is that has to be doubled."""
    unknown = [m.name for m in opening.sides if not m.wall and m.depth <= 0]
    if unknown or any(trimmer.depth <= 0 for trimmer in opening.trimmers):
        name = run["title"] or run["id"]
        whose = " and ".join(unknown) or opening.over
        say = (
            f"{name}: the opening cuts {opening.over}, and nothing says the depth of {whose},"
            " which the timbers round the opening must have as well. Read it."
        )
        raise Refused(Reason("joist.no_depth", say))


def _room_for_doubling(run: dict[str, Any], opening: Opening, shapes: Sequence[Polygon]) -> None:
    """Stop where a joist beside an opening can be doubled on neither side."""
    for member, hand in zip(opening.sides, opening.hands, strict=True):
        if not member.wall and _stands(member, hand, opening.doubling, shapes):
            say = (
                f"{run['title'] or run['id']}: the opening over {opening.over} would hang on"
                f" {member.name}, and a timber that doubles it would stand in an opening on either"
                " side. Read again where the openings lie, or have a structural engineer design"
                " what carries them."
            )
            raise Refused(Reason("opening.no_room", say))


def _stands(member: Member, hand: str, wide: float, shapes: Sequence[Polygon]) -> bool:
    """Say whether a timber ``wide`` [mm] at a member's side would stand in an opening."""
    out = -1 if hand == "left" else 1
    for shape in shapes:
        _, y0, _, y1 = shape.bounds
        ys = [y0, *(y for _, y in member.points if y0 < y < y1), y1]
        inner = [(member.centre(y) + out * member.breadth / 2, y) for y in ys]
        outer = [(x + out * wide, y) for x, y in reversed(inner)]
        over = Polygon([*inner, *outer]).intersection(shape)
        if not over.buffer(-_TOUCH / 2, join_style="mitre").is_empty:
            return True
    return False


def _carried_at_wall(
    run: dict[str, Any], opening: Opening, decks: Sequence[Polygon], pack: Pack
) -> None:
    """Stop where the deck would lie beside a wall on a joist that is gone there."""
    for member, side in zip(opening.sides, ("start", "end"), strict=True):
        wide = _strip(opening, member, decks) if member.wall else 0.0
        if wide > pack["deck.least.width"]:
            name = run["title"] or run["id"]
            cut = min(opening.cut) if side == "start" else max(opening.cut)
            say = (
                f"{name}: the opening would cut J{cut}, the last joist before the {side} wall. The"
                f" {wide:.0f} mm of deck between the opening and that wall would hang on nothing."
                " Move the opening so that a joist stays between it and the wall, or take it up to"
                " the wall."
            )
            raise Refused(Reason("opening.at_wall", say))


def _carried_by_whole(run: dict[str, Any], opening: Opening, others: Sequence[Opening]) -> None:
    """Stop where a joist that would carry one opening's trimmers is cut for another."""
    name = run["title"] or run["id"]
    for member in opening.sides if opening.framed else ():
        if any(member.index in other.cut for other in others) and not member.wall:
            say = (
                f"{name}: the opening over {opening.over} would hang on {member.name}, and"
                " another opening cuts that joist. Move one of them until a whole joist stands"
                " between them, or have a structural engineer design both as one."
            )
            raise Refused(Reason("opening.trimming_cut", say))


def _strip(opening: Opening, wall: Member, decks: Sequence[Polygon]) -> float:
    """Return how wide the deck is between an opening and a wall [mm]; 0 where there is none."""
    _, y0, _, y1 = opening.polygon.bounds
    middle = opening.polygon.centroid.x
    outwards = -_FAR if wall.centre((y0 + y1) / 2) < middle else _FAR
    beside = box(min(middle, middle + outwards), y0, max(middle, middle + outwards), y1)
    found = [deck.intersection(beside) for deck in decks]
    parts = [part.bounds for shape in found for part in getattr(shape, "geoms", [shape])]
    return max((b[2] - b[0] for b in parts if b and b[3] - b[1] > _TOUCH), default=0.0)


def opened(
    feature: dict[str, Any],
    tag: str,
    run: dict[str, Any],
    ground: Ground,
    pack: Pack,
    shapes: Sequence[Polygon] = (),
    added: Sequence[Member] = (),
) -> Opening:
    """Return one opening: which joists stand in it, and the timbers that take over from them.

    ``tag`` tells its timbers from those of others, ``shapes`` are all openings of the run,
    ``added`` the joists that are to be added; places and sizes are in mm.
    """
    shape = Polygon(feature["polygon"])
    _, y0, _, y1 = shape.bounds
    cut = [m for m in ground.joists if not m.added and _stands_in(m, shape)]
    left, right = _beside(ground, shape, cut)
    breadth = float(pack["noggin.breadth"])
    bare = Opening(
        feature["id"],
        shape,
        tuple(m.index for m in cut),
        (left, right),
        breadth,
        (),
        stopped=tuple(m for m in added if _stands_in(m, shape)),
    )
    if not bare.framed:
        return bare
    sides = zip((left, right), bare.hands, strict=True)
    a, b = (not m.wall and _stands(m, hand, breadth, shapes or [shape]) for m, hand in sides)
    crossed = tuple(m for m in added if left.index <= m.index < right.index)
    bare = replace(bare, away=(a, b), breadths=tuple(m.breadth for m in cut), crossed=crossed)
    _, low, _, high = Polygon(run["outline"]).bounds
    plies = int(pack["opening.trim"]["plies"])
    places = [
        (y0 - plies * breadth / 2, y0 > low + _TOUCH),
        (y1 + plies * breadth / 2, y1 < high - _TOUCH),
    ]
    trimmers = [
        _trimmer(f"{tag}-{k}", y, bare, plies, ground, pack)
        for k, (y, there) in enumerate(places, start=1)
        if there
    ]
    return replace(bare, trimmers=tuple(trimmers))


def _stands_in(member: Member, shape: Polygon) -> bool:
    x0, y0, x1, y1 = shape.bounds
    reach = member.reach(y0, y1)
    if reach.most < x0 or reach.least > x1:
        return False
    ys = [y0, *(y for _, y in member.points if y0 < y < y1), y1]
    half = member.breadth / 2
    left = [(member.centre(y) - half, y) for y in ys]
    right = [(member.centre(y) + half, y) for y in reversed(ys)]
    inside = Polygon([*left, *right]).intersection(shape)
    return not inside.buffer(-_TOUCH / 2, join_style="mitre").is_empty


def _beside(ground: Ground, shape: Polygon, cut: Sequence[Member]) -> tuple[Member, Member]:
    """Return the members on both sides of an opening, the ones that stay."""
    plain = [m for m in ground.members if not m.added]
    if cut:
        places = [plain.index(m) for m in cut]
        return plain[min(places) - 1], plain[max(places) + 1]
    x, y = shape.centroid.coords[0]
    right = next((k for k, m in enumerate(plain) if m.centre(y) > x), len(plain) - 1)
    return plain[max(right - 1, 0)], plain[right]


def _trimmer(
    name: str, y: float, opening: Opening, plies: int, ground: Ground, pack: Pack
) -> Trimmer:
    left, right = opening.sides
    half = opening.doubling * plies / 2
    bay = Bay(left.index, left, right)
    towards = zip(opening.sides, opening.away, strict=True)
    inner = opening.doubling * sum(not m.wall and not off for m, off in towards)
    clear = min(bay.gap(y - half), bay.gap(y + half)) - inner
    depth = max(ground.members[n].depth for n in range(len(ground.members)))
    sds = [ground.sd(k, y) for k in range(left.index, right.index)]
    return Trimmer(
        id=f"O{name}",
        y=y,
        length=float(math.floor(clear - pack["noggin.fit"] + 1e-6)),
        sd=math.sqrt(sum(sd * sd for sd in sds)),
        plies=plies,
        breadth=opening.doubling,
        depth=float(round(depth)),
        x0=left.right(y),
        x1=right.left(y),
    )


def _with_doubling(ground: Ground, opening: Opening) -> Ground:
    """Return the ground whose joists beside an opening are broader on its side."""
    hands = {
        m.index: hand for m, hand in zip(opening.sides, opening.hands, strict=True) if not m.wall
    }

    def padded(member: Member) -> Member:
        low, high = member.pad
        if member.added or member.wall or member.timber or member.index not in hands:
            return member
        pad = (opening.doubling, high) if hands[member.index] == "left" else (low, opening.doubling)
        return replace(member, pad=pad)

    return replace(ground, members=tuple(padded(m) for m in ground.members))
