"""The bound: no plan costs less. Offcuts are given a price by their length; the rest is a walk.

With a price for every offcut, courses no longer compete for boards, and the cheapest way through
them is one walk. Whatever the prices, that walk costs no more than any real plan; the best prices
are found by cutting planes. Boards come whole: a bound is kept for every number of boards.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linprog

from baywalk.planning.layout.offcuts import SLACK
from baywalk.planning.layout.problem import NEVER, add_up, walk_all

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from baywalk.planning.layout.problem import Grid, Problem

    Floats = NDArray[np.float64]

_CLOSE = 1e-6
_HALF = 0.5


@dataclass(frozen=True)
class Prices:
    """What a board weighs and what an offcut of each length [mm] and more is worth of it."""

    board: float
    lengths: Floats
    steps: Floats

    def worth(self, length: Floats) -> Floats:
        """Return what offcuts of such lengths [mm] are worth."""
        total = np.concatenate([[0.0], np.cumsum(self.steps)])
        worth: Floats = total[np.searchsorted(self.lengths, length + SLACK, side="right")]
        return worth


@dataclass
class Bound:
    """The bound so far for each number of boards, and the prices that gave the best one."""

    by_boards: Floats
    prices: Prices | None = None
    _best: float = -NEVER

    def least(self) -> float:
        """Return the bound on the cost of any plan."""
        return float(self.by_boards.min())

    def take(self, walked: Floats, prices: Prices) -> None:
        """Take a bound for each number of boards, and the prices that gave it."""
        self.by_boards = np.maximum(self.by_boards, walked)
        low = float(walked.min())
        if low > self._best:
            self._best, self.prices = low, prices

    def shift(self, board: float, cost: float) -> float:
        """Return what a walk at the best prices lacks at least, for plans cheaper than ``cost``.

        The prices may put another weight on a board than its own, ``board``.
        """
        counts = np.flatnonzero(self.by_boards < cost)
        if self.prices is None or not len(counts):
            return 0.0
        return float(((board - self.prices.board) * counts).min())


def priced(grid: Grid, prices: Prices, node: int) -> Floats:
    """Return what each way of a node costs at such prices."""
    demand = prices.worth(grid.demand[node]) * (grid.demand[node] > 0)
    # A piece in one length may be cut from the middle of any board, so it is given for nothing.
    if grid.ways[node].single > 0:
        demand = np.zeros_like(demand)
    cost: Floats = (
        grid.fixed[node]
        + prices.board * grid.boards[node]
        + demand
        - prices.worth(grid.rest[node]) * (grid.rest[node] > 0)
    )
    return cost


def raise_bound(
    problem: Problem,
    most_boards: int,
    deadline: float,
    tell: Callable[[Prices, float], float],
) -> Bound:
    """Return the best bound found before ``deadline`` [seconds of the monotonic clock].

    ``tell`` is given each set of prices with the bound so far, and returns the cost of the best
    plan known, so that the search ends where the two meet.
    """
    counts = np.arange(most_boards + 1)
    bound = Bound(np.full(most_boards + 1, 0.0))
    state = _State(problem, counts)
    centre = state.start()
    while True:
        walked = state.walk(centre)
        bound.take(walked, centre)
        best = tell(centre, bound.least())
        if best - bound.least() <= _CLOSE or time.monotonic() > deadline:
            return bound
        target = int(bound.by_boards.argmin())
        guess, hope = state.guess(target)
        if hope - bound.by_boards[target] <= _CLOSE:
            return bound
        centre = state.between(centre, guess)


class _State:
    """The cutting planes: one for each walk, in the unknown prices."""

    def __init__(self, problem: Problem, counts: NDArray[np.int64]) -> None:
        self.problem, self.counts = problem, counts
        self.lengths: list[float] = []
        self.walks: list[tuple[float, float, Floats, Floats]] = []

    def start(self) -> Prices:
        """Return prices that grow with length, from which to set out."""
        demands = np.concatenate([d[d > 0] for d in self.problem.wide.demand] or [np.zeros(0)])
        if len(demands):
            self.lengths = sorted(set(np.quantile(demands, np.linspace(0, 1, 9)).tolist()))
        ranks = np.diff([0.0, *self.lengths])
        board = max((w.board for w in self.problem.wide.ways), default=1.0)
        return Prices(
            self.problem.board, np.array(self.lengths), self.problem.board * ranks / board
        )

    def walk(self, prices: Prices) -> Floats:
        """Walk at such prices; return the bound that follows for each number of boards."""
        grid = self.problem.wide
        least, choice = walk_all(self.problem, grid, lambda n: priced(grid, prices, n))
        total = add_up(grid, choice)
        demands = np.array([_chain_demand(grid, n, w) for n, w in enumerate(choice)])
        rests = np.array([grid.rest[n][w] for n, w in enumerate(choice)])
        own = float(sum(grid.boards[n][w] for n, w in enumerate(choice)))
        self.walks.append((total.fixed, own, demands[demands > 0], rests[rests > 0]))
        if total.worst and all(abs(total.worst - t) > _CLOSE for t in self.lengths):
            self.lengths = sorted([*self.lengths, total.worst])
        more = (self.problem.board - prices.board) * self.counts.astype(np.float64)
        return np.asarray(least + more, np.float64)

    def guess(self, boards: int) -> tuple[Prices, float]:
        """Return the prices that the walks so far make best for so many boards, and the bound."""
        lengths = np.array(self.lengths)
        rows = np.array([self._row(walk, lengths, boards) for walk in self.walks])
        fixed = np.array([walk[0] for walk in self.walks])
        unknowns = 2 + len(lengths)
        goal = np.zeros(unknowns)
        goal[0] = -1.0
        left = np.hstack([np.ones((len(rows), 1)), -rows])
        # All steps together are worth no more than the board they are cut from.
        whole = np.concatenate([[0.0, -1.0], np.ones(len(lengths))])
        right = np.concatenate([fixed + self.problem.board * boards, [0.0]])
        most = 50 * self.problem.board + 1
        bounds = [(None, NEVER), (0, most), *[(0, most)] * len(lengths)]
        found = linprog(goal, np.vstack([left, whole]), right, bounds=bounds, method="highs")
        if not found.success or found.x is None:
            return self.start(), np.inf
        return Prices(float(found.x[1]), lengths, found.x[2:]), float(found.x[0])

    @staticmethod
    def _row(walk: tuple[float, float, Floats, Floats], lengths: Floats, boards: int) -> Floats:
        _, own, demands, rests = walk
        wanted = (demands[:, None] >= lengths - SLACK).sum(axis=0)
        there = (rests[:, None] >= lengths - SLACK).sum(axis=0)
        return np.concatenate([[own - boards], wanted - there])

    @staticmethod
    def between(centre: Prices, guess: Prices) -> Prices:
        """Return prices half way to the guess: the guess alone swings from end to end."""
        lengths = guess.lengths
        old = np.diff([0.0, *centre.worth(lengths - SLACK / 2)])
        board = _HALF * centre.board + _HALF * guess.board
        return Prices(board, lengths, _HALF * np.maximum(old, 0.0) + _HALF * guess.steps)


def _chain_demand(grid: Grid, node: int, way: int) -> float:
    """Return the first piece [mm] that a node asks of others' rests; a single piece asks none."""
    return 0.0 if grid.ways[node].single > 0 else float(grid.demand[node][way])


def chosen(grid: Grid, choice: Sequence[int], name: str) -> int:
    """Return the sum of a count over a choice of ways."""
    return int(sum(getattr(grid.ways[n], name)[w] for n, w in enumerate(choice)))
