"""A bound by lengths alone: how much of a board each piece must at least use up.

A dual feasible function gives every length a share of a board so that what fits on one board never
sums to more than one. With such shares pieces are priced whatever they are cut beside, pieces sawn
at both ends among them. The functions are those of Fekete and Schepers (2001), from memory.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from baywalk.planning.layout.problem import walk_all

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    from baywalk.planning.layout.problem import Problem

    Floats = NDArray[np.float64]
    Share = Callable[[Floats], Floats]

_EPS = 1e-9


def pieces_bound(problem: Problem) -> float:
    """Return the best such bound on the cost of any plan."""
    return max((_walk(problem, share) for share in _shares()), default=0.0)


def _walk(problem: Problem, share: Share) -> float:
    grid = problem.wide

    def cost(node: int) -> Floats:
        ways = grid.ways[node]
        room = ways.board + problem.kerf
        first = ways.demand(ways.low)
        last = ways.last(ways.high)
        single = np.full(len(ways), ways.single)
        boards = ways.whole.astype(np.float64)
        for length in (first, last, single):
            boards += np.where(length > 0, share((length + problem.kerf) / room), 0.0)
        weighed: Floats = grid.fixed[node] + problem.board * boards
        return weighed

    return walk_all(problem, grid, cost)[0]


def _shares() -> Iterator[Share]:
    """Give functions of a length's share of a board [-]."""
    yield lambda x: x
    for k in (1, 2, 3):
        yield partial(_steps, k)
    for small in (0.2, 0.25, 0.3, 1 / 3 - 1e-6, 0.4, 0.45):
        yield partial(_large, small)


def _steps(k: int, x: Floats) -> Floats:
    scaled = (k + 1) * x
    whole = np.abs(scaled - np.round(scaled)) < _EPS
    steps: Floats = np.where(whole, x, np.floor(scaled + _EPS) / k)
    return steps


def _large(small: float, x: Floats) -> Floats:
    """Count what is nearly a board as one, and what is small as nothing."""
    share: Floats = np.where(x > 1 - small + _EPS, 1.0, np.where(x < small - _EPS, 0.0, x))
    return share
