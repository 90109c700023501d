"""Where the joists really lie: every member as a line in the plane, every bay at every place."""

from __future__ import annotations

import bisect
import itertools
import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

Point = tuple[float, float]

_FURTHER = 1000.0
"""How far along a member a second place is set out from its angle [mm]."""
_APART = 1.0
"""Places nearer to each other along a member than this say nothing of its direction [mm]."""


@dataclass(frozen=True)
class Reach:
    """How far a member's faces reach over a stretch of y [mm].

    ``left`` and ``right`` bound what is timber at every y of the stretch; ``least`` and ``most``
    bound what is timber at any y of it.
    """

    left: float
    right: float
    least: float
    most: float


@dataclass(frozen=True)
class Member:
    """A joist or a wall's face: points of its centre by y, its breadth and depth [mm].

    A wall has breadth 0. ``added`` is 0 for a joist that is there already and counts from 1 the
    ones that the plan adds in the bay after joist ``index``. ``pad`` is the breadth of a timber
    that doubles it on its left and on its right. ``timber`` says that it is none of these but a
    timber that the plan sets along a bay. Faces are taken square to x, which is
    half a breadth from the centre; at one degree of skew that errs by 0.004 mm.

    ``laps`` holds from which y to which [mm] it goes over, above a beam or a spine wall, from one
    timber to another beside it. Where in there either of them ends nobody has read: what it takes
    up is what both would, what it bears is what either would.
    """

    name: str
    index: int
    points: tuple[Point, ...]
    breadth: float
    depth: float
    added: int = 0
    wall: bool = False
    pad: tuple[float, float] = (0.0, 0.0)
    timber: bool = False
    laps: tuple[tuple[float, float], ...] = ()

    @cached_property
    def _timbers(self) -> tuple[Member, ...]:
        """Return the timbers that it is made of, each going on straight beyond its own points."""
        limits = [-math.inf, *(y for lap in self.laps for y in lap), math.inf]
        stretches = zip(limits[::2], limits[1::2], strict=True)
        return tuple(
            replace(self, laps=(), points=tuple(p for p in self.points if low <= p[1] <= high))
            for low, high in stretches
        )

    def _there(self, y0: float, y1: float) -> list[tuple[Member, float, float]]:
        """Return the timbers that may lie from ``y0`` to ``y1``, each with its part [mm]."""
        starts = [-math.inf, *(low for low, _ in self.laps)]
        stops = [*(high for _, high in self.laps), math.inf]
        parts = zip(self._timbers, starts, stops, strict=True)
        cut = [(timber, max(a, y0), min(b, y1)) for timber, a, b in parts]
        return [(timber, a, b) for timber, a, b in cut if a <= b]

    @property
    def has_direction(self) -> bool:
        """Say whether its places tell which way it runs."""
        ys = self._ys
        return len(ys) > 1 and all(b - a >= _APART for a, b in itertools.pairwise(ys))

    def in_lap(self, low: float, high: float) -> bool:
        """Say whether it goes over to another timber anywhere from one y to another [mm]."""
        return any(a < high and low < b for a, b in self.laps)

    @cached_property
    def _ys(self) -> list[float]:
        return [y for _, y in self.points]

    def centre(self, y: float) -> float:
        """Return its centre's x at ``y`` [mm]; beyond its points it goes on straight."""
        points = self.points
        if len(points) == 1:
            return points[0][0]
        k = min(max(bisect.bisect_right(self._ys, y), 1), len(points) - 1)
        (xa, ya), (xb, yb) = points[k - 1], points[k]
        return xa + (xb - xa) * (y - ya) / (yb - ya)

    def left(self, y: float) -> float:
        """Return the x of its face towards the start wall [mm]."""
        if self.laps:
            return min(timber.left(y) for timber, _, _ in self._there(y, y))
        return self.centre(y) - self.breadth / 2 - self.pad[0]

    def right(self, y: float) -> float:
        """Return the x of its face towards the end wall [mm]."""
        if self.laps:
            return max(timber.right(y) for timber, _, _ in self._there(y, y))
        return self.centre(y) + self.breadth / 2 + self.pad[1]

    def reach(self, y0: float, y1: float) -> Reach:
        """Return how far its faces reach from ``y0`` to ``y1`` [mm].

        Where it goes over to another timber, ``left`` may lie beyond ``right``: nothing is timber
        whichever of the two is there.
        """
        if self.laps:
            all_ = [timber.reach(a, b) for timber, a, b in self._there(y0, y1)]
            return Reach(
                max(r.left for r in all_),
                min(r.right for r in all_),
                min(r.least for r in all_),
                max(r.most for r in all_),
            )
        centres = [self.centre(y0), self.centre(y1)]
        centres += [x for x, y in self.points if y0 < y < y1]
        low, high, half = min(centres), max(centres), self.breadth / 2
        # Boards bear on the joist itself; what doubles it only takes up room.
        least, most = low - half - self.pad[0], high + half + self.pad[1]
        return Reach(high - half, low + half, least, most)

    def label(self) -> dict[str, int]:
        """Return how a joint names it."""
        return {"joist": self.index, "added": self.added} if self.added else {"joist": self.index}


