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
    from collections.abc import Iterable, Iterator, Sequence

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
    """A course, or the part of one between butted joints: its limits, its width, its joints.

    One without a joint is a single piece.
    """

    course: int
    start: float
    stop: float
    width: float
    joints: int
    cells: tuple[Cell, ...]


class Search:
    """Looks at every layout of a rectangular deck for which the plan gives the courses."""

    def __init__(
        self,
        plan: dict[str, Any],
        as_built: dict[str, Any],
        pack: Pack,
        *,
        best: float | None = None,
        splits: Sequence[tuple[int, float]] = (),
        walls: bool = True,
    ) -> None:
        """Take a plan and what it is of.

        Layouts dearer than ``best``, the plan's own cost, are passed over. ``splits`` are courses
        and xs [mm] where one is parted by a butted joint; ``walls`` lets frames stand between a
        joist and a wall.
        """
        (self.deck,) = plan["decks"]
        known = ground(as_built["runs"][0])
        assert known
        self.ground: Ground = known
        self.pack = pack
        self.weights = self.deck["proof"]["weights"]
        self.board = self.deck["deck"]["board"]
        # Only what is no dearer than the plan is of interest; the plan's own cost is to be met.
        self.best = (self.deck["proof"]["cost"] if best is None else best) + 0.01
        self.met = False
        self.splits, self.walls = splits, walls
        self.rows = [
            self._row(course, *part)
            for course in self.deck["courses"]
            for part in self._parts(course)
        ]

    def cost(self) -> float:
        """Return the least cost of any layout; endless where none is as cheap as the plan's."""
        self._choose([], [], 0.0)
        return self.best if self.met else math.inf

    def possible(self) -> bool:
        """Say whether there is any layout at all, whatever it costs."""
        options = [
            [(row, bounds) for row in rows for bounds in _merged(row.cells)] for rows in self.rows
        ]
        for chosen in itertools.product(*options):
            rows = [row for row, _ in chosen]
            n = len(rows)
            most = [[FREE] * (n + 1) for _ in range(n + 1)]
            for i, (_, (low, high)) in enumerate(chosen):
                most[i][n], most[n][i] = high, -low
            if self._staggered(rows, most, _neighbours(rows)):
                return True
        return False

    # -- one course ------------------------------------------------------------------------

    def _parts(self, course: dict[str, Any]) -> list[tuple[float, float, float]]:
        """Return from where to where a course goes in one, and 1 where a tongue must come off.

        Laid from the near edge a board has its tongue at the right: there it would meet a cut.
        """
        ((start, stop),) = course["segments"]
        own = sorted(x for index, x in self.splits if index == course["index"])
        marks = [start, *own, stop]
        return [(a, b, float(b < stop)) for a, b in itertools.pairwise(marks)]

    def _row(
        self, course: dict[str, Any], start: float, stop: float, off: float
    ) -> tuple[Row, ...]:
        length, index = self.board["length"], course["index"]
        width = course["y1"] - course["y0"]
        inside = stop - start
        if inside <= length + TINY:
            cell = self._single(course, start, stop, off)
            return (Row(index, start, stop, width, 0, (cell,)),) if cell else ()
        out = []
        # The first piece is at most a board long, so is the last: that gives the joints' number.
        least = max(math.ceil(inside / length - TINY) - 1, 0)
        for joints in {least, least + 1} - {0}:
            cells = _undominated(self._cells(course, start, stop, joints, off))
            if cells:
                out.append(Row(index, start, stop, width, joints, cells))
        return tuple(out)

    def _single(self, course: dict[str, Any], start: float, stop: float, off: float) -> Cell | None:
        """Return the cell of a part that one piece covers."""
        length, inside = self.board["length"], stop - start
        assert self.splits, "a deck no longer than a board has no joint to place"
        if inside < self.pack["board.shortest.supported"]:
            return None
        cuts = 1 if off or inside < length - TINY else 0
        first, _ = self._shortest(course, start, stop)
        cost = cuts * self.weights["cut"] + (first > stop + TINY) * self.weights["short"]
        return Cell(0.0, 0.0, cost, (False, inside > length - TINY))

    def _cells(
        self, course: dict[str, Any], start: float, stop: float, joints: int, off: float
    ) -> Iterator[Cell]:
        length = self.board["length"]
        supports = list(self._supports(course["y0"], course["y1"]))
        # Room for the first and the last piece: neither too short to lay at all, nor longer than a
        # board.
        least = self.pack["board.shortest.supported"]
        low = max(start + least, stop - joints * length)
        high = min(start + length, stop - (joints - 1) * length - least)
        for bounds, price in self._chosen(supports, joints, (low, high)):
            for part in self._clear(course, joints, bounds):
                yield from self._ends(course, (start, stop), joints, part, price, off)

    def _chosen(
        self, supports: list[tuple[float, float, float]], joints: int, bounds: Bounds
    ) -> Iterator[tuple[Bounds, float]]:
        """Yield every choice of supports with the first joint's bounds, and what it costs."""
        found = [(bounds, 0.0)]
        for m in range(joints):
            shift = m * self.board["length"]
            found = [
                ((max(low, a - shift), min(high, b - shift)), cost + price)
                for (low, high), cost in found
                for a, b, price in supports
                if max(low, a - shift) <= min(high, b - shift) + TINY
            ]
        yield from found

    def _clear(self, course: dict[str, Any], joints: int, bounds: Bounds) -> list[Bounds]:
        """Return what is left of bounds of a first joint clear of neighbours' butted joints."""
        length, apart = self.board["length"], self.pack["joint.stagger"]
        left = [bounds]
        for index, x in self.splits:
            for k in range(joints) if abs(index - course["index"]) == 1 else ():
                low, high = x - apart - k * length, x + apart - k * length
                left = [p for a, b in left for p in ((a, min(b, low)), (max(a, high), b))]
        return [(a, b) for a, b in left if a <= b + TINY]

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
        between = list(itertools.pairwise(lines))
        for a, b in between if self.walls else between[1:-1]:
            low, high = _faces(a, y0, y1)[1][1], _faces(b, y0, y1)[0][0]
            yield low + wide / 2, high - wide / 2, self.weights["frame"]

    def _ends(
        self,
        course: dict[str, Any],
        ends: Bounds,
        joints: int,
        bounds: Bounds,
        price: float,
        off: float,
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
                short * (stop - length > last + TINY) + cut * off,
                True,
            ),
        ]
        for a, b in itertools.product(kinds_first, kinds_last):
            low, high = max(bounds[0], a[0], b[0]), min(bounds[1], a[1], b[1])
            if low <= high + TINY:
                for near, far, cost in self._between(course, joints, low, high, price):
                    yield Cell(near, far, cost + a[2] + b[2], (a[3], b[3]))

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
        """Go through every way to take pieces out of boards."""
        parts = list(zip(rows, cells, strict=True))
        firsts = [i for i, (row, cell) in enumerate(parts) if row.joints and not cell.whole[0]]
        lasts = [i for i, (row, cell) in enumerate(parts) if row.joints and not cell.whole[1]]
        singles = [i for i, (row, cell) in enumerate(parts) if not row.joints and not cell.whole[1]]
        whole = [
            row.joints - 1 + sum(cell.whole) if row.joints else int(cell.whole[1])
            for row, cell in parts
        ]
        plans = []
        for pairs in _matchings(firsts, lasts):
            alone = [(i, None) for i in sorted(set(firsts) - {i for i, _ in pairs})]
            bins = [
                *pairs,
                *alone,
                *((None, j) for j in sorted(set(lasts) - {j for _, j in pairs})),
            ]
            sets = [set(pair) - {None} for pair in bins]
            saved = self._ripped(rows, sets, whole) if not singles else 0
            for more, fresh in _spread(singles, len(bins)):
                total = len(bins) + fresh + sum(whole) - saved
                price = cost + total * self.weights["board"]
                if price < self.best - TINY:
                    plans.append((price, bins, more))
        for price, bins, more in sorted(plans, key=lambda p: p[0]):
            if price < self.best - TINY and self._possible(rows, cells, bins, more):
                self.best, self.met = price, True

    def _ripped(self, rows: list[Row], bins: list[set[int]], whole: list[int]) -> int:
        """Return how many boards are saved by ripping first and last course from one board."""
        last = len(rows) - 1
        both = rows[0].width + rows[last].width + self.pack["board.kerf"]
        if last == 0 or both > self.board["width"] + TINY:
            return 0
        mine, other = (sum(b == {k} for b in bins) + whole[k] for k in (0, last))
        return min(mine, other)

    def _possible(
        self,
        rows: list[Row],
        cells: list[Cell],
        bins: list[tuple[int | None, int | None]],
        more: list[list[int]],
    ) -> bool:
        """Say whether first joints can be found for all that was chosen.

        ``bins`` are boards by whose first and whose last piece they hold, ``more`` the single
        pieces in each, and then in boards of their own.
        """
        n = len(rows)
        length, kerf = self.board["length"], self.pack["board.kerf"]
        most = [[FREE] * (n + 1) for _ in range(n + 1)]  # x[i] - x[j] is at most most[i][j]
        for i, cell in enumerate(cells):
            most[i][n], most[n][i] = cell.high, -cell.low
        empty = [(None, None)] * (len(more) - len(bins))
        for (i, j), held in zip([*bins, *empty], more, strict=True):
            taken = [rows[k].stop - rows[k].start + kerf for k in held]
            # What is left for the ends once the single pieces are off, a saw cut after each.
            room = length - sum(taken)
            if i is None and j is None:
                if room + kerf < -TINY:
                    return False
            elif j is None and i is not None and held:
                most[i][n] = min(most[i][n], room + rows[i].start)
            elif i is None and j is not None and held:
                last = rows[j].stop - (rows[j].joints - 1) * length
                most[n][j] = min(most[n][j], room - last)
            elif i is not None and j is not None:
                # First piece of i and last one of j, with a saw cut between them, in one board.
                last = rows[j].stop - (rows[j].joints - 1) * length
                both = room - kerf + rows[i].start - last
                if i == j:
                    if both < -TINY:
                        return False
                else:
                    most[i][j] = min(most[i][j], both)
        return self._staggered(rows, most, _neighbours(rows))

    def _staggered(
        self, rows: list[Row], most: list[list[float]], pairs: list[tuple[int, int]]
    ) -> bool:
        """Try every side on which a course's joints may pass those of the next."""
        if not _feasible(most):
            return False
        if not pairs:
            return True
        (i, j), *later = pairs
        length, apart = self.board["length"], self.pack["joint.stagger"]
        shifts = sorted(
            {(b - a) * length for a in range(rows[i].joints) for b in range(rows[j].joints)}
        )
        # x of this row less x of the next lies in one of the gaps between forbidden stretches.
        edges = [-FREE, *(e for s in shifts for e in (s - apart, s + apart)), FREE]
        for low, high in zip(edges[::2], edges[1::2], strict=True):
            if low <= high:
                tried = [row[:] for row in most]
                tried[i][j] = min(tried[i][j], high)
                tried[j][i] = min(tried[j][i], -low)
                if self._staggered(rows, tried, later):
                    return True
        return False


