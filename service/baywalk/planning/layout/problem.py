"""The layout in numbers: courses in chains, each with its ways, and what they weigh."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from baywalk.planning.layout.offcuts import unmatched
from baywalk.planning.layout.stagger import clash

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from baywalk.planning.layout.patterns import Ways

    Floats = NDArray[np.float64]

NEVER = 1e12
"""Weighs more than any deck."""


@dataclass(frozen=True)
class Grid:
    """Each node's ways with their figures ready for adding up.

    ``fixed`` is what joints and cuts weigh, ``boards`` the boards that a way takes for itself,
    ``demand`` the first piece that could come from a rest and ``rest`` what its last piece leaves
    [mm], both 0 where there is none; ``clash`` what two neighbouring nodes weigh together, 0 or
    :data:`NEVER`, by their pair.
    """

    ways: tuple[Ways, ...]
    fixed: tuple[Floats, ...]
    boards: tuple[Floats, ...]
    demand: tuple[Floats, ...]
    rest: tuple[Floats, ...]
    clash: dict[tuple[int, int], Floats]


@dataclass(frozen=True)
class Problem:
    """Nodes (stretches of courses), the pairs of neighbours, and the chains walked for a bound.

    ``wide`` holds ways as stretches, each taken at its best for a bound; ``fine`` ways at single
    places, for plans. ``board`` weighs one board; ``kerf`` is what a saw cut takes and ``apart``
    how far end joints of neighbours stay from one another [mm].
    """

    wide: Grid
    fine: Grid
    chains: tuple[tuple[int, ...], ...]
    board: float
    kerf: float
    apart: float

    def __len__(self) -> int:
        """Return the number of nodes."""
        return len(self.wide.ways)


def grid(ways: Sequence[Ways], pairs: Sequence[tuple[int, int]], apart: float, kerf: float) -> Grid:
    """Return the figures of every node's ways, each way at its best where it is a stretch."""
    lows = [_demand(w) for w in ways]
    rests = [_rest(w, kerf) for w in ways]
    return Grid(
        ways=tuple(ways),
        fixed=tuple(w.weight for w in ways),
        boards=tuple((w.whole + w.ends).astype(np.float64) for w in ways),
        demand=tuple(lows),
        rest=tuple(rests),
        clash={(a, b): np.where(clash(ways[a], ways[b], apart), NEVER, 0.0) for a, b in pairs},
    )


def finer(problem: Problem, keep: Sequence[NDArray[np.intp]], parts: int) -> Grid:
    """Return the wide grid with the ways kept of each node, each cut into ``parts``."""
    ways = []
    for node, kept in enumerate(keep):
        wide = problem.wide.ways[node]
        low, high = wide.low[kept], wide.high[kept]
        marks = np.linspace(0, 1, parts + 1)
        # A way at a single place stays one.
        counts = np.where(high - low > 0, parts, 1)
        index = np.repeat(kept, counts)
        step = np.concatenate([np.arange(c) for c in counts]).astype(np.int64)
        whole = np.repeat(high - low > 0, counts)
        span = np.repeat(high - low, counts)
        start = np.repeat(low, counts)
        lows = np.where(whole, start + span * marks[step], start)
        highs = np.where(whole, start + span * marks[np.minimum(step + 1, parts)], start)
        ways.append(wide.take(index, lows, highs))
    return grid(ways, tuple(problem.wide.clash), problem.apart, problem.kerf)


def _demand(ways: Ways) -> Floats:
    """Return the least length of each first piece that could come from a rest [mm]."""
    return np.where(ways.joints > 0, ways.demand(ways.low), ways.single)


def _rest(ways: Ways, kerf: float) -> Floats:
    """Return the most that each last piece leaves of its board, the kerf taken off [mm]."""
    last = ways.last(ways.high)
    rest: Floats = np.where(ways.ends, np.maximum(ways.board - last - kerf, 0.0), 0.0)
    return rest


def walk(
    costs: Sequence[Floats], chain: Sequence[int], clashes: dict[tuple[int, int], Floats]
) -> tuple[float, list[int]]:
    """Return the least sum along a chain and the way chosen at each of its nodes."""
    total = costs[chain[0]]
    back: list[NDArray[np.intp]] = []
    for one, other in itertools.pairwise(chain):
        reach = total[:, None] + clashes[one, other]
        best = reach.argmin(axis=0)
        back.append(best)
        total = reach[best, np.arange(reach.shape[1])] + costs[other]
    way = int(total.argmin())
    least = float(total[way])
    path = [way]
    for best in reversed(back):
        way = int(best[way])
        path.append(way)
    return least, path[::-1]


def through(problem: Problem, grid: Grid, cost: Callable[[int], Floats]) -> list[Floats]:
    """Return for each way of each node the least sum over all chains that goes through it."""
    costs = [cost(node) for node in range(len(problem))]
    least: list[Floats] = [np.zeros(0)] * len(problem)
    whole = 0.0
    for chain in problem.chains:
        for node, sums in zip(chain, _through(costs, chain, grid.clash), strict=True):
            least[node] = sums
        whole += float(least[chain[0]].min())
    own = {node: float(least[chain[0]].min()) for chain in problem.chains for node in chain}
    return [sums + whole - own[node] for node, sums in enumerate(least)]


def _through(
    costs: Sequence[Floats], chain: Sequence[int], clashes: dict[tuple[int, int], Floats]
) -> list[Floats]:
    """Return for each way along one chain the least sum of a walk that goes through it."""
    there = [costs[chain[0]]]
    for one, other in itertools.pairwise(chain):
        there.append((there[-1][:, None] + clashes[one, other]).min(axis=0) + costs[other])
    back = [np.zeros(len(costs[chain[-1]]))]
    for one, other in zip(chain[-2::-1], chain[:0:-1], strict=False):
        back.append((back[-1] + costs[other] + clashes[one, other]).min(axis=1))
    return [a + b for a, b in zip(there, back[::-1], strict=True)]


def walk_all(
    problem: Problem, grid: Grid, cost: Callable[[int], Floats]
) -> tuple[float, list[int]]:
    """Return the least sum over all chains and the way chosen at each node."""
    costs = [cost(node) for node in range(len(problem))]
    choice = [0] * len(problem)
    total = 0.0
    for chain in problem.chains:
        least, path = walk(costs, chain, grid.clash)
        total += least
        for node, way in zip(chain, path, strict=True):
            choice[node] = way
    return total, choice


@dataclass(frozen=True)
class Sum:
    """What a choice of ways comes to: boards, what joints and cuts weigh, and the worst length."""

    boards: int
    fixed: float
    worst: float
    clashes: int


def add_up(grid: Grid, choice: Sequence[int]) -> Sum:
    """Return what a choice comes to, its offcuts used as well as can be."""
    demands = np.array([grid.demand[n][w] for n, w in enumerate(choice)])
    rests = np.array([grid.rest[n][w] for n, w in enumerate(choice)])
    short, worst = unmatched(demands, rests)
    own = sum(grid.boards[n][w] for n, w in enumerate(choice))
    fixed = float(sum(grid.fixed[n][w] for n, w in enumerate(choice)))
    clashes = sum(m[choice[a], choice[b]] > 0 for (a, b), m in grid.clash.items())
    return Sum(int(own) + short, fixed, worst, int(clashes))
