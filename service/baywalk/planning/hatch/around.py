"""What stands round a new opening, and keeps it and its timbers from lying just anywhere."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from shapely import Polygon

from baywalk.planning.area import Area, areas
from baywalk.planning.choices import size
from baywalk.planning.framing import framed
from baywalk.planning.ground import Ground, Member, ground
from baywalk.planning.hatch.room import Reach, clear, meeting, places, polygons

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely.geometry.base import BaseGeometry

    from baywalk.planning.choices import Choices
    from baywalk.planning.trimming import Opening
    from baywalk.rules import Pack

_FAR = 1e5
"""Beyond the loft, across the joists [mm]."""
_THIN = 0.5
"""What is thinner than this beside a wall is rounding [mm]."""
_CUT = 1.1
"""A joist of which more than this lies in an opening is cut, not grazed [mm]."""
Forbidden = tuple[Reach, "BaseGeometry"]
"""A rectangle that goes with the place, and what it must not meet."""


@dataclass(frozen=True)
class Around:
    """A run as it is found: its joists, its other openings, its decks, and the joists added."""

    run: dict[str, Any]
    ground: Ground
    padded: Ground
    holes: tuple[Opening, ...]
    parts: list[Area]
    added: tuple[Member, ...]
    pack: Pack

    @property
    def trim(self) -> float:
        """Return how far a trimmer reaches along the joists [mm]."""
        return float(self.pack["opening.trim"]["plies"] * self.pack["noggin.breadth"])

    @cached_property
    def outline(self) -> Polygon:
        """Return the limit of the loft [mm]."""
        return Polygon(self.run["outline"])

    @cached_property
    def things(self) -> list[Polygon]:
        """Return what an opening and its trimmers must keep clear of, joists left aside."""
        trimmers = [trimmer.polygon() for hole in self.holes for trimmer in hole.trimmers]
        return [shape for _, shape in self.parts[0].blocked] + trimmers

    def may_be_cut(self, first: int, last: int) -> bool:
        """Say whether a row of joists may be cut together: none carries another opening.

        Those beside it must be whole.
        """
        carrying = {side.index for hole in self.holes if hole.framed for side in hole.sides}
        gone = {joist for hole in self.holes for joist in hole.cut}
        row = set(range(first, last + 1))
        return not row & carrying and not {first - 1, last + 1} & gone

    def beside(self, opening: Opening) -> tuple[Member, Member]:
        """Return the members beside an opening, doubled as other openings have them."""
        members = {m.index: m for m in self.padded.members if not m.added}
        return members[opening.sides[0].index], members[opening.sides[1].index]

    def doubling(self, opening: Opening, hand: int) -> float:
        """Return the breadth of what an opening adds to the member on its left 0 or right 1 [mm].

        A joist that another opening has doubled on that side is not doubled again.
        """
        member = self.beside(opening)[hand]
        return (
            opening.doubling
            if opening.cut and not member.wall and not member.pad[1 - hand]
            else 0.0
        )

    def strip(self, member: Member, left: float = 0.0, right: float = 0.0) -> Polygon:
        """Return a member in the plane with so much more on its left and right [mm]."""
        ys = self._ys(member)
        a = [(member.left(y) - left, y) for y in ys]
        return Polygon([*a, *((member.right(y) + right, y) for y in reversed(ys))])

    def _ys(self, *members: Member) -> list[float]:
        _, low, _, high = self.outline.bounds
        inner = {y for m in members for _, y in m.points if low < y < high}
        # A trimmer reaches no further beyond the limit; leaning joists may meet further on.
        return [low - self.trim - 1, *sorted(inner), high + self.trim + 1]

    def between(self, first: Member, last: Member) -> Polygon:
        """Return the plane from the one member's face to the other's [mm]."""
        ys = self._ys(first, last)
        left = [(first.right(y), y) for y in ys]
        return Polygon([*left, *((last.left(y), y) for y in reversed(ys))])


def around(run: dict[str, Any], choices: Choices, pack: Pack) -> Around:
    """Return a run as it is found; raise ``Refused`` where nothing can be planned in it."""
    there = ground(run)
    _, width = size(choices, pack)
    parts = areas(run, there, choices, pack, width)
    holes, choice = framed(run, there, parts, choices, pack)
    return Around(run, there, choice.found_on, tuple(holes), parts, choice.chosen.added, pack)


def anywhere(it: Around, zone: Polygon, asked: tuple[float, float]) -> BaseGeometry:
    """Return the places [mm] of an opening of a size, across and along, joists left aside."""
    own = Reach(0, asked[0], 0, asked[1])
    return clear(places(zone.intersection(it.outline), own), [(own, s) for s in it.things])


def between_joists(it: Around, free: BaseGeometry, asked: tuple[float, float]) -> BaseGeometry:
    """Return those of some places [mm] where an opening cuts no joist."""
    own = Reach(0, asked[0], 0, asked[1])
    return clear(free, [(own, it.strip(joist)) for joist in [*it.padded.joists, *it.added]])


def cutting(
    it: Around, free: BaseGeometry, asked: tuple[float, float], first: int, last: int
) -> BaseGeometry:
    """Return those of some places [mm] where it cuts just the joists from ``first`` to ``last``."""
    own = Reach(0, asked[0], 0, asked[1])
    members = {m.index: m for m in it.padded.members}
    sides = members[first - 1], members[last + 1]
    core = Reach(_CUT, asked[0] - _CUT, _CUT, asked[1] - _CUT)
    for number in {first, last}:
        free = meeting(free, core, it.strip(members[number]))
    if free.is_empty:
        return free
    forbidden: list[Forbidden] = [(own, it.strip(added)) for added in it.added]
    forbidden += [(own, shape) for shape in _standing(it, sides)]
    for band in (Reach(-_FAR, _FAR, -it.trim, 0), Reach(-_FAR, _FAR, asked[1], asked[1] + it.trim)):
        forbidden += [(band, shape) for shape in _in_the_way(it, sides)]
    return clear(free, [*forbidden, *_at_walls(it, sides, own)])


def _standing(it: Around, sides: tuple[Member, Member]) -> Iterator[Polygon]:
    """Give the joists beside the opening, doubled towards it."""
    wide = float(it.pack["noggin.breadth"])
    low, high = sides
    if not low.wall:
        yield it.strip(low, right=0.0 if low.pad[1] else wide)
    if not high.wall:
        yield it.strip(high, left=0.0 if high.pad[0] else wide)


def _in_the_way(it: Around, sides: tuple[Member, Member]) -> Iterator[BaseGeometry]:
    """Give what no trimmer from side to side can pass: things, and what lies beyond the limit."""
    row = it.between(*sides)
    for thing in [*it.things, *map(it.strip, it.added)]:
        yield from polygons(thing.intersection(row))
    for beyond in polygons(row.difference(it.outline)):
        if not beyond.buffer(-_THIN).is_empty:
            yield beyond


def _at_walls(it: Around, sides: tuple[Member, Member], own: Reach) -> Iterator[Forbidden]:
    """Give where a side may not be, so that no deck hangs between it and a wall on nothing."""
    # The gap to the wall is left, and a strip that is too narrow to board.
    room = it.parts[0].gap + it.pack["deck.least.width"] - 1
    if sides[0].wall:
        yield _near_left(it, sides[0], own, room)
    if sides[1].wall:
        yield _near_right(it, sides[1], own, room)


def _near_left(it: Around, member: Member, own: Reach, room: float) -> Forbidden:
    """Return what keeps the left side within ``room`` [mm] of a member's face."""
    beyond = it.strip(member, 0, _FAR).difference(it.strip(member, 0, room))
    return Reach(-1, own.x0, own.y0, own.y1), beyond


def _near_right(it: Around, member: Member, own: Reach, room: float) -> Forbidden:
    """Return what keeps the right side within ``room`` [mm] of a member's face."""
    beyond = it.strip(member, _FAR, 0).difference(it.strip(member, room, 0))
    return Reach(own.x1, own.x1 + 1, own.y0, own.y1), beyond


def close(it: Around, free: Polygon, opening: Opening) -> list[Polygon]:
    """Return parts of some places whose left, right, or both sides need no timber of their own.

    ``opening`` is one of these places.
    """
    x0, y0, x1, y1 = opening.polygon.bounds
    own = Reach(0, x1 - x0, 0, y1 - y0)
    room = it.pack["noggin.cut_least"]
    low, high = it.beside(opening)
    wide = [it.doubling(opening, hand) for hand in (0, 1)]
    rows = [_near_left(it, low, own, room + wide[0]), _near_right(it, high, own, room + wide[1])]
    left, right = (clear(free, [row]) for row in rows)
    return [p for shape in (left, right, left.intersection(right)) for p in polygons(shape)]
