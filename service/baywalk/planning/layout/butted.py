"""The last resort: courses parted on a joist, where two sawn ends or a sawn end and a groove meet.

A butted joint is to a course what a wall is: what lies before it and after it is laid as a stretch
of its own. So only where courses are parted is to be found, as few times as will do; each choice is
then laid as any deck is.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from shapely import Polygon, box

from baywalk.planning.courses import Segment
from baywalk.planning.layout.exact import solve
from baywalk.planning.layout.lay import Layout, Stretch, beside, chains, lay
from baywalk.planning.layout.patterns import places, ways
from baywalk.planning.layout.problem import NEVER, Problem, add_up, grid, walk_all
from baywalk.planning.layout.search import improve
from baywalk.planning.layout.stagger import clash
from baywalk.planning.layout.zones import JOIST, Zone, less

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    from baywalk.planning.choices import Board, Weights
    from baywalk.planning.courses import Course
    from baywalk.planning.layout.patterns import Limits, Ways
    from baywalk.rules import Pack

_WIDE = 1e6
_MOST = 6
"""The most butted joints that a deck is given [-]."""
_FEW = 40
"""Up to so many joists in all courses together, each is tried at three places [-]."""
_LAID = 60
"""The most choices of joists that are laid to find the cheapest [-]."""
_WIDTH = 12
"""How many choices are gone on with at each step of the climb [-]."""
_LOOK = 1.0
"""How long it is looked whether a choice comes to anything [seconds]."""
_LEAST = 0.2
"""The least time that one of them is laid out for [seconds]."""


@dataclass(frozen=True)
class Split:
    """Where a course is parted: its index, the segment of it, the place [mm], and the joist."""

    course: int
    segment: int
    x: float
    zone: Zone


Splits = frozenset[Split]


@dataclass(frozen=True)
class _State:
    """What a choice of splits comes to: its stretches, how many clashes are left, and where.

    ``open`` are the courses one of which has to be parted once more, if it is to come to anything.
    """

    found: tuple[Stretch, ...]
    clashes: int
    weight: float
    open: tuple[int, ...]

    @property
    def more(self) -> int:
        """Return how many splits are wanting at least: one parts a course from two neighbours."""
        return math.ceil(self.clashes / 2)

    @property
    def rank(self) -> tuple[bool, int, float]:
        """Return how far it is from a plan."""
        return not self.found, self.clashes, self.weight


class Resort:
    """The search for as few butted joints as will do."""

    def __init__(
        self,
        courses: Sequence[Course],
        zones: Callable[[Segment], Sequence[Zone]],
        limits: Callable[[Segment], Limits],
        board: Board,
        weights: Weights,
        pack: Pack,
        *,
        tongue_left: bool,
    ) -> None:
        """Take the courses, and what gives a segment's zones and limits.

        ``tongue_left`` says which short end of a board has the tongue.
        """
        self.courses = {course.index: course for course in courses}
        self.limits, self.board, self.weights, self.pack = limits, board, weights, pack
        self.tongue = 0 if tongue_left else 1
        # Kept as long as the search, so that no other stretch has the id of one.
        self.made: dict[object, list[Stretch] | None] = {}
        self.parts: dict[object, Stretch | None] = {}
        self.fine: dict[int, Ways] = {}
        self.clash: dict[tuple[int, int], NDArray[np.float64]] = {}
        self.states: dict[Splits, _State] = {}
        self.zones = {
            (course.index, k): tuple(zones(segment))
            for course in courses
            for k, segment in enumerate(course.segments)
        }
        spots = {key: [z for z in found if z.kind == JOIST] for key, found in self.zones.items()}
        thorough = sum(map(len, spots.values())) <= _FEW
        self.splits: dict[int, list[Split]] = {course.index: [] for course in courses}
        for (course, k), found in spots.items():
            for zone in found:
                places = {(zone.low + zone.high) / 2}
                places |= {zone.low, zone.high} if thorough else set()
                self.splits[course] += [Split(course, k, x, zone) for x in sorted(places)]

    def layout(self, seconds: float) -> tuple[list[Stretch], Layout] | None:
        """Return the stretches and the layout with fewest butted joints, the cheapest of these.

        ``seconds`` is the time for it. None where none was found.
        """
        now = time.monotonic()
        deadline, half = now + seconds, now + seconds / 2
        known = self._climb(half)
        for count in range(1, len(known[0]) + 1 if known else _MOST + 1):
            chosen = list(self._with(frozenset(), count, half))
            if chosen:
                return self._cheapest(chosen, deadline)
        return self._cheapest(known, deadline)

    def _with(self, splits: Splits, count: int, deadline: float) -> Iterator[Splits]:
        """Give every choice of ``count`` more splits that leaves no clash, each once."""
        seen: set[Splits] = set()
        stack = [(splits, count)]
        while stack and time.monotonic() < deadline:
            now, left = stack.pop()
            state = self._state(now)
            if now in seen or state.more > left:
                continue
            seen.add(now)
            if not state.clashes:
                if not left:
                    yield now
                continue
            stack += [(now | {split}, left - 1) for split in self._next(now, state)]

    def _next(self, splits: Splits, state: _State) -> Iterator[Split]:
        """Give the splits that may be made beside others."""
        apart = self.pack["joint.stagger"]
        for course in state.open:
            for split in self.splits[course]:
                near = [s for s in splits if abs(s.course - course) <= 1]
                if not any(abs(s.x - split.x) < apart or _one_joist(s, split) for s in near):
                    yield split

    def _climb(self, deadline: float) -> list[Splits]:
        """Return choices of splits that leave no clash, found one split at a time."""
        best: list[Splits] = [frozenset()]
        for _ in range(_MOST):
            tried: dict[Splits, _State] = {}
            for splits in best:
                for split in self._next(splits, self._state(splits)):
                    if time.monotonic() > deadline:
                        return []
                    more = splits | {split}
                    tried[more] = self._state(more)
            best = sorted(tried, key=lambda s: tried[s].rank)[:_WIDTH]
            done = [splits for splits in best if not tried[splits].clashes]
            if done:
                return done
        return []

    def _state(self, splits: Splits) -> _State:
        """Return what a choice of splits comes to."""
        if splits not in self.states:
            self.states[splits] = self._reckoned(splits)
        return self.states[splits]

    def _reckoned(self, splits: Splits) -> _State:
        laid = {course: self._course(course, splits) for course in self.courses}
        shut = tuple(course for course, own in laid.items() if own is None)
        if shut:
            # What parts its neighbours only takes more places from a course: it is its own turn.
            return _State((), 2 * len(shut) - 1, NEVER, shut[:1])
        found = [stretch for own in laid.values() for stretch in own or ()]
        whole = self._problem(found)
        least, choice = walk_all(whole, whole.fine, lambda n: whole.fine.fixed[n])
        # Each clash weighs the same, far more than all else together.
        clashes = int(least / NEVER + 1e-6)
        if not clashes and not _together(whole, choice):
            # The walk goes along one part of each course; the other may be in its neighbour's way.
            clashes = 1
        open_ = tuple(self.courses) if clashes else ()
        return _State(tuple(found), clashes, least % NEVER, open_)

    def _problem(self, found: Sequence[Stretch]) -> Problem:
        """Return the problem of laying some stretches at single places alone."""
        kerf, apart = float(self.pack["board.kerf"]), float(self.pack["joint.stagger"])
        pairs = beside(found)
        for stretch in found:
            if id(stretch) not in self.fine:
                self.fine[id(stretch)] = places(stretch.ways, kerf)
        fine = [self.fine[id(stretch)] for stretch in found]
        for a, b in pairs:
            key = id(found[a]), id(found[b])
            if key not in self.clash:
                near = clash(fine[a], fine[b], apart)
                self.clash[key] = np.where(near, NEVER, 0.0)
        one = replace(
            grid(fine, (), apart, kerf),
            clash={(a, b): self.clash[id(found[a]), id(found[b])] for a, b in pairs},
        )
        return Problem(one, one, chains(len(found), pairs, found), self.weights.board, kerf, apart)

    def _course(self, course: int, splits: Splits) -> list[Stretch] | None:
        """Return a course laid in the stretches that it is parted into; None where it cannot be."""
        own = sorted((s for s in splits if s.course == course), key=lambda s: s.x)
        near = [s for s in splits if abs(s.course - course) == 1]
        key = (course, tuple(own), frozenset(near))
        if key not in self.made:
            segments = enumerate(self.courses[course].segments)
            parts = [self._parted(course, k, own, near, segment) for k, segment in segments]
            laid = [stretch for part in parts for stretch in part or ()]
            self.made[key] = laid if all(parts) else None
        return self.made[key]

    def _parted(
        self, course: int, k: int, splits: Sequence[Split], near: Sequence[Split], whole: Segment
    ) -> list[Stretch] | None:
        """Return one segment in the stretches that it is parted into; None where it cannot be."""
        own = [s for s in splits if s.segment == k]
        marks = [whole.x0, *(s.x for s in own), whole.x1]
        least = self.pack["board.shortest.supported"]
        if own and min(b - a for a, b in pairwise(marks)) < least:
            return None
        apart = self.pack["joint.stagger"]
        barred = [(s.x - apart, s.x + apart) for s in near]
        out: list[Stretch] = []
        for place, (a, b) in enumerate(pairwise(marks)):
            taken = frozenset((low, high) for low, high in barred if low < b and a < high)
            # A tongue cannot meet a sawn end: it comes off.
            off = place < len(own) if self.tongue else place > 0
            zone = own[place - 1].zone if place else None
            key = (course, k, a, b, off, taken)
            if key not in self.parts:
                self.parts[key] = self._part(course, k, (a, b), taken, zone, off=off)
            found = self.parts[key]
            if found is None:
                return None
            out.append(found)
        return out

    def _part(
        self,
        course: int,
        k: int,
        reach: tuple[float, float],
        barred: Iterable[tuple[float, float]],
        zone: Zone | None,
        *,
        off: bool,
    ) -> Stretch | None:
        """Return a part of a segment, from x to x [mm], as a stretch; None where it has no way."""
        a, b = reach
        whole = self.courses[course].segments[k]
        parted = a > whole.x0 or b < whole.x1
        segment = _clipped(whole, a, b) if parted else whole
        if segment is None:
            return None
        carried = [part for spot in self.zones[course, k] for part in less(spot, barred)]
        # A whole segment's zones keep from its ends already.
        edge = float(self.pack["joint.clear"]) if parted else 0.0
        spots = tuple(c for z in carried if (c := _between(z, a + edge, b - edge)))
        found = self._ways(segment, spots, off=off)
        return Stretch(course, segment, spots, found, butted=zone) if len(found) else None

    def _ways(self, segment: Segment, spots: Sequence[Zone], *, off: bool) -> Ways:
        """Return the ways to lay a stretch, the tongue of its last or first board ``off``."""
        bounds = self.limits(segment)
        if off:
            sawn = (bounds.sawn[0] or not self.tongue, bounds.sawn[1] or bool(self.tongue))
            bounds = replace(bounds, sawn=sawn)
        return ways(bounds, spots, self.board.length, self.weights, short=True)

    def _cheapest(
        self, chosen: Sequence[Splits], deadline: float
    ) -> tuple[list[Stretch], Layout] | None:
        """Return the cheapest layout of some choices of splits."""
        states = sorted(map(self._state, chosen), key=lambda state: state.weight)[:_LAID]
        best: tuple[list[Stretch], Layout] | None = None
        for number, state in enumerate(states):
            if best and time.monotonic() > deadline:
                break
            share = (deadline - time.monotonic()) / (len(states) - number)
            found = list(state.found)
            made = lay(found, self.board, self.weights, self.pack, max(share, _LEAST))
            if made and (best is None or made.found.cost < best[1].found.cost):
                best = found, made
        return best


def _together(whole: Problem, choice: list[int]) -> bool:
    """Say whether all stretches can be laid together, no two joints too near."""
    if not add_up(whole.fine, improve(whole, choice)[0]).clashes:
        return True
    keep = [np.arange(len(w)) for w in whole.fine.ways]
    solved, _ = solve(whole, whole.fine, keep, _LOOK)
    return solved is not None and not add_up(whole.fine, solved).clashes


def _between(zone: Zone, low: float, high: float) -> Zone | None:
    """Return the part of a zone between two places [mm]; None where there is none."""
    if zone.high <= low or zone.low >= high:
        return None
    return replace(zone, low=max(zone.low, low), high=min(zone.high, high))


def _one_joist(one: Split, other: Split) -> bool:
    mine, theirs = one.zone.member, other.zone.member
    return mine is not None and theirs is not None and mine.label() == theirs.label()


def _clipped(segment: Segment, a: float, b: float) -> Segment | None:
    """Return the part of a segment from the one x to the other [mm]; None where it is not one."""
    part = segment.polygon.intersection(box(a, -_WIDE, b, _WIDE))
    return Segment(part) if isinstance(part, Polygon) and not part.is_empty else None
