"""The cheapest layout of a small deck by looking at every one; no code shared with the planner.

With tongue and groove at every end joint, the boards between the first and the last of a course
are whole. So one length settles a course: where its first joint lies. What a layout costs depends
on which support each joint finds, which side of its neighbours' joints it keeps to, and which first
and last pieces come out of one board. All three are finite; and once they are chosen, whether
there is such a layout is a question of differences between those lengths, which the shortest paths
in a small graph answer exactly. So every choice is tried.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from baywalk.planning.check.ground import Ground, Line, ground

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from baywalk.rules import Pack

FREE = 1e9
TINY = 1e-6

Bounds = tuple[float, float]


@dataclass(frozen=True)
class Cell:
    """Where a course's first joint may lie for one choice of supports.

    Attributes:
        low, high: bounds of the first joint's x [mm].
        cost: of supports, short pieces and sawn ends.
        whole: whether the first and the last piece are whole boards.
    """

    low: float
    high: float
    cost: float
    whole: tuple[bool, bool]


@dataclass(frozen=True)
class Row:
    """A course: its limits, its width, the number of whole boards between, its cells."""

    start: float
    stop: float
    width: float
    joints: int
    cells: tuple[Cell, ...]


class Search:
    """Looks at every layout of a rectangular deck for which the plan gives the courses."""

    def __init__(self, plan: dict[str, Any], as_built: dict[str, Any], pack: Pack) -> None:
        (self.deck,) = plan["decks"]
        known = ground(as_built["runs"][0])
        assert known
        self.ground: Ground = known
        self.pack = pack
        self.weights = self.deck["proof"]["weights"]
        self.board = self.deck["deck"]["board"]
        # Only what is no dearer than the plan is of interest; the plan's own cost is to be met.
        self.best = self.deck["proof"]["cost"] + 0.01
        self.met = False
        self.rows = [row for course in self.deck["courses"] for row in [self._row(course)]]

    def cost(self) -> float:
        """Return the least cost of any layout; endless where none is as cheap as the plan's."""
        self._choose([], [], 0.0)
        return self.best if self.met else math.inf

    # -- one course ------------------------------------------------------------------------

    def _row(self, course: dict[str, Any]) -> tuple[Row, ...]:
        ((start, stop),) = course["segments"]
        length = self.board["length"]
        inside = stop - start
        out = []
        assert inside > length, "a deck no longer than a board has no joint to place"
        # The first piece is at most a board long, so is the last: that gives the joints' number.
        least = max(math.ceil(inside / length - TINY) - 1, 0)
        for joints in {least, least + 1} - {0}:
            cells = _undominated(self._cells(course, start, stop, joints))
            if cells:
                out.append(Row(start, stop, course["y1"] - course["y0"], joints, cells))
        return tuple(out)

    def _cells(
        self, course: dict[str, Any], start: float, stop: float, joints: int
    ) -> Iterator[Cell]:
        length = self.board["length"]
        supports = list(self._supports(course["y0"], course["y1"]))
        # Room for the first and the last piece: neither too short to lay at all, nor longer than a
        # board.
        least = self.pack["board.shortest.supported"]
        low = max(start + least, stop - joints * length)
        high = min(start + length, stop - (joints - 1) * length - least)
        for chosen in itertools.product(supports, repeat=joints):
            bounds = [(a - m * length, b - m * length) for m, (a, b, _) in enumerate(chosen)]
            lowest = max([low, *(b[0] for b in bounds)])
            highest = min([high, *(b[1] for b in bounds)])
            if lowest <= highest + TINY:
                price = sum(c for _, _, c in chosen)
                yield from self._ends(course, (start, stop), joints, (lowest, highest), price)

    def _between(
        self, course: dict[str, Any], joints: int, low: float, high: float, cost: float
    ) -> Iterator[tuple[float, float, float]]:
        """Yield parts of a stretch of the first joint, each with the cost of boards that are short.

        A whole board is short where it is shorter than two bays and bears on fewer than three.
        """
        length, bearing = self.board["length"], self.pack["joint.bearing"]
        if length >= self.pack["board.shortest.bays"] * (self.ground.spacing() or 0.0) - TINY:
            yield low, high, cost
            return
        lines = self.ground.joists.values()
        faces = [_faces(line, course["y0"], course["y1"]) for line in lines]
        # It bears on a joist that it starts no later than, and stops no earlier than.
        reach = [(a[1] + bearing - length, b[0] - bearing) for a, b in faces]
        marks = {x - k * length for bounds in reach for x in bounds for k in range(joints)}
        edges = [low, *sorted(x for x in marks if low < x < high), high]
        spots = [(x, x) for x in edges] + list(itertools.pairwise(edges))
        for a, b in spots:
            starts = [(a + b) / 2 + k * length for k in range(joints - 1)]
            borne = [sum(p - TINY <= x <= q + TINY for p, q in reach) for x in starts]
            few = sum(count < self.pack["board.shortest.joists"] for count in borne)
            yield a, b, cost + few * self.weights["short"]

    def _supports(self, y0: float, y1: float) -> Iterator[tuple[float, float, float]]:
        """Yield from where to where a joint may lie on what, and what that costs."""
        bearing, wide = self.pack["joint.bearing"], self.pack["noggin.breadth"]
        lines = [self.ground.start, *self.ground.joists.values(), self.ground.end]
        for line in lines[1:-1]:
            left, right = _faces(line, y0, y1)
            yield left[1] + bearing, right[0] - bearing, 0.0
            cleat = self.weights["cleat"]
            yield right[1] - bearing, right[0] + wide - bearing, cleat
            yield left[1] - wide + bearing, left[0] + bearing, cleat
            # A cleat carries both boards wherever joist and cleat together do.
            yield left[1] + bearing, right[0] + wide - bearing, cleat
            yield left[1] - wide + bearing, right[0] - bearing, cleat
        for a, b in itertools.pairwise(lines):
            low, high = _faces(a, y0, y1)[1][1], _faces(b, y0, y1)[0][0]
            yield low + wide / 2, high - wide / 2, self.weights["frame"]

    def _ends(
        self, course: dict[str, Any], ends: Bounds, joints: int, bounds: Bounds, price: float
    ) -> Iterator[Cell]:
        """Yield the cells of one choice of supports, by what the first and last piece are."""
        start, stop = ends
        length, cut, short = self.board["length"], self.weights["cut"], self.weights["short"]
        first, last = self._shortest(course, start, stop)
        shift = (joints - 1) * length
        # First joint: not short from here on; last piece: not short up to here.
        kinds_first = [
            (first, FREE, cut, False),
            (-FREE, FREE, cut + short, False),
            (start + length, start + length, short * (start + length < first - TINY), True),
        ]
        kinds_last = [
            (-FREE, last - shift, cut, False),
            (-FREE, FREE, cut + short, False),
            (
                stop - length - shift,
                stop - length - shift,
                short * (stop - length > last + TINY),
                True,
            ),
        ]
        for a, b in itertools.product(kinds_first, kinds_last):
            low, high = max(bounds[0], a[0], b[0]), min(bounds[1], a[1], b[1])
            if low <= high + TINY:
                for start_, stop_, cost in self._between(course, joints, low, high, price):
                    yield Cell(start_, stop_, cost + a[2] + b[2], (a[3], b[3]))

    def _shortest(self, course: dict[str, Any], start: float, stop: float) -> Bounds:
        """Return from where the first piece is long enough, and up to where the last one is."""
        two = self.pack["board.shortest.bays"] * (self.ground.spacing() or 0.0)
        three, bearing = self.pack["board.shortest.joists"], self.pack["joint.bearing"]
        faces = [_faces(line, course["y0"], course["y1"]) for line in self.ground.joists.values()]
        first, last = start + two, stop - two
        inside = [(a, b) for a, b in faces if b[0] - start >= bearing and stop - a[1] >= bearing]
        if len(inside) >= three:
            first = min(first, inside[three - 1][0][1] + bearing)
            last = max(last, inside[-three][1][0] - bearing)
        return first, last

    # -- all courses -----------------------------------------------------------------------

    def _choose(self, rows: list[Row], cells: list[Cell], cost: float) -> None:
        """Go through every choice of cells, dearest ones only as far as they can still pay."""
        length = self.board["length"]
        if len(rows) == len(self.rows):
            self._boards(rows, cells, cost)
            return
        area = sum((r[0].stop - r[0].start) * r[0].width for r in self.rows)
        least = math.ceil(area / (length * self.board["width"]) - TINY) * self.weights["board"]
        later = [min(c.cost for row in r for c in row.cells) for r in self.rows[len(rows) + 1 :]]
        for row in self.rows[len(rows)]:
            for cell in row.cells:
                if cost + cell.cost + sum(later) + least < self.best - TINY:
                    self._choose([*rows, row], [*cells, cell], cost + cell.cost)

    def _boards(self, rows: list[Row], cells: list[Cell], cost: float) -> None:
        """Go through every way to take two pieces out of one board."""
        firsts = [i for i, cell in enumerate(cells) if not cell.whole[0]]
        lasts = [i for i, cell in enumerate(cells) if not cell.whole[1]]
        whole = [row.joints - 1 + sum(cell.whole) for row, cell in zip(rows, cells, strict=True)]
        plans = []
        for pairs in _matchings(firsts, lasts):
            bins = [{i, j} for i, j in pairs]
            bins += [{i} for i in set(firsts) - {i for i, _ in pairs}]
            bins += [{j} for j in set(lasts) - {j for _, j in pairs}]
            total = len(bins) + sum(whole) - self._ripped(rows, bins, whole)
            price = cost + total * self.weights["board"]
            if price < self.best - TINY:
                plans.append((price, pairs))
        for price, pairs in sorted(plans, key=lambda p: p[0]):
            if price < self.best - TINY and self._possible(rows, cells, pairs):
                self.best, self.met = price, True

    def _ripped(self, rows: list[Row], bins: list[set[int]], whole: list[int]) -> int:
        """Return how many boards are saved by ripping first and last course from one board."""
        last = len(rows) - 1
        both = rows[0].width + rows[last].width + self.pack["board.kerf"]
        if last == 0 or both > self.board["width"] + TINY:
            return 0
        mine, other = (sum(b == {k} for b in bins) + whole[k] for k in (0, last))
        return min(mine, other)

    def _possible(self, rows: list[Row], cells: list[Cell], pairs: list[tuple[int, int]]) -> bool:
        """Say whether first joints can be found for all that was chosen."""
        n = len(rows)
        length, kerf = self.board["length"], self.pack["board.kerf"]
        most = [[FREE] * (n + 1) for _ in range(n + 1)]  # x[i] - x[j] is at most most[i][j]
        for i, cell in enumerate(cells):
            most[i][n], most[n][i] = cell.high, -cell.low
        for i, j in pairs:
            # First piece of i and last one of j, with a saw cut between them, in one board.
            last = rows[j].stop - (rows[j].joints - 1) * length
            room = length - kerf + rows[i].start - last
            if i == j:
                if room < -TINY:
                    return False
            else:
                most[i][j] = min(most[i][j], room)
        return self._staggered(rows, most, 0)

    def _staggered(self, rows: list[Row], most: list[list[float]], course: int) -> bool:
        """Try every side on which a course's joints may pass those of the next."""
        if not _feasible(most):
            return False
        if course == len(rows) - 1:
            return True
        length, apart = self.board["length"], self.pack["joint.stagger"]
        shifts = sorted(
            {
                (b - a) * length
                for a in range(rows[course].joints)
                for b in range(rows[course + 1].joints)
            }
        )
        # x of this course less x of the next lies in one of the gaps between forbidden stretches.
        edges = [-FREE, *(e for s in shifts for e in (s - apart, s + apart)), FREE]
        for low, high in zip(edges[::2], edges[1::2], strict=True):
            if low <= high:
                tried = [row[:] for row in most]
                i, j = course, course + 1
                tried[i][j] = min(tried[i][j], high)
                tried[j][i] = min(tried[j][i], -low)
                if self._staggered(rows, tried, course + 1):
                    return True
        return False


