"""How likely a loft is, from what people know of lofts: for ranking causes, never for adjusting.

Joists mostly follow a spacing; a bay is mostly alike at both tape lines; timbers of one run are
mostly of one breadth; tape lines are mostly parallel, and the start wall square to them. Each
statement is a bell with a long flat tail, so that a loft that breaks it is unlikely, never
impossible. Joists stand in the order of their numbers: a bay that runs backwards is nearly so.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import csr_array

if TYPE_CHECKING:
    from baywalk.reconcile.equations import Floats
    from baywalk.reconcile.network import Network
    from baywalk.rules import Pack

_ROOT = math.sqrt(2 * math.pi)

_PLANE = {"direction": "soft.parallel", "origin_x": "soft.start_wall"}


class Soft:
    """Soft knowledge of one run, as a log likelihood of its unknowns."""

    def __init__(self, network: Network) -> None:
        """Find the centres and breadths that the network speaks of."""
        self._pack: Pack = network.pack
        unknowns, run = network.unknowns, network.run
        rows: list[dict[int, float]] = []
        places: list[int] = []
        for line in run.lines:
            for bay in range(1, run.joists):
                a, b = unknowns.get(("x", bay, line)), unknowns.get(("x", bay + 1, line))
                if a is not None and b is not None:
                    rows.append({b: 1.0, a: -1.0})
                    places.append(bay)
        self._centres = len(rows)
        self._pairs = _pairs(places)
        sides = _sides(network)
        rows += [row for _, row in sides]
        self._sides = len(sides)
        self._side_pairs = _pairs([side for side, _ in sides])
        rows += [{number: 1.0} for key, number in unknowns.items() if key[0] == "breadth"]
        self._breadths = len(rows) - self._centres - self._sides
        # What two tape lines and the wall between them make: turned, and run out at the wall.
        self._planes = [k for k in ("direction", "origin_x") for key in unknowns if key[0] == k]
        self._lines = len(rows)
        for name in dict.fromkeys(self._planes):
            rows += [{number: 1.0} for key, number in unknowns.items() if key[0] == name]
        self.functions = _matrix(rows, len(network.equations.start))
        spacings = self._pack["nominal.spacings"]
        self._spacings = np.array(sorted(set(spacings.values())))

    def score(self, figures: Floats) -> Floats:
        """Return the log likelihood of each column of ``figures`` (functions by cases) [mm]."""
        centres = figures[: self._centres]
        ends = np.cumsum([self._centres, self._sides, self._breadths])
        sides, breadths, planes = (figures[a:b] for a, b in pairwise([*ends, len(figures)]))
        # Joists are numbered as they stand: a length that runs backwards is next to impossible.
        backwards = (figures[: ends[1]] < 0.0).sum(axis=0)
        total: Floats = backwards * math.log(self._pack["soft.backwards"])
        if len(centres):
            total += self._spacing(centres)
        if self._pairs.size:
            apart = centres[self._pairs[:, 0]] - centres[self._pairs[:, 1]]
            total += self._bell(apart, "soft.other_line").sum(axis=0)
        if self._side_pairs.size:
            apart = sides[self._side_pairs[:, 0]] - sides[self._side_pairs[:, 1]]
            total += self._bell(apart, "soft.other_wall").sum(axis=0)
        if len(breadths) > 1:
            middle = np.median(breadths, axis=0)
            total += self._bell(breadths - middle, "soft.breadth").sum(axis=0)
        for name, figure in zip(self._planes, planes, strict=True):
            total += self._bell(figure, _PLANE[name])
        return total

    def skew(self, figures: Floats) -> Floats:
        """Return how far the tape lines lie off parallel [mm/m] and off a square wall [mm]."""
        return np.asarray(np.sum(np.abs(figures[self._lines :]), axis=0))

    def _spacing(self, centres: Floats) -> Floats:
        """Score the centres under the spacing that suits each case best."""
        best = np.full(centres.shape[1], -np.inf)
        for spacing in self._spacings:
            fit = self._bell(centres - spacing, "soft.spacing").sum(axis=0)
            best = np.maximum(best, fit)
        return best

    def _bell(self, distance: Floats, rule: str) -> Floats:
        """Return the log density of a bell with a flat tail; figures from the pack."""
        shape = self._pack[rule]
        bell = (1 - shape["stray"]) / (shape["sd"] * _ROOT)
        density = bell * np.exp(-0.5 * (distance / shape["sd"]) ** 2)
        return np.asarray(np.log(density + shape["stray"] / shape["range"]))


def _sides(network: Network) -> list[tuple[int, dict[int, float]]]:
    """Return the distances from each wall to the joist beside it, by line: (wall, terms)."""
    unknowns, run, end = network.unknowns, network.run, network.end
    out: list[tuple[int, dict[int, float]]] = []
    for line in run.lines:
        first, last = unknowns.get(("x", 1, line)), unknowns.get(("x", run.joists, line))
        wall = unknowns.get(("x", end, line))
        if first is not None and run.joists:
            out.append((0, {first: 1.0}))
        if last is not None and wall is not None and run.joists:
            out.append((end, {wall: 1.0, last: -1.0}))
    return out


def _pairs(places: list[int]) -> np.ndarray[tuple[int, int], np.dtype[np.int64]]:
    """Return the index pairs of equal places, each with the one before (one a tape line)."""
    last: dict[int, int] = {}
    pairs = []
    for i, place in enumerate(places):
        if place in last:
            pairs.append((last[place], i))
        last[place] = i
    return np.array(pairs, dtype=np.int64).reshape(-1, 2)


def _matrix(rows: list[dict[int, float]], width: int) -> csr_array:
    ends = np.cumsum([0, *(len(row) for row in rows)])
    columns = np.array([c for row in rows for c in row], dtype=np.int64)
    values = np.array([v for row in rows for v in row.values()], dtype=np.float64)
    return csr_array((values, columns, ends), shape=(len(rows), width))
