"""Where an end joint of a course may lie, and what carries it there."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shapely import Polygon, box

from baywalk.planning.courses import sections

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from baywalk.planning.choices import Weights
    from baywalk.planning.courses import Segment
    from baywalk.planning.ground import Bay, Ground, Member
    from baywalk.planning.trimming import Opening
    from baywalk.rules import Pack

JOIST, CLEAT, FRAME = "joist", "cleat", "frame"
_SAFE = 0.02
"""How much tighter than the rules the planner works [mm], so that rounding breaks none."""
_LEAST = 1e-3
_NEXT = 10.0
"""What lies less than this beyond a course's edge is the next course [mm]."""


@dataclass(frozen=True)
class Zone:
    """A stretch from ``low`` to ``high`` [mm] where a joint is carried by one thing.

    ``member`` is the joist that it lies on or that the cleat is fixed to, ``side`` the side of the
    cleat, ``bay`` the place among the bays of the ground. ``seat`` is the x [mm] of the piece along
    of a frame that is fixed already.
    """

    low: float
    high: float
    kind: str
    weight: float
    member: Member | None = None
    side: str = ""
    bay: int = -1
    seat: float | None = None


def zones(
    segment: Segment,
    ground: Ground,
    pack: Pack,
    weights: Weights,
    blocked: Sequence[Polygon] = (),
    openings: Sequence[Opening] = (),
    ends: Sequence[tuple[float, float, float]] = (),
) -> list[Zone]:
    """Return the zones of a segment from left to right, none overlapping; the lightest wins.

    ``blocked`` is where no frame finds room; beside ``openings`` one may. ``ends`` are the ends of
    a deck already laid, each its x and from which y to which, beside which boards will lie [mm].
    """
    found = [*_joists(segment, ground, pack), *_cleats(segment, ground, pack, weights)]
    found += _frames(segment, ground, pack, weights, blocked, openings)
    inside = [z for z in found if z.high > segment.x0 and z.low < segment.x1]
    barred = [*_barred(segment, pack), *_beside_ends(segment, ends, pack)]
    inside = [z for z in inside if not _gone(z, segment, openings)]
    return [part for zone in _disjoint(inside) for part in less(zone, barred)]


def _gone(zone: Zone, segment: Segment, openings: Sequence[Opening]) -> bool:
    """Say whether a joint's joist is cut away under it, or a trimmer leaves its cleat no room."""
    x = min(max((zone.low + zone.high) / 2, segment.x0 + _LEAST), segment.x1 - _LEAST)
    parts = sections(segment.polygon, x) if openings and zone.member else []
    if not parts or zone.member is None:
        return False
    y0, y1 = parts[0]
    for opening in openings:
        _, low, _, high = opening.polygon.bounds
        if low < y1 - 1 and y0 + 1 < high and opening.gone(zone.member, y0, y1):
            return True
        if zone.kind == CLEAT and _in_hole(zone, opening, y0, y1):
            return True
        for trimmer in opening.trimmers if zone.kind == CLEAT else ():
            left = y1 - y0 - max(min(y1, trimmer.band[1]) - max(y0, trimmer.band[0]), 0.0)
            # A noggin that crosses what is left must leave room on one side of it.
            if trimmer.x0 <= x <= trimmer.x1 and left < min(y1 - y0, 3 * opening.doubling):
                return True
    return False


def _in_hole(zone: Zone, opening: Opening, y0: float, y1: float) -> bool:
    """Say whether a cleat from ``y0`` to ``y1`` [mm] would stand in an opening."""
    x0, low, x1, high = opening.polygon.bounds
    low, high = max(low, y0), min(high, y1)
    if zone.member is None or high - low < 1:
        return False
    reach, wide = zone.member.reach(low, high), opening.doubling
    if zone.side == "left":
        return reach.least - wide < x1 - 1 and x0 + 1 < reach.left
    return x0 + 1 < reach.most + wide and reach.right < x1 - 1


def _joists(segment: Segment, ground: Ground, pack: Pack) -> Iterable[Zone]:
    least = pack["joint.bearing"] + _SAFE
    for member in ground.joists:
        reach = member.reach(segment.y0, segment.y1)
        yield Zone(reach.left + least, reach.right - least, JOIST, 0.0, member)


def _cleats(segment: Segment, ground: Ground, pack: Pack, weights: Weights) -> Iterable[Zone]:
    """Give the stretches just past a joist, on the side where a cleat finds room."""
    least, breadth = pack["joint.bearing"] + _SAFE, pack["noggin.breadth"]
    for place, bay in enumerate(ground.bays):
        # The cleat must pass between the joists for the whole length of the joint.
        room = min(bay.gap(y) for y in bay.bends(segment.y0, segment.y1))
        if room < breadth:
            continue
        # Where a joist goes over to another timber, neither side is one from end to end.
        if _takes(bay.left, segment) and not bay.left.pad[1]:
            reach = bay.left.reach(segment.y0, segment.y1)
            low, high = reach.left + least, reach.right + breadth - least
            yield Zone(low, high, CLEAT, weights.cleat, bay.left, "right", place)
        if _takes(bay.right, segment) and not bay.right.pad[0]:
            reach = bay.right.reach(segment.y0, segment.y1)
            low, high = reach.left - breadth + least, reach.right - least
            yield Zone(low, high, CLEAT, weights.cleat, bay.right, "left", place)


