"""The ways to lay a course: where its first end joint lies decides all others.

Between two walls every joint is tongue and groove, so whole boards lie between the first piece and
the last one, and the joints follow at a board's length from the first. A *way* is a stretch of
places for the first joint over which everything else stays the same: what carries each joint, how
many boards there are, which ends are sawn.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from baywalk.planning.layout.zones import CLEAT, FRAME, Zone

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from baywalk.planning.choices import Weights
    from baywalk.planning.courses import Segment
    from baywalk.planning.ground import Ground
    from baywalk.rules import Pack

    Floats = NDArray[np.float64]

EPS = 1e-6
"""Lengths within this of one another are equal [mm]."""
HAIR = 1e-4
"""What it weighs to lay a course otherwise than planned before, in the money of the rules."""


@dataclass(frozen=True)
class Limits:
    """Between which places the joints of a segment may lie [mm].

    Before ``first`` the first piece, and past ``last`` the last one, is so short that it needs
    support on every edge; none is shorter than ``least``. ``sawn`` says whether the segment's ends
    must be sawn. A piece shorter than ``two`` bays is short as well unless it bears on ``count`` of
    the joists; on each it does from the one place of ``bears`` to the other.
    """

    x0: float
    x1: float
    first: float
    last: float
    least: float
    sawn: tuple[bool, bool]
    two: float = 0.0
    count: int = 0
    bears: tuple[tuple[float, float], ...] = ()

    def too_short(self, low: Floats, high: Floats) -> NDArray[np.bool_]:
        """Say of pieces from ``low`` to ``high`` [mm] whether each is too short to go without."""
        on = np.zeros(len(low), np.int64)
        for first, last in self.bears:
            on += (low <= last + EPS) & (high >= first - EPS)
        few: NDArray[np.bool_] = (high - low < self.two - EPS) & (on < self.count)
        return few

    @property
    def short(self) -> bool:
        """Say whether the whole segment in one piece needs support on every edge."""
        return self.first > self.x1 + EPS


@dataclass(frozen=True)
class Ways:
    """The ways to lay one segment, each an entry of every array; lengths in mm.

    ``low`` and ``high`` bound the first joint. ``joints`` counts the joints, ``whole`` the whole
    boards, ``starts`` and ``ends`` say whether a part board starts or ends the course, ``weight``
    is what joints, cuts and short pieces weigh; ``frames``, ``cleats``, ``cuts``, ``short`` count
    them. A segment without a joint has one way, of ``single`` length. ``fixed`` are the joints [mm]
    of one of which pieces are laid: it has one way, and they need not lie a board's length apart.
    ``kept`` is where its first joint was planned before [mm].
    """

    limits: Limits
    board: float
    low: Floats
    high: Floats
    joints: NDArray[np.int64]
    whole: NDArray[np.int64]
    starts: NDArray[np.bool_]
    ends: NDArray[np.bool_]
    weight: Floats
    frames: NDArray[np.int64]
    cleats: NDArray[np.int64]
    cuts: NDArray[np.int64]
    short: NDArray[np.int64]
    single: float = 0.0
    fixed: tuple[float, ...] | None = None
    kept: float | None = None

    def __len__(self) -> int:
        """Return how many ways there are."""
        return len(self.low)

    def demand(self, place: Floats) -> Floats:
        """Return the length of the first piece [mm] at such places; 0 where it is a whole board."""
        return np.where(self.starts, place - self.limits.x0, 0.0)

    def last(self, place: Floats) -> Floats:
        """Return the length of the last piece [mm] at such places; 0 where it is a whole board."""
        length = self.limits.x1 - self.last_joint(place)
        return np.where(self.ends, length, 0.0)

    def last_joint(self, place: Floats) -> Floats:
        """Return where the last joint lies [mm] with the first at such places."""
        if self.fixed:
            return np.full_like(place, self.fixed[-1])
        at: Floats = place + (self.joints - 1) * self.board
        return at

    def take(self, index: NDArray[np.int64], low: Floats, high: Floats) -> Ways:
        """Return some of the ways, each with new bounds of its first joint [mm]."""
        return Ways(
            self.limits,
            self.board,
            low,
            high,
            self.joints[index],
            self.whole[index],
            self.starts[index],
            self.ends[index],
            self.weight[index],
            self.frames[index],
            self.cleats[index],
            self.cuts[index],
            self.short[index],
            self.single,
            self.fixed,
            self.kept,
        )


def limits(segment: Segment, ground: Ground, pack: Pack, shortest: float) -> Limits:
    """Return the limits of a segment; ``shortest`` [mm] is two bays of the usual centres."""
    x0, x1 = segment.x0, segment.x1
    bearing, count = pack["joint.bearing"], pack["board.shortest.joists"]
    reaches = [
        reach
        for m in ground.joists
        for reach in (m.reach(segment.y0, segment.y1),)
        # One that goes over to another timber bears a piece only where either of them would.
        if not m.laps or reach.right - reach.left >= bearing
    ]
    under = [r for r in reaches if r.right - bearing >= x0 and r.left + bearing <= x1]
    first, last = x0 + shortest, x1 - shortest
    # A piece that bears on three joists may be shorter than two bays.
    if len(under) >= count:
        first = min(first, under[count - 1].left + bearing)
        last = max(last, under[-count].right - bearing)
    least = float(pack["board.shortest.supported"])
    bears = tuple((r.left + bearing, r.right - bearing) for r in under)
    return Limits(x0, x1, first, last, least, slanted(segment), shortest, int(count), bears)


def slanted(segment: Segment) -> tuple[bool, bool]:
    """Say for each end of a segment whether it is anything but one straight square cut."""
    sides = []
    for x in (segment.x0, segment.x1):
        on = [
            y for ring in (segment.polygon.exterior,) for px, y in ring.coords if abs(px - x) < 0.05
        ]
        height = max(on) - min(on) if on else 0.0
        sides.append(height < segment.y1 - segment.y0 - 0.1)
    return sides[0], sides[1]


def ways(
    limits: Limits, zones: Sequence[Zone], board: float, weights: Weights, *, short: bool
) -> Ways:
    """Return all ways to lay a segment from boards ``board`` [mm] long; there may be none.

    ``short`` lets in end pieces so short that they need support on every edge.
    """
    if limits.x1 - limits.x0 <= board + EPS:
        return _single(limits, board, weights)
    low, high = _cells(limits, zones, board)
    middle = (low + high) / 2
    joints = np.ceil((limits.x1 - middle - EPS) / board).astype(np.int64)
    weight, frames, cleats = _carried(middle, joints, zones, board)
    last = middle + (joints - 1) * board
    starts = middle < limits.x0 + board - EPS
    ends = limits.x1 - last < board - EPS
    cuts = (starts | limits.sawn[0]).astype(np.int64) + (ends | limits.sawn[1])
    count = (middle < limits.first - EPS).astype(np.int64) + (last > limits.last + EPS)
    count += _short_between(limits, middle, joints, board)
    found = Ways(
        limits,
        board,
        low,
        high,
        joints,
        joints + 1 - starts - ends,
        starts,
        ends,
        weight + weights.cut * cuts + weights.short * count,
        frames,
        cleats,
        cuts,
        count,
    )
    fits = np.isfinite(weight) & (short | (count == 0)) & (middle >= limits.x0 + limits.least - EPS)
    keep = np.flatnonzero(fits & (last <= limits.x1 - limits.least + EPS))
    return found.take(keep, low[keep], high[keep])


def _short_between(
    limits: Limits, first: Floats, joints: NDArray[np.int64], board: float
) -> NDArray[np.int64]:
    """Return how many whole boards between two joints are too short to go without support."""
    out = np.zeros(len(first), np.int64)
    if board < limits.two - EPS:
        for k in range(int(joints.max(initial=0)) - 1):
            low = first + k * board
            out += (joints > k + 1) & limits.too_short(low, low + board)
    return out


def _single(limits: Limits, board: float, weights: Weights) -> Ways:
    """Return the one way of a segment that a single piece covers."""
    length = limits.x1 - limits.x0
    whole = abs(length - board) < EPS
    # Laid at one end of its board, a piece needs one cut where that end is square.
    cuts = sum(limits.sawn) if whole else max(sum(limits.sawn), 1)
    none, no = np.array([0], np.int64), np.array([False])
    place = np.array([limits.x1])
    short = int(limits.short)
    return Ways(
        limits,
        board,
        place,
        place,
        none,
        np.array([int(whole)], np.int64),
        no,
        no,
        np.array([weights.cut * cuts + weights.short * short]),
        none,
        none,
        np.array([cuts], np.int64),
        np.array([short], np.int64),
        0.0 if whole else length,
    )


def _cells(limits: Limits, zones: Sequence[Zone], board: float) -> tuple[Floats, Floats]:
    """Return stretches of the first joint over which no joint leaves its zone or disappears."""
    most = int(np.ceil((limits.x1 - limits.x0) / board)) + 1
    edges = np.array([e for z in zones for e in (z.low, z.high)] + [limits.x1])
    shifted = (edges[None, :] - board * np.arange(most)[:, None]).ravel()
    marks = [limits.x0 + board, limits.first, limits.x0]
    marks += [limits.x0 + limits.least]
    marks += [e - k * board for e in (limits.last, limits.x1 - limits.least) for k in range(most)]
    if board < limits.two - EPS:
        # Where a whole board comes onto a joist or leaves one, it may become short.
        turns = [e for first, last in limits.bears for e in (first - board, last)]
        marks += [e - k * board for e in turns for k in range(most)]
    cuts = np.unique(np.concatenate([shifted, marks]))
    cuts = cuts[(cuts > limits.x0 + EPS) & (cuts <= limits.x0 + board + EPS)]
    cuts = np.concatenate([[limits.x0], cuts])
    # A whole board at either end is one place, not a stretch.
    points = [limits.x0 + board, *(limits.x1 - k * board for k in range(1, most))]
    points = [p for p in points if limits.x0 + EPS < p <= limits.x0 + board + EPS]
    low = np.concatenate([cuts[:-1], points])
    high = np.concatenate([cuts[1:], points])
    wide = (high - low > 1e-3) | (high == low)
    return low[wide], high[wide]


def _carried(
    first: Floats, joints: NDArray[np.int64], zones: Sequence[Zone], board: float
) -> tuple[Floats, NDArray[np.int64], NDArray[np.int64]]:
    """Return what the joints weigh, infinite where one is carried by nothing, and their counts."""
    weight = np.zeros(len(first))
    frames = np.zeros(len(first), np.int64)
    cleats = np.zeros(len(first), np.int64)
    if not zones:
        return weight + np.inf, frames, cleats
    lows = np.array([z.low for z in zones])
    highs = np.array([z.high for z in zones])
    weights = np.array([z.weight for z in zones])
    is_frame = np.array([z.kind == FRAME for z in zones])
    is_cleat = np.array([z.kind == CLEAT for z in zones])
    for k in range(int(joints.max(initial=0))):
        x = first + k * board
        zone = np.searchsorted(lows, x + EPS, side="right") - 1
        inside = (zone >= 0) & (x <= highs[zone] + EPS)
        here = joints > k
        weight += np.where(here, np.where(inside, weights[zone], np.inf), 0.0)
        frames += here & inside & is_frame[zone]
        cleats += here & inside & is_cleat[zone]
    return weight, frames, cleats


def keep(ways: Ways, place: float) -> Ways:
    """Return ways that are dearer by a hair where their first joint lies elsewhere than before.

    So of two plans that cost the same the one that changes less is taken; ``place`` in mm.
    """
    off = (ways.low > place + EPS) | (ways.high < place - EPS)
    return replace(ways, weight=ways.weight + HAIR * off, kept=place)


def places(ways: Ways, kerf: float) -> Ways:
    """Return each way at a few places of its first joint: its bounds, its middle, a kerf apart.

    Where it was planned before is one of them.
    """
    index: list[int] = []
    at: list[float] = []
    for k in range(len(ways)):
        low, high = float(ways.low[k]), float(ways.high[k])
        few = _few(low, high, kerf)
        if ways.kept is not None and low <= ways.kept <= high:
            few.append(ways.kept)
        for place in few:
            index.append(k)
            at.append(place)
    where = np.array(at, np.float64)
    found_at = np.array(index, np.int64)
    found = ways.take(found_at, where, where)
    if ways.kept is None:
        return found
    here = (ways.low <= ways.kept + EPS) & (ways.high >= ways.kept - EPS)
    off = here[found_at] & (np.abs(where - ways.kept) > EPS)
    return replace(found, weight=found.weight + HAIR * off)


def _few(low: float, high: float, kerf: float) -> list[float]:
    width = high - low
    if width < 0.5:
        return [(low + high) / 2]
    middle = (low + high) / 2
    if width > 8 * kerf:
        return [low, middle, high]
    steps = int(width / 2 // kerf)
    return sorted({low, high, *(middle + k * kerf for k in range(-steps, steps + 1))})
