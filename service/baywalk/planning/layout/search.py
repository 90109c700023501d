"""The search: plans from the walks of the bound, each improved one course at a time."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from baywalk.planning.layout.bound import Bound, Prices, priced, raise_bound
from baywalk.planning.layout.exact import solve
from baywalk.planning.layout.offcuts import SLACK
from baywalk.planning.layout.pieces_bound import pieces_bound
from baywalk.planning.layout.problem import (
    NEVER,
    Grid,
    Problem,
    add_up,
    finer,
    through,
    walk_all,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_ROUNDS = 6
PROVEN = 1e-6
"""A cost within this of its bound is proven best [-]."""
_FINER, _FINEST = 4, 64
"""Into how many times more parts stretches are cut each time, and at most [-]."""
_WALKS = 0.5
"""The share of the time given to walks; the integer program has the rest [-]."""


@dataclass(frozen=True)
class Found:
    """The best choice of ways (of the fine grid), its cost, its bound and the time taken [seconds].

    ``choice`` is empty where no plan keeps every joint apart.
    """

    choice: tuple[int, ...]
    cost: float
    bound: float
    seconds: float


class Best:
    """The best plan so far."""

    def __init__(self, problem: Problem) -> None:
        """Take the problem; nothing is known yet."""
        self.problem = problem
        self.choice: list[int] = []
        self.cost = NEVER
        self._seen: set[tuple[int, ...]] = set()

    def offer(self, choice: list[int]) -> None:
        """Improve a choice and keep it if it is the best."""
        key = tuple(choice)
        if key in self._seen:
            return
        self._seen.add(key)
        better, cost = improve(self.problem, choice)
        self._seen.add(tuple(better))
        if cost < self.cost - 1e-9:
            self.choice, self.cost = better, cost


def search(
    problem: Problem,
    seconds: float,
    progress: Callable[[float, float], bool] | None = None,
) -> Found:
    """Return the best plan found in ``seconds``, with its bound.

    ``progress`` is told the best cost and the bound as they change; it returns False to stop.
    """
    began = time.monotonic()
    best = Best(problem)
    best.offer(_first(problem))
    deadline = began + seconds
    stopped: list[Prices] = []

    def tell(prices: Prices, bound: float) -> float:
        grid = problem.fine
        _, choice = walk_all(problem, grid, lambda n: priced(grid, prices, n))
        best.offer(choice)
        if progress is not None and not progress(best.cost, bound):
            stopped.append(prices)
            return bound
        return best.cost

    ceiling = _ceiling(problem, best)
    bound = raise_bound(problem, ceiling, began + seconds * _WALKS, tell)
    least = max(bound.least(), pieces_bound(problem))
    if best.cost - least > PROVEN and not stopped:
        least = max(least, _close(problem, best, bound, deadline))
    least = min(least, best.cost)
    choice = tuple(best.choice) if best.cost < NEVER / 2 else ()
    return Found(choice, best.cost, least, time.monotonic() - began)


def _close(problem: Problem, best: Best, bound: Bound, deadline: float) -> float:
    """Let an integer program look for a better plan, then for a better bound; return the bound."""
    fine = _worth_keeping(problem, problem.fine, bound, best.cost)
    left = deadline - time.monotonic()
    choice, _ = solve(problem, problem.fine, fine, left * _WALKS)
    if choice:
        best.offer(choice)
    least, parts = 0.0, 1
    while best.cost - least > PROVEN and deadline > time.monotonic() and parts <= _FINEST:
        # The shorter the stretches, the less a bound makes of them that no one place has.
        grid = finer(problem, _worth_keeping(problem, problem.wide, bound, best.cost), parts)
        every = [np.arange(len(w)) for w in grid.ways]
        _, found = solve(problem, grid, every, deadline - time.monotonic())
        # What was left out of the program costs no less than the best plan.
        if parts > 1 and found <= least + PROVEN:
            break
        least, parts = max(least, min(found, best.cost)), parts * _FINER
    return least


def _worth_keeping(
    problem: Problem, grid: Grid, bound: Bound, cost: float
) -> list[NDArray[np.intp]]:
    """Return the ways of each node through which a plan cheaper than ``cost`` might go."""
    prices = bound.prices
    if prices is None:
        return [np.arange(len(w)) for w in grid.ways]
    sums = through(problem, grid, lambda n: priced(grid, prices, n))
    shift = bound.shift(problem.board, cost)
    kept = [np.flatnonzero(s + shift < cost + PROVEN) for s in sums]
    return [k if len(k) else np.array([int(s.argmin())]) for k, s in zip(kept, sums, strict=True)]


def _ceiling(problem: Problem, best: Best) -> int:
    """Return a number of boards that no plan worth having passes."""
    if problem.board <= 0 or best.cost >= NEVER / 2:
        return int(sum(b.max(initial=0) + 1 for b in problem.fine.boards))
    return int(best.cost / problem.board) + 1


def _first(problem: Problem) -> list[int]:
    """Return the plan that a walk finds with boards and cuts as they are, offcuts for nothing."""
    grid = problem.fine
    length = max((w.board for w in grid.ways), default=1.0)
    lengths = np.linspace(0, length, 25)[1:]
    even = Prices(problem.board, lengths, np.full(24, problem.board / 24))
    return walk_all(problem, grid, lambda n: priced(grid, even, n))[1]


def improve(problem: Problem, choice: list[int]) -> tuple[list[int], float]:
    """Return a choice made better one node at a time until none helps, and its cost."""
    grid = problem.fine
    now = list(choice)
    neighbours = _neighbours(grid, len(problem))
    cost = _cost(problem, now)
    for _ in range(_ROUNDS):
        before = cost
        for node in range(len(problem)):
            now[node] = _best_way(problem, grid, now, node, neighbours[node])
        cost = _cost(problem, now)
        if cost >= before - 1e-9:
            break
    return now, cost


def _cost(problem: Problem, choice: list[int]) -> float:
    total = add_up(problem.fine, choice)
    return total.fixed + problem.board * total.boards + NEVER * total.clashes


def _neighbours(grid: Grid, nodes: int) -> list[list[tuple[int, bool]]]:
    """Return for each node its neighbours, and whether it comes first in their pair."""
    out: list[list[tuple[int, bool]]] = [[] for _ in range(nodes)]
    for a, b in grid.clash:
        out[a].append((b, True))
        out[b].append((a, False))
    return out


def _best_way(
    problem: Problem, grid: Grid, choice: list[int], node: int, near: list[tuple[int, bool]]
) -> int:
    """Return the best way of one node while all others stay."""
    others = [n for n in range(len(problem)) if n != node]
    demands = np.array([grid.demand[n][choice[n]] for n in others])
    rests = np.array([grid.rest[n][choice[n]] for n in others])
    short = _short(grid.demand[node], grid.rest[node], demands[demands > 0], rests[rests > 0])
    cost = grid.fixed[node] + problem.board * (grid.boards[node] + short)
    for other, first in near:
        matrix = grid.clash[(node, other) if first else (other, node)]
        cost = cost + (matrix[:, choice[other]] if first else matrix[choice[other], :])
    best = int(cost.argmin())
    # Stay where nothing is gained, so that the rounds come to an end.
    return best if cost[best] < cost[choice[node]] - 1e-9 else choice[node]


def _short(demand: Floats, rest: Floats, demands: Floats, rests: Floats) -> Floats:
    """Return, for each way of one node, how many first pieces of all nodes find no rest."""
    lengths = np.unique(demands)
    base = _over(demands, lengths) - _over(rests, lengths)
    mine = (demand[:, None] >= lengths - SLACK).astype(np.float64)
    mine -= rest[:, None] >= lengths - SLACK
    worst = (base + mine).max(axis=1, initial=0.0)
    # Its own first piece is a length to look at as well.
    own = _over(demands, demand) - _over(rests, demand) + 1.0 - (rest >= demand - SLACK)
    short: Floats = np.maximum(worst, np.where(demand > 0, own, 0.0))
    return short


def _over(values: Floats, lengths: Floats) -> Floats:
    """Return how many values are at least each length."""
    ordered = np.sort(values)
    below = np.searchsorted(ordered, lengths - SLACK, side="left")
    return (len(ordered) - below).astype(np.float64)
