"""The last step to a proof: what the walks leave open, given to an integer program.

Offcuts make boards by one number, how many first pieces find no rest, and that number is at least
what every length says. So the program has one unknown for each way of each course and one for that
number: no unknown for which offcut goes where, which is what makes a plain program of this slow.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from baywalk.planning.layout.offcuts import SLACK
from baywalk.planning.layout.problem import NEVER

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from baywalk.planning.layout.problem import Grid, Problem

    Floats = NDArray[np.float64]

_MOST = 5_000
"""A program with more ways than this is not worth starting [-]."""


def solve(
    problem: Problem, grid: Grid, keep: Sequence[NDArray[np.intp]], seconds: float
) -> tuple[list[int] | None, float]:
    """Return the best choice among the ways kept of each node, and a bound on any such choice.

    None where none was found in ``seconds``; the bound is infinite where there is none at all.
    """
    starts = np.concatenate([[0], np.cumsum([len(k) for k in keep])])
    count = int(starts[-1])
    if count > _MOST or seconds <= 0:
        return None, 0.0
    rows = _Rows(count + 1)
    for node in range(len(keep)):
        rows.add(range(starts[node], starts[node + 1]), 1.0, 1.0, 1.0)
    for (a, b), weights in grid.clash.items():
        _keep_apart(rows, weights[np.ix_(keep[a], keep[b])] > 0, starts[a], starts[b])
    _share_offcuts(rows, grid, keep, starts)
    cost = [grid.fixed[n][k] + problem.board * grid.boards[n][k] for n, k in enumerate(keep)]
    solved = milp(
        np.concatenate([*cost, [problem.board]]),
        constraints=rows.constraint(),
        integrality=np.ones(count + 1, np.int64),
        bounds=Bounds(0, np.concatenate([np.ones(count), [len(keep)]])),
        options={"time_limit": seconds, "mip_rel_gap": 1e-9},
    )
    if solved.x is None:
        return None, NEVER if solved.status == 2 else 0.0
    bound = float(solved.mip_dual_bound) if solved.mip_dual_bound is not None else 0.0
    picked = [
        int(keep[n][np.argmax(solved.x[starts[n] : starts[n + 1]])]) for n in range(len(keep))
    ]
    return picked, bound


class _Rows:
    """The rows of a program while they are being written."""

    def __init__(self, unknowns: int) -> None:
        self.unknowns = unknowns
        self.row: list[int] = []
        self.column: list[int] = []
        self.value: list[float] = []
        self.low: list[float] = []
        self.high: list[float] = []

    def add(self, columns: Sequence[int] | range, value: float, low: float, high: float) -> None:
        """Add a row whose columns all have one value, within bounds."""
        self.terms(columns, [value] * len(columns), low, high)

    def terms(
        self, columns: Sequence[int] | range, values: Sequence[float], low: float, high: float
    ) -> None:
        """Add a row."""
        self.row += [len(self.low)] * len(columns)
        self.column += list(columns)
        self.value += list(values)
        self.low.append(low)
        self.high.append(high)

    def constraint(self) -> LinearConstraint:
        """Return all rows."""
        shape = (len(self.low), self.unknowns)
        matrix = coo_array((self.value, (self.row, self.column)), shape=shape)
        return LinearConstraint(matrix.tocsc(), np.array(self.low), np.array(self.high))


def _keep_apart(rows: _Rows, clash: NDArray[np.bool_], start: int, other: int) -> None:
    """Let no two ways of neighbours that clash be chosen together.

    Ways that clash with the same ways of the neighbour share a row, and so do all of those.
    """
    patterns, of = np.unique(clash, axis=0, return_inverse=True)
    for k, pattern in enumerate(patterns):
        if not pattern.any():
            continue
        mine = (np.flatnonzero(of.ravel() == k) + start).tolist()
        theirs = (np.flatnonzero(pattern) + other).tolist()
        rows.add([*mine, *theirs], 1.0, -np.inf, 1.0)


def _share_offcuts(
    rows: _Rows, grid: Grid, keep: Sequence[NDArray[np.intp]], starts: NDArray[np.int64]
) -> None:
    """Say for every length that first pieces that long are no more than rests and fresh boards."""
    demand = np.concatenate([grid.demand[n][k] for n, k in enumerate(keep)])
    single = np.concatenate([np.full(len(k), grid.ways[n].single > 0) for n, k in enumerate(keep)])
    demand = np.where(single, 0.0, demand)
    rest = np.concatenate([grid.rest[n][k] for n, k in enumerate(keep)])
    fresh = int(starts[-1])
    done: set[bytes] = set()
    for length in np.unique(demand[demand > 0]):
        values = (demand >= length - SLACK).astype(float) - (rest >= length - SLACK)
        if values.tobytes() in done:
            continue
        done.add(values.tobytes())
        used = np.flatnonzero(values)
        rows.terms([*used.tolist(), fresh], [*values[used].tolist(), -1.0], -np.inf, 0.0)