@dataclass(frozen=True)
class Bay:
    """The space between two neighbouring members; ``number`` is the survey's own bay."""

    number: int
    left: Member
    right: Member

    @property
    def beside_wall(self) -> bool:
        """Say whether one side of it is a wall."""
        return self.left.wall or self.right.wall

    def gap(self, y: float) -> float:
        """Return the clear gap at ``y`` [mm]."""
        return self.right.left(y) - self.left.right(y)

    def centres(self, y: float) -> float:
        """Return centre to centre at ``y`` [mm]; from the face where one side is a wall."""
        return self.right.centre(y) - self.left.centre(y)

    def in_lap(self, low: float, high: float) -> bool:
        """Say whether a side of it goes over to another timber anywhere from y to y [mm]."""
        return self.left.in_lap(low, high) or self.right.in_lap(low, high)

    def bends(self, y0: float, y1: float) -> list[float]:
        """Return the ys [mm] from ``y0`` to ``y1`` between which both sides are straight."""
        inner = {y for side in (self.left, self.right) for _, y in side.points if y0 < y < y1}
        return [y0, *sorted(inner), y1]


@dataclass(frozen=True)
class Ground:
    """All members of a run from the start wall to the end wall, and what is known of the bays.

    ``sds`` holds, by the survey's bay and then by y of the tape line, a gap's deviation [mm].
    """

    members: tuple[Member, ...]
    sds: dict[int, tuple[tuple[float, float], ...]]

    @cached_property
    def bays(self) -> tuple[Bay, ...]:
        """Return the bays between neighbouring members."""
        pairs = zip(self.members, self.members[1:], strict=False)
        return tuple(Bay(a.index, a, b) for a, b in pairs)

    @property
    def joists(self) -> tuple[Member, ...]:
        """Return the members without the walls."""
        return self.members[1:-1]

    @cached_property
    def laps(self) -> tuple[tuple[float, float], ...]:
        """Return from which y to which each lap lies, over all joists [mm]."""
        return tuple(
            (min(low for low, _ in lap), max(high for _, high in lap)) for lap in self.each_lap
        )

    @cached_property
    def each_lap(self) -> tuple[tuple[tuple[float, float], ...], ...]:
        """Return each lap as it lies at every joist that has one: added ones are of one piece."""
        return tuple(zip(*(m.laps for m in self.joists if m.laps), strict=True))

    def sd(self, bay: int, y: float) -> float:
        """Return the standard deviation of a bay's gap at ``y`` [mm].

        Between tape lines it is weighted as the gap is; beyond them it grows with the distance.
        """
        known = self.sds.get(bay, ())
        if not known:
            return 0.0
        if len(known) == 1:
            return known[0][1]
        k = min(max(bisect.bisect_right([q for q, _ in known], y), 1), len(known) - 1)
        (ya, sa), (yb, sb) = known[k - 1], known[k]
        t = (y - ya) / (yb - ya)
        return math.hypot((1 - t) * sa, t * sb)

    def with_added(self, added: Sequence[Member]) -> Ground:
        """Return the ground with further joists, each in its place."""
        members = sorted(
            [*self.members, *added], key=lambda m: (m.index, m.added if not m.wall else 0)
        )
        return replace(self, members=tuple(members))


def ground(run: dict[str, Any]) -> Ground:
    """Return the ground of one run of an as-built whose places are all determined."""
    joists, pairs = run["joists"], run.get("laps") or []
    walls = run["walls"]
    members = [
        _member(walls["start"], "wall", breadth=0, depth=0, wall=True),
        *(
            replace(
                _member(
                    j,
                    f"J{j['index']}",
                    breadth=_size(run, j, "breadth"),
                    depth=_size(run, j, "depth"),
                ),
                laps=_laps(j, pairs),
            )
            for j in joists
        ),
        _member(walls["end"], "wall", breadth=0, depth=0, wall=True),
    ]
    heights = _line_heights(run)
    sds = {
        bay["bay"]: tuple(
            sorted(
                (heights[line], at["sd"])
                for line, at in bay["at"].items()
                if at["sd"] is not None and line in heights
            )
        )
        for bay in run["bays"]
    }
    return Ground(tuple(members), sds)


def _member(
    record: dict[str, Any], name: str, *, breadth: float, depth: float, wall: bool = False
) -> Member:
    points = [at["point"] for at in record["at"].values() if at["point"] is not None]
    if len(points) == 1 and record.get("angle") is not None:
        # One place and a direction are a line as well.
        (x, y) = points[0]
        points.append([x + _FURTHER * math.tan(math.radians(record["angle"])), y + _FURTHER])
    ordered = tuple(sorted(((x, y) for x, y in points), key=lambda p: p[1]))
    return Member(name, record["index"], ordered, breadth, depth, wall=wall)


def _laps(joist: dict[str, Any], pairs: list[list[str]]) -> tuple[tuple[float, float], ...]:
    """Return from which y to which a joist laps, between the tape lines that enclose it [mm]."""
    ends = [[joist["at"][line]["point"] for line in pair] for pair in pairs]
    return tuple(sorted((one[1], other[1]) for one, other in ends))


def _size(run: dict[str, Any], joist: dict[str, Any], name: str) -> float:
    """Return a joist's breadth or depth [mm], the usual one where it has none; 0 unknown."""
    known = joist[name] or {}
    return float(known.get("value") or run["member"].get(name) or 0)


def _line_heights(run: dict[str, Any]) -> dict[str, float]:
    """Return each tape line's mean y [mm], where it is tied to the plane."""
    out = {}
    for line in run["lines"]:
        ys = [
            joist["at"][line]["point"][1]
            for joist in run["joists"]
            if line in joist["at"] and joist["at"][line]["point"] is not None
        ]
        if ys:
            out[line] = sum(ys) / len(ys)
    return out