def parted(
    plan: dict[str, Any], as_built: dict[str, Any], pack: Pack, count: int
) -> Iterator[Search]:
    """Yield a search for every way to part courses so many times on joists, at three places each.

    Butted joints of neighbours keep apart as all joints do, and lie on different joists.
    """
    (deck,) = plan["decks"]
    known = ground(as_built["runs"][0])
    assert known
    bearing, apart = pack["joint.bearing"], pack["joint.stagger"]
    spots = []
    for course in deck["courses"]:
        for number, line in known.joists.items():
            left, right = _faces(line, course["y0"], course["y1"])
            low, high = left[1] + bearing + 0.02, right[0] - bearing - 0.02
            spots += [(course["index"], x, number) for x in (low, (low + high) / 2, high)]
    best = deck["proof"]["cost"]
    for chosen in itertools.combinations(spots, count):
        clear = all(
            abs(a[0] - b[0]) > 1 or (abs(a[1] - b[1]) >= apart and a[2] != b[2])
            for a, b in itertools.combinations(chosen, 2)
        )
        if clear:
            splits = [(index, x) for index, x, _ in chosen]
            search = Search(plan, as_built, pack, best=best, splits=splits, walls=False)
            if all(search.rows):
                yield search
                best = min(best, search.best)


def _neighbours(rows: list[Row]) -> list[tuple[int, int]]:
    """Return the pairs of rows with joints that lie in courses beside one another."""
    return [
        (i, j)
        for i, j in itertools.permutations(range(len(rows)), 2)
        if rows[j].course == rows[i].course + 1 and rows[i].joints and rows[j].joints
    ]


def _merged(cells: Sequence[Cell]) -> list[Bounds]:
    """Return the stretches that cells cover together."""
    out: list[Bounds] = []
    for low, high in sorted((cell.low, cell.high) for cell in cells):
        if out and low <= out[-1][1] + TINY:
            out[-1] = (out[-1][0], max(out[-1][1], high))
        else:
            out.append((low, high))
    return out


def _spread(singles: list[int], bins: int) -> Iterator[tuple[list[list[int]], int]]:
    """Yield every way to put single pieces in boards that are there, or in ones of their own."""

    def put(k: int, held: list[list[int]]) -> Iterator[list[list[int]]]:
        if k == len(singles):
            yield held
            return
        for place in range(len(held) + 1):
            more = [list(own) for own in held] + [[]] * (place == len(held))
            more[place] = [*more[place], singles[k]]
            yield from put(k + 1, more)

    for held in put(0, [[] for _ in range(bins)]):
        yield held, len(held) - bins


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