def _undominated(cells: Iterable[Cell]) -> tuple[Cell, ...]:
    """Return cells by cost, without those that lie within a cell that costs no more."""
    out: list[Cell] = []
    for cell in sorted(cells, key=lambda c: (c.cost, c.low - c.high)):
        if not any(
            c.low <= cell.low + TINY and cell.high <= c.high + TINY and c.whole == cell.whole
            for c in out
        ):
            out.append(cell)
    return tuple(out)


def _faces(line: Line, y0: float, y1: float) -> tuple[Bounds, Bounds]:
    """Return least and greatest x of a joist's left and right face over a course."""
    ys = line.kinks(y0, y1)
    left, right = [line.left(y) for y in ys], [line.right(y) for y in ys]
    return (min(left), max(left)), (min(right), max(right))


def _feasible(most: list[list[float]]) -> bool:
    """Say whether bounds on differences leave any solution: no cycle may be negative."""
    n = len(most)
    path = [row[:] for row in most]
    for k, i, j in itertools.product(range(n), repeat=3):
        path[i][j] = min(path[i][j], path[i][k] + path[k][j])
    return all(path[i][i] >= -TINY for i in range(n))


def _matchings(firsts: list[int], lasts: list[int]) -> Iterator[list[tuple[int, int]]]:
    """Yield every way to pair some of one with some of the other."""
    if not firsts:
        yield []
        return
    head, *rest = firsts
    yield from _matchings(rest, lasts)
    for last in lasts:
        for more in _matchings(rest, [k for k in lasts if k != last]):
            yield [(head, last), *more]
