"""The reconciling model written a second time, plainly, for scipy.optimize.least_squares.

It shares no formula with the package: unknowns in one flat vector, residuals from a loop over the
readings of the survey JSON, derivatives left to scipy's finite differences.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.optimize import OptimizeResult, least_squares

TAPE = {"I": (0.1, 0.1, 0.1), "II": (0.3, 0.2, 0.2), "III": (0.6, 0.4, 0.3)}
SIDE = {"left": -0.5, "right": 0.5, "centre": 0.0, "face": 0.0}


class PlainModel:
    """One run of two tape lines, near and far, with one tape; every breadth read."""

    def __init__(self, survey: dict) -> None:
        self.run = survey["runs"][0]
        self.n = self.run["joists"]
        self.a, self.b, self.c = TAPE[survey["tape"]["class"]]
        self.readings = [e for e in survey["entries"] if "value" in e]
        self.size = 2 * (self.n + 1) + self.n + 3 + 1

    def _x(self, p: np.ndarray, joist: int, line: str) -> float:
        if joist == 0:
            return 0.0
        return float(p[(0 if line == "near" else self.n + 1) + joist - 1])

    def _breadth(self, p: np.ndarray, joist: int) -> float:
        return 0.0 if joist in (0, self.n + 1) else float(p[2 * (self.n + 1) + joist - 1])

    def _point(self, p: np.ndarray, joist: int, line: str) -> tuple[float, float]:
        x = self._x(p, joist, line)
        if line == "near":
            return x, 0.0
        ox, oy, turn = p[-4], p[-3], p[-2] / 1000
        return ox + x * math.cos(turn), oy + x * math.sin(turn)

    def computed(self, p: np.ndarray, e: dict) -> tuple[float, float]:
        """Return the length of a reading and its standard deviation."""
        surface = True
        if e["kind"] == "across":
            places = [
                self._x(p, j, e["line"]) + SIDE[f] * self._breadth(p, j)
                for j, f in (e["from"], e["to"])
            ]
            length = abs(places[1] - places[0])
            surface = e["from"][1] != "centre"
        elif e["kind"] == "breadth":
            return self._breadth(p, e["joist"]), self._sigma(surface=True)
        else:
            ends = (
                [(e["joist"], e["from"]), (e["joist"], e["to"])]
                if e["kind"] == "along"
                else [tuple(e["from"]), tuple(e["to"])]
            )
            length = math.dist(self._point(p, *ends[0]), self._point(p, *ends[1]))
            surface = False
        return length + p[-1] * e["value"] / 1000, self._sigma(surface=surface)

    def _sigma(self, *, surface: bool) -> float:
        limit = self.a + (self.c if surface else 0.0)
        return math.sqrt(limit**2 / 3 + 1 / 12 + 1.0)

    def residuals(self, p: np.ndarray) -> np.ndarray:
        """Return every residual over its standard deviation, the tape's scale last."""
        out = []
        for e in self.readings:
            length, sigma = self.computed(p, e)
            out.append((length - e["value"]) / sigma)
        out.append(p[-1] / (self.b / math.sqrt(3)))
        return np.array(out)

    def start(self) -> np.ndarray:
        """Return a first guess: 400 mm centres, the usual breadth, lines 3 m apart."""
        x = [400.0 * j for j in range(1, self.n + 2)]
        breadth = [float(self.run["member"]["breadth"])] * self.n
        return np.array([*x, *x, *breadth, 0.0, 3000.0, 0.0, 0.0])

    def solve(self) -> OptimizeResult:
        """Let scipy find the least squares."""
        return least_squares(self.residuals, self.start(), x_scale=100.0, xtol=1e-12, ftol=1e-14)
