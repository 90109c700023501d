"""All timber below one deck, set out in order and numbered."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from shapely import Polygon, box, make_valid

from baywalk.planning.raised import rise
from baywalk.planning.support.builder import Builder
from baywalk.planning.support.cut_away import clear_of_openings
from baywalk.planning.support.frames import Cleat, Frame, Joint, cleats, frames, middles
from baywalk.planning.support.laps import clear_of_laps
from baywalk.planning.support.noggins import (
    Noggin,
    Section,
    across,
    along,
    section,
    strutting_section,
)
from baywalk.planning.support.perimeter import between, keep_between, perimeter
from baywalk.planning.support.short import support_short
from baywalk.planning.support.strutting import spans, strutting

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.courses import Course
    from baywalk.planning.ground import Ground
    from baywalk.planning.pieces import Piece
    from baywalk.planning.trimming import Opening
    from baywalk.rules import Pack

_MEETS = 75.0
"""A timber that ends within this of another's middle stands against it [mm]."""


@dataclass
class Support:
    """What a deck rests on; ``size`` is the section of noggins and cleats [mm].

    ``middles`` gives the places among the noggins of the pieces along under a frame's joint;
    ``span_read`` says whether the strutting follows a span that was read.
    """

    noggins: list[Noggin]
    frames: list[Frame]
    middles: dict[str, list[int]]
    cleats: list[Cleat]
    size: Section
    span_read: bool


def set_out(
    run: dict[str, Any],
    polygon: Polygon,
    ground: Ground,
    pack: Pack,
    courses: Sequence[Course],
    pieces: Sequence[Piece],
    joints: Sequence[Joint],
    openings: Sequence[Opening],
    fixed: Sequence[Noggin] = (),
) -> Support:
    """Set out everything of timber below a deck, and number it.

    Noggins that are ``fixed`` already stay where they are; those that serve nothing any more are
    left out.
    """
    while True:
        builder = Builder(ground, pack, section(ground, pack), openings, fixed)
        under = _set_out(builder, run, polygon, courses, pieces, joints)
        useful = [n for n, now in zip(fixed, builder.noggins, strict=False) if now.serves]
        if len(useful) == len(fixed):
            return under
        fixed = useful


def _set_out(
    builder: Builder,
    run: dict[str, Any],
    polygon: Polygon,
    courses: Sequence[Course],
    pieces: Sequence[Piece],
    joints: Sequence[Joint],
) -> Support:
    ground, pack, openings = builder.ground, builder.pack, builder.openings
    _edges(builder, polygon, openings)
    support_short(pieces, courses, builder, polygon)
    framed = frames(joints, builder)
    keep_between(polygon, builder)
    for noggin in between(polygon, builder):
        builder.add(noggin)
    low, high, read = spans(run, polygon)
    deep = strutting_section(ground, pack)
    level = rise(run, ground, pack) <= 0
    rows = strutting(polygon, ground, (low, high), deep, pack, builder.noggins, level=level)
    for noggin in rows:
        held = not _in_room(noggin, openings) and not builder.hangs(noggin)
        if held and not _in_the_way(noggin, run, builder):
            builder.add(noggin)
    along_joints = middles(framed, builder)
    cleated = cleats(joints, builder)
    clear_of_laps(builder, cleated)
    clear_of_openings(builder)
    numbered = _numbered(builder.noggins, ground)
    return Support(numbered, framed, along_joints, cleated, builder.size, read)


def _edges(builder: Builder, polygon: Polygon, openings: Sequence[Opening]) -> None:
    """Set the noggins under the deck's edges, those across first, which the others meet."""
    found = perimeter(polygon, builder)
    # The outermost come last: where two edges lie close, its noggin is the one that can give way.
    for noggin, inward in sorted(found, key=lambda one: -one[1] * one[0].y):
        # A trimmer under the edge does what a noggin would.
        if noggin.x is None and not _in_room(noggin, openings):
            builder.at_edge(noggin, inward)
    for noggin, _ in found:
        there = noggin.x is None or builder.fixed_along(noggin)
        seated = None if there else _seated(noggin, builder, openings)
        if seated:
            builder.add(seated)