def _takes(member: Member, segment: Segment) -> bool:
    """Say whether a cleat may be fixed to a member's side beside a whole course."""
    return not member.wall and not member.in_lap(segment.y0, segment.y1)


def _taken(x0: float, x1: float, y0: float, y1: float, blocked: Sequence[Polygon]) -> bool:
    """Say whether something stands in a place given by its bounds [mm]."""
    room = box(x0, y0, x1, y1)
    return any(shape.intersection(room).area > 1 for shape in blocked)


def _frames(
    segment: Segment,
    ground: Ground,
    pack: Pack,
    weights: Weights,
    blocked: Sequence[Polygon],
    openings: Sequence[Opening],
) -> Iterable[Zone]:
    """Give the stretches of a bay where the piece along a frame finds room."""
    half = pack["noggin.breadth"] / 2
    clear = max(pack["joint.bearing"], half) + _SAFE
    for place, bay in enumerate(ground.bays):
        if bay.beside_wall or _over_lap(bay, segment, 2 * half):
            continue
        # The two noggins across reach half their breadth past the course.
        y0, y1 = segment.y0 - half, segment.y1 + half
        low = bay.left.reach(y0, y1).most + clear
        high = bay.right.reach(y0, y1).least - clear
        holes = [opening.polygon for opening in openings]
        within = [h.bounds for h in holes if h.bounds[1] <= y0 and y1 <= h.bounds[3]]
        other = [h for h in holes if h.bounds not in within]
        if high > low and not _in_the_way(bay, y0, y1, [*blocked, *other]):
            # Beside an opening its noggins end on the timber along it, which nearer to a joist
            # than the overhang is not there.
            off = max(2 * half + clear, pack["noggin.edge.overhang"] - clear + 1)
            barred = [(x0 - off, x1 + off) for x0, _, x1, _ in within]
            yield from less(Zone(low, high, FRAME, weights.frame, bay=place), barred)


def _over_lap(bay: Bay, segment: Segment, room: float) -> bool:
    """Say whether a noggin under a long edge of a course would stand where a side of a bay laps.

    It may come to lie anywhere within ``room`` [mm] of the edge.
    """
    if not (bay.left.laps or bay.right.laps):
        return False
    x0 = bay.left.reach(segment.y0, segment.y1).least
    x1 = bay.right.reach(segment.y0, segment.y1).most
    edges = [
        (min(ya, yb), max(ya, yb))
        for ring in _rings(segment.polygon)
        for (xa, ya), (xb, yb) in itertools.pairwise(ring)
        if abs(yb - ya) <= abs(xb - xa) and min(xa, xb) < x1 and x0 < max(xa, xb)
    ]
    return any(bay.in_lap(low - room, high + room) for low, high in edges)


def _in_the_way(bay: Bay, y0: float, y1: float, blocked: Sequence[Polygon]) -> bool:
    x0, x1 = bay.left.reach(y0, y1).least, bay.right.reach(y0, y1).most
    return _taken(x0, x1, y0, y1, blocked)


def _disjoint(zones: list[Zone]) -> list[Zone]:
    """Return zones cut so that none overlap; the lightest keeps its whole length."""
    out: list[Zone] = []
    for zone in sorted((z for z in zones if z.high - z.low > _LEAST), key=lambda z: z.weight):
        out += less(zone, [(z.low, z.high) for z in out if z.low < zone.high and zone.low < z.high])
    return sorted(out, key=lambda z: z.low)


def less(zone: Zone, taken: Iterable[tuple[float, float]]) -> list[Zone]:
    """Return what is left of a zone outside the stretches taken."""
    parts = [(zone.low, zone.high)]
    for low, high in taken:
        parts = [
            part
            for a, b in parts
            for part in ((a, min(b, low)), (max(a, high), b))
            if part[1] - part[0] > _LEAST
        ]
    return [Zone(a, b, zone.kind, zone.weight, zone.member, zone.side, zone.bay) for a, b in parts]


def _barred(segment: Segment, pack: Pack) -> list[tuple[float, float]]:
    """Return where no joint may lie: where the course is not whole from edge to edge."""
    polygon = segment.polygon
    corners = sorted({round(x, 6) for ring in _rings(polygon) for x, _ in ring})
    clear = float(pack["joint.clear"])
    out = [(x - clear, x + clear) for x in _steps(polygon)]
    for a, b in itertools.pairwise(corners):
        if len(sections(polygon, (a + b) / 2)) > 1:
            out.append((a - clear, b + clear))
    return out


def _beside_ends(
    segment: Segment, ends: Sequence[tuple[float, float, float]], pack: Pack
) -> list[tuple[float, float]]:
    """Return where a joint would lie in line with the end of a deck laid in the next course."""
    apart = pack["joint.stagger"] + _SAFE
    near = [x for x, y0, y1 in ends if min(abs(segment.y0 - y1), abs(segment.y1 - y0)) < _NEXT]
    return [(x - apart, x + apart) for x in near]


def _rings(polygon: Polygon) -> list[list[tuple[float, float]]]:
    rings = (polygon.exterior, *polygon.interiors)
    return [[(x, y) for x, y in ring.coords] for ring in rings]


def _steps(polygon: Polygon) -> list[float]:
    """Return the xs [mm] of edges that run with the joists, the course's own ends among them."""
    return [
        x
        for ring in _rings(polygon)
        for (xa, ya), (xb, yb) in itertools.pairwise(ring)
        if abs(yb - ya) > abs(xb - xa)
        for x in (xa, xb)
    ]
