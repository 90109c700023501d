"""Joints settled: each moved to where its boards bear best, as far as nothing else is given up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from baywalk.planning.layout.offcuts import match
from baywalk.planning.layout.patterns import HAIR

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.layout.patterns import Ways
    from baywalk.planning.layout.problem import Problem

_ROUNDS = 3
_TINY = 1e-6


@dataclass(frozen=True)
class _Laid:
    """One node as laid: its ways and the one chosen."""

    ways: Ways
    way: int

    @property
    def joints(self) -> int:
        return int(self.ways.joints[self.way])

    @property
    def demand(self) -> bool:
        return self.joints > 0 and bool(self.ways.starts[self.way])

    @property
    def rest(self) -> bool:
        return self.joints > 0 and bool(self.ways.ends[self.way])

    def first(self, at: float) -> float:
        """Return the length of its first piece [mm]."""
        return at - self.ways.limits.x0

    def last(self, at: float) -> float:
        """Return the length of its last piece [mm]."""
        if self.ways.fixed:
            return self.ways.limits.x1 - self.ways.fixed[-1]
        return self.ways.limits.x1 - at - (self.joints - 1) * self.ways.board


class Settling:
    """The first joint of every node while it is being moved."""

    def __init__(self, problem: Problem, choice: Sequence[int], apart: float, kerf: float) -> None:
        """Take the plan; joints stay ``apart`` [mm], a saw cut takes ``kerf`` [mm]."""
        self.apart, self.kerf = apart, kerf
        fine, wide = problem.fine.ways, problem.wide.ways
        self.nodes = [_Laid(fine[n], w) for n, w in enumerate(choice)]
        self.at = [float(fine[n].low[w]) for n, w in enumerate(choice)]
        self.room = [_room(wide[n], self.nodes[n], at) for n, at in enumerate(self.at)]
        self.near: list[list[int]] = [[] for _ in self.nodes]
        for a, b in problem.fine.clash:
            self.near[a].append(b)
            self.near[b].append(a)
        self._pair()

    def _pair(self) -> None:
        """Note which first piece is cut from which node's rest."""
        takers = [n for n, node in enumerate(self.nodes) if node.demand]
        givers = [n for n, node in enumerate(self.nodes) if node.rest]
        wanted = [self.nodes[n].first(self.at[n]) for n in takers]
        rests = [self._rest(n) for n in givers]
        pairs = match(wanted, rests)
        self.from_ = {t: givers[k] for t, k in zip(takers, pairs, strict=True) if k >= 0}
        self.to = {giver: taker for taker, giver in self.from_.items()}

    def _rest(self, node: int) -> float:
        laid = self.nodes[node]
        return laid.ways.board - laid.last(self.at[node]) - self.kerf

    def settled(self) -> list[float]:
        """Return the first joint of each node, moved towards the middle of its way [mm]."""
        for _ in range(_ROUNDS):
            for node in range(len(self.nodes)):
                self._move(node)
        return self.at

    def _move(self, node: int) -> None:
        low, high = self._held(node)
        goal = min(max(sum(self.room[node]) / 2, low), high)
        if high - low > _TINY and all(self._clear(node, goal, o) for o in self.near[node]):
            self.at[node] = goal

    def _held(self, node: int) -> tuple[float, float]:
        """Return within which bounds a joint may move while every rest holds its piece [mm]."""
        low, high = self.room[node]
        laid = self.nodes[node]
        giver, taker = self.from_.get(node), self.to.get(node)
        # A first and a last piece from one board only shift within it.
        if giver is not None and giver != node:
            high = min(high, laid.ways.limits.x0 + self._rest(giver))
        if taker is not None and taker != node:
            spare = self._rest(node) - self.nodes[taker].first(self.at[taker])
            low = max(low, self.at[node] - spare)
        return low, high

    def _clear(self, node: int, place: float, other: int) -> bool:
        """Say whether a first joint at ``place`` [mm] keeps clear of a neighbour's joints."""
        mine = self._places(node, place)
        theirs = self._places(other, self.at[other])
        if not len(mine) or not len(theirs):
            return True
        return float(np.abs(mine[:, None] - theirs[None, :]).min()) >= self.apart - _TINY

    def _places(self, node: int, first: float) -> np.ndarray:
        laid = self.nodes[node]
        if laid.ways.fixed is not None:
            return np.array(laid.ways.fixed)
        return first + laid.ways.board * np.arange(laid.joints)


def _room(wide: Ways, laid: _Laid, at: float) -> tuple[float, float]:
    """Return the bounds of the way that was chosen, found by its place [mm]."""
    inside = (wide.low <= at + _TINY) & (wide.high >= at - _TINY)
    if wide.kept is not None and abs(wide.kept - at) < _TINY:
        return at, at
    alike = inside & (np.abs(wide.weight - laid.ways.weight[laid.way]) < 2 * HAIR)
    alike &= (wide.joints == laid.joints) & (wide.starts == laid.ways.starts[laid.way])
    alike &= wide.ends == laid.ways.ends[laid.way]
    found = np.flatnonzero(alike)
    if not len(found):
        return at, at
    return float(wide.low[found[0]]), float(wide.high[found[0]])
