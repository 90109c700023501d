"""The plain model again with whole arrays, so that scipy is not held up by a Python loop.

Same unknowns, same residuals in the same order as :class:`PlainModel`; every reading's places in
the flat vector of unknowns are looked up once. Derivatives by scipy's differences or, as fast as
scipy can be given them, exact.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import OptimizeResult, least_squares

from tests.references.plain_model import SIDE, PlainModel


class VectorModel(PlainModel):
    """One run of two tape lines with one tape, all residuals at once."""

    def __init__(self, survey: dict) -> None:
        super().__init__(survey)
        self.zero = self.size  # one past the end: a value that is always nought
        self.read = np.array([float(e["value"]) for e in self.readings])
        kinds = np.array([e["kind"] for e in self.readings])
        # A breadth is too short for the tape's scale to matter.
        self.metres = np.where(kinds == "breadth", 0.0, self.read / 1000)
        self.plane = np.flatnonzero(np.isin(kinds, ("along", "diagonal")))
        self.line = np.flatnonzero(~np.isin(kinds, ("along", "diagonal")))
        self.sigmas = np.array([self.computed(self.start(), e)[1] for e in self.readings])
        self._look_up_lines()
        self._look_up_planes()

    def _x_at(self, joist: int, line: str) -> int:
        if joist == 0:
            return self.zero
        return (0 if line == "near" else self.n + 1) + joist - 1

    def _breadth_at(self, joist: int) -> int:
        return self.zero if joist in (0, self.n + 1) else 2 * (self.n + 1) + joist - 1

    def _look_up_lines(self) -> None:
        """Every across and breadth reading is a sum of four unknowns with fixed factors."""
        rows = [self._line_row(self.readings[i]) for i in self.line]
        self.columns = np.array([c for c, _ in rows], dtype=np.int64).reshape(len(rows), 4)
        self.factors = np.array([k for _, k in rows], dtype=np.float64).reshape(len(rows), 4)

    def _line_row(self, e: dict) -> tuple[list[int], list[float]]:
        if e["kind"] == "breadth":
            return [self._breadth_at(e["joist"]), *[self.zero] * 3], [1.0, 0.0, 0.0, 0.0]
        columns, factors = [], []
        ends = sorted((tuple(e["from"]), tuple(e["to"])), key=lambda f: (f[0], SIDE[f[1]]))
        for (joist, face), sign in zip(ends, (-1.0, 1.0), strict=True):
            columns += [self._x_at(joist, e["line"]), self._breadth_at(joist)]
            factors += [sign, sign * SIDE[face]]
        return columns, factors

    def _look_up_planes(self) -> None:
        ends = []
        for i in self.plane:
            e = self.readings[i]
            along = e["kind"] == "along"
            joists = (e["joist"], e["joist"]) if along else (e["from"][0], e["to"][0])
            lines = (e["from"], e["to"]) if along else (e["from"][1], e["to"][1])
            ends.append(
                [(self._x_at(j, k), k == "far") for j, k in zip(joists, lines, strict=True)]
            )
        self.at = np.array([[x for x, _ in pair] for pair in ends], dtype=np.int64).reshape(-1, 2)
        self.far = np.array([[f for _, f in pair] for pair in ends], dtype=bool).reshape(-1, 2)

    def _ends(self, p: np.ndarray) -> tuple[np.ndarray, ...]:
        """Return each plane reading's ends along their lines, and their coordinates."""
        u = np.append(p, 0.0)[self.at]
        turn = p[-2] / 1000
        x = np.where(self.far, p[-4] + u * np.cos(turn), u)
        y = np.where(self.far, p[-3] + u * np.sin(turn), 0.0)
        return u, x, y

    def residuals(self, p: np.ndarray) -> np.ndarray:
        """Return every residual over its standard deviation, the tape's scale last."""
        length = np.empty(len(self.readings))
        length[self.line] = (np.append(p, 0.0)[self.columns] * self.factors).sum(axis=1)
        _, x, y = self._ends(p)
        length[self.plane] = np.hypot(x[:, 1] - x[:, 0], y[:, 1] - y[:, 0])
        length += p[-1] * self.metres
        scale = p[-1] / (self.b / np.sqrt(3))
        return np.append((length - self.read) / self.sigmas, scale)

    def jacobian(self, p: np.ndarray) -> np.ndarray:
        """Return the exact derivatives of :meth:`residuals`."""
        out = np.zeros((len(self.readings) + 1, self.size + 1))
        np.add.at(out, (self.line[:, None], self.columns), self.factors)
        u, x, y = self._ends(p)
        dx, dy = x[:, 1] - x[:, 0], y[:, 1] - y[:, 0]
        length = np.hypot(dx, dy)
        ux, uy = dx / length, dy / length
        c, s = np.cos(p[-2] / 1000), np.sin(p[-2] / 1000)
        for end, sign in ((0, -1.0), (1, 1.0)):
            far, at = self.far[:, end], u[:, end]
            slope = np.where(far, ux * c + uy * s, ux)
            np.add.at(out, (self.plane, self.at[:, end]), sign * slope)
            turned = (uy * c - ux * s) * at / 1000
            for column, value in ((-5, ux), (-4, uy), (-3, turned)):
                out[self.plane, column] += sign * np.where(far, value, 0.0)
        out[:-1, self.size - 1] += self.metres
        out[:-1] /= self.sigmas[:, None]
        out[-1, self.size - 1] = np.sqrt(3) / self.b
        return out[:, : self.size]

    def solve(self, *, exact: bool = False) -> OptimizeResult:
        """Let scipy find the least squares, with its own differences unless ``exact``."""
        return least_squares(
            self.residuals,
            self.start(),
            jac=self.jacobian if exact else "2-point",
            x_scale=100.0,
            xtol=1e-12,
            ftol=1e-14,
        )