def _seated(noggin: Noggin, builder: Builder, openings: Sequence[Opening]) -> Noggin | None:
    """Return a timber along the joists cut to what it meets; None where nothing is left."""
    x = noggin.x or 0.0
    (_, low), (_, high) = noggin.ends
    start, first, one = max(_met(x, low, builder, openings, up=True), default=(low, "", 0.0))
    end, last, other = min(_met(x, high, builder, openings, up=False), default=(high, "", 0.0))
    # An end that meets nothing gets a noggin across, just past it.
    first = first or _across_at(noggin, low, -1, builder)
    last = last or _across_at(noggin, high, 1, builder)
    stops = (first, last)
    size, pack = builder.size, builder.pack
    seated = along(noggin.bay, x, start, end, noggin.use, size, pack, stops, other - one)
    return replace(seated, serves=noggin.serves) if seated else None


def _met(
    x: float, y: float, builder: Builder, openings: Sequence[Opening], *, up: bool
) -> list[tuple[float, str, float]]:
    """Return what a timber along at ``x`` meets where it ends at ``y``: face [mm], name, slope."""
    held = [
        ((n.face(x, -1), n.face(x, 1)), str(k), n.slope)
        for k, n in enumerate(builder.noggins)
        if n.x is None and n.ends[0][0] - 1 <= x <= n.ends[1][0] + 1
    ]
    trimmers = [t for o in openings for t in o.trimmers]
    held += [(t.band, t.id, 0.0) for t in trimmers if t.x0 - 1 <= x <= t.x1 + 1]
    near = [stop for stop in held if abs(sum(stop[0]) / 2 - y) <= _MEETS]
    return [(band[1] if up else band[0], name, slope) for band, name, slope in near]


def _across_at(noggin: Noggin, y: float, past: int, builder: Builder) -> str:
    """Set a noggin across the bay just past the end of a timber at ``y`` [mm]; return its place."""
    place = y + past * builder.size.breadth / 2
    found = across(builder.ground, noggin.bay, place, noggin.use, builder.size, builder.pack)
    return "wall" if found is None else str(builder.add(found.serving("edge")))


def _in_room(noggin: Noggin, openings: Sequence[Opening]) -> bool:
    """Say whether a noggin across would stand where a trimmer does."""
    (x0, _), (x1, _) = noggin.ends
    low, high = noggin.band
    room = box(x0, low, x1, high)
    taken = [trimmer.polygon() for o in openings for trimmer in o.trimmers]
    return any(shape.intersection(room).area > 1 for shape in taken)


def _in_the_way(noggin: Noggin, run: dict[str, Any], builder: Builder) -> bool:
    """Say whether an opening or obstacle, or the timber along its edge, stands in a noggin's place.

    What frames it steadies the joists there.
    """
    (x0, _), (x1, _) = noggin.ends
    low, high = noggin.band
    room = box(x0, low, x1, high)
    things = [
        make_valid(Polygon(feature["polygon"]))
        for feature in run["features"]
        if feature["feature"] in ("opening", "obstacle") and feature.get("polygon")
    ]
    half = builder.size.breadth / 2
    things += [
        box(n.x - half, n.band[0], n.x + half, n.band[1])
        for n in builder.noggins
        if n.bay is noggin.bay and n.x is not None
    ]
    return any(thing.intersection(room).area > 1 for thing in things)


def _numbered(noggins: Sequence[Noggin], ground: Ground) -> list[Noggin]:
    """Return noggins with ids that say their bay, from its near edge: N4-2 is the second of bay 4.

    Of a bay that added joists part, the part towards the start wall comes first.
    """
    order = sorted(range(len(noggins)), key=lambda k: _along_bay(noggins[k], ground))
    counts: dict[int, int] = {}
    names = {}
    for k in order:
        bay = noggins[k].bay.number
        counts[bay] = counts.get(bay, 0) + 1
        names[k] = f"N{bay}-{counts[bay]}"
    return [_named(n, names[k], names) for k, n in enumerate(noggins)]


def _along_bay(noggin: Noggin, ground: Ground) -> tuple[int, int, float, float]:
    """Return where a noggin comes: bay, part of it, then y and x of its middle [mm]."""
    (x0, y0), (x1, y1) = noggin.ends
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    added = [m for m in ground.members if m.index == noggin.bay.number and m.added]
    return noggin.bay.number, sum(m.centre(y) < x for m in added), y, x


def _named(noggin: Noggin, name: str, names: dict[int, str]) -> Noggin:
    """Return a noggin with its id; what it stands between is named as well."""
    between = tuple(names[int(b)] if b.isdigit() else b for b in noggin.between)
    return replace(noggin, id=name, between=(between[0], between[1]))
