"""From the courses to the layout: the problem set up, searched, and read back as joints."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from baywalk.planning.layout.begun import begun
from baywalk.planning.layout.cutting import LEFT, MIDDLE, RIGHT, WHOLE, Held, Need, cut
from baywalk.planning.layout.patterns import Ways, limits, places, ways
from baywalk.planning.layout.problem import Problem, grid
from baywalk.planning.layout.search import PROVEN, Best, Found, search
from baywalk.planning.layout.settle import Settling
from baywalk.planning.layout.zones import Zone, zones
from baywalk.planning.refused import Reason, Refused

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from shapely import Polygon

    from baywalk.planning.choices import Board, Weights
    from baywalk.planning.courses import Course, Segment
    from baywalk.planning.ground import Ground
    from baywalk.planning.trimming import Opening
    from baywalk.rules import Pack


@dataclass(frozen=True)
class Stretch:
    """One segment of a course with its zones and the ways to lay it.

    ``kinds`` says of each of its pieces which end of a board it has, where some are ``laid``
    already; its ``joints`` are then fixed, each with what carries it [mm].
    ``butted`` is the joist on which sawn ends meet where it goes on from the stretch before.
    """

    course: int
    segment: Segment
    zones: tuple[Zone, ...]
    ways: Ways
    joints: tuple[tuple[float, Zone], ...] = ()
    kinds: tuple[str, ...] = ()
    laid: tuple[bool, ...] = ()
    butted: Zone | None = None


@dataclass(frozen=True)
class Row:
    """How one segment is laid: its joints from left to right [mm] with what carries each.

    ``starts`` and ``ends`` say whether a part board starts or ends it.
    """

    stretch: Stretch
    joints: tuple[tuple[float, Zone], ...]
    starts: bool
    ends: bool

    def kind(self, k: int) -> str:
        """Return which end of a board its ``k``-th piece must have."""
        if self.stretch.kinds:
            return self.stretch.kinds[k]
        if not self.joints:
            return MIDDLE if self.stretch.ways.single > 0 else WHOLE
        if k == 0 and self.starts:
            return RIGHT
        return LEFT if k == len(self.joints) and self.ends else WHOLE

    def needs(self) -> list[Need]:
        """Return what must be cut for it; what is laid is cut."""
        segment, laid = self.stretch.segment, self.stretch.laid
        marks = [segment.x0, *(x for x, _ in self.joints), segment.x1]
        lengths = [b - a for a, b in itertools.pairwise(marks)]
        return [
            Need(str(k), length, self.kind(k))
            for k, length in enumerate(lengths)
            if not (laid and laid[k])
        ]


@dataclass(frozen=True)
class Layout:
    """A layout with its proof; ``rows`` in the order of courses and places."""

    rows: tuple[Row, ...]
    found: Found


def stretches(
    courses: Sequence[Course],
    ground: Ground,
    board: Board,
    weights: Weights,
    pack: Pack,
    *,
    shortest: float,
    blocked: Sequence[Polygon],
    openings: Sequence[Opening] = (),
    ends: Sequence[tuple[float, float, float]] = (),
    short: bool = False,
    fixed: Mapping[tuple[int, Segment], Stretch] = MappingProxyType({}),
) -> list[Stretch]:
    """Return every segment with the ways to lay it; raise :class:`Refused` where there is none.

    ``short`` lets in short pieces supported on every edge; a segment that has no other way has
    them in any case. ``fixed`` has those that are laid, or begun.
    """
    out = []
    for course in courses:
        for segment in course.segments:
            if (course.index, segment) in fixed:
                out.append(fixed[course.index, segment])
                continue
            spots = tuple(zones(segment, ground, pack, weights, blocked, openings, ends))
            bounds = limits(segment, ground, pack, shortest)
            found = ways(bounds, spots, board.length, weights, short=short)
            if not len(found):
                found = ways(bounds, spots, board.length, weights, short=True)
            if not len(found):
                raise Refused(_no_way(course, segment, ground))
            out.append(Stretch(course.index, segment, spots, found))
    return out


def _no_way(course: Course, segment: Segment, ground: Ground) -> Reason:
    say = (
        f"Course {course.index + 1}, from {segment.x0:.0f} to {segment.x1:.0f}: no place for its"
        " end joints has a joist, a cleat or a frame under it. Add a joist there, or plan with"
        " another length of board."
    )
    if any(low < segment.y1 and segment.y0 < high for low, high in ground.laps):
        say += (
            " The joists lap under it, and no noggin under its edges finds room there. Start from"
            " the other edge, or with boards of another width."
        )
    return Reason("course.no_joint", say)


def problem(
    found: Sequence[Stretch],
    weights: Weights,
    pack: Pack,
    weigh: Callable[[Ways], Ways],
    held: Sequence[Held] = (),
) -> Problem:
    """Return the problem of laying all stretches; ``weigh`` may weigh the ways anew.

    Each board ``held`` is one more node, with one way: what it still gives, or asks for.
    """
    kerf, apart = float(pack["board.kerf"]), float(pack["joint.stagger"])
    wide = [weigh(stretch.ways) for stretch in found]
    wide += [begun(one, found[0].ways.board, kerf) for one in held]
    fine = [places(w, kerf) for w in wide]
    pairs = beside(found)
    return Problem(
        wide=grid(wide, pairs, apart, kerf),
        fine=grid(fine, pairs, apart, kerf),
        chains=chains(len(wide), pairs, found),
        board=weights.board,
        kerf=kerf,
        apart=apart,
    )


def beside(found: Sequence[Stretch]) -> list[tuple[int, int]]:
    """Return the pairs of stretches that lie beside one another in neighbouring courses."""
    out = []
    for a, one in enumerate(found):
        for b, other in enumerate(found):
            if other.course != one.course + 1:
                continue
            low = max(one.segment.x0, other.segment.x0)
            high = min(one.segment.x1, other.segment.x1)
            if high > low:
                out.append((a, b))
    return out


def chains(
    count: int, pairs: Sequence[tuple[int, int]], found: Sequence[Stretch]
) -> tuple[tuple[int, ...], ...]:
    """Return chains of neighbours, each stretch in one; the widest overlaps are kept."""
    before: dict[int, int] = {}
    after: dict[int, int] = {}

    def shared(pair: tuple[int, int]) -> float:
        one, other = (found[k].segment for k in pair)
        return min(one.x1, other.x1) - max(one.x0, other.x0)

    for a, b in sorted(pairs, key=shared, reverse=True):
        if a not in after and b not in before:
            after[a], before[b] = b, a
    out = []
    for node in range(count):
        if node not in before:
            chain = [node]
            while chain[-1] in after:
                chain.append(after[chain[-1]])
            out.append(tuple(chain))
    return tuple(out)


def lay(
    found: Sequence[Stretch],
    board: Board,
    weights: Weights,
    pack: Pack,
    seconds: float,
    progress: Callable[[float, float], bool] | None = None,
    held: Sequence[Held] = (),
) -> Layout | None:
    """Return the best layout found in ``seconds``; None where joints cannot be kept apart.

    ``held`` are boards that were begun.
    """
    whole = problem(found, weights, pack, lambda w: w, held)
    best = search(whole, seconds, progress)
    if not best.choice:
        return None
    return Layout(_settled(found, whole, best, pack, board.length, held), best)


def cheaper(
    layout: Layout,
    found: Sequence[Stretch],
    choice: Sequence[int],
    board: Board,
    weights: Weights,
    pack: Pack,
    held: Sequence[Held] = (),
) -> Layout:
    """Return a layout, or the one that another choice of ways makes where that costs less.

    ``choice`` is what a search for another end found; where a layout is proven best, none is less.
    """
    if not choice or layout.found.cost - layout.found.bound <= PROVEN:
        return layout
    whole = problem(found, weights, pack, lambda w: w, held)
    best = Best(whole)
    best.offer(list(choice))
    if best.cost >= layout.found.cost - PROVEN:
        return layout
    other = replace(layout.found, choice=tuple(best.choice), cost=best.cost)
    return Layout(_settled(found, whole, other, pack, board.length, held), other)


def _settled(
    found: Sequence[Stretch],
    whole: Problem,
    best: Found,
    pack: Pack,
    board: float,
    held: Sequence[Held],
) -> tuple[Row, ...]:
    """Return the rows with their joints settled, unless that would cost a board."""
    kerf, apart = float(pack["board.kerf"]), float(pack["joint.stagger"])
    as_found = rows(found, whole, best.choice)
    at = Settling(whole, best.choice, apart, kerf).settled()
    moved = rows(found, whole, best.choice, at)
    if boards(moved, board, kerf, held) > boards(as_found, board, kerf, held):
        return as_found
    return moved


def boards(rows: Sequence[Row], board: float, kerf: float, held: Sequence[Held] = ()) -> int:
    """Return how many boards ``board`` [mm] long the rows take, those ``held`` among them."""
    needs = [need for row in rows for need in row.needs()]
    return len(cut(needs, board, kerf, held))


def crowded(pack: Pack) -> Reason:
    """Return the reason against a deck whose end joints cannot be kept apart."""
    say = (
        f"End joints of neighbouring courses cannot all be kept {pack['joint.stagger']:g} mm apart"
        " here. Plan with a longer board, or add a joist."
    )
    return Reason("joint.crowded", say)


def rows(
    found: Sequence[Stretch],
    whole: Problem,
    choice: Sequence[int],
    at: Sequence[float] | None = None,
) -> tuple[Row, ...]:
    """Return how each stretch is laid by a choice of ways, its first joint ``at`` a place [mm]."""
    out = []
    for node, way in enumerate(choice[: len(found)]):
        ways = whole.fine.ways[node]
        if found[node].kinds:
            out.append(_as_begun(found[node]))
            continue
        first = float(ways.low[way]) if at is None else at[node]
        places_ = [first + k * ways.board for k in range(int(ways.joints[way]))]
        joints = tuple((x, _zone(found[node].zones, x)) for x in places_)
        out.append(Row(found[node], joints, bool(ways.starts[way]), bool(ways.ends[way])))
    return tuple(out)


def _as_begun(stretch: Stretch) -> Row:
    """Return the row of a stretch that is laid, or begun."""
    # A piece with the right-hand end of its board alone can only be the first of its row.
    starts, ends = stretch.kinds[0] == RIGHT, stretch.kinds[-1] == LEFT
    return Row(stretch, stretch.joints, starts, ends)


def _zone(spots: Sequence[Zone], x: float) -> Zone:
    lows = np.array([zone.low for zone in spots])
    place = int(np.searchsorted(lows, x + 1e-6, side="right")) - 1
    # On the line between two zones the lighter one carries the joint.
    near = [z for z in spots[max(place - 1, 0) : place + 2] if z.low - 1e-5 <= x <= z.high + 1e-5]
    return min(near, key=lambda z: z.weight)
