"""Quantities asked of a fit, each with its standard deviation, all answered at once."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from scipy.sparse import csr_array

from baywalk.reconcile.normal import UNDETERMINED
from baywalk.reconcile.rounding import printed

if TYPE_CHECKING:
    from baywalk.reconcile.adjust import Fit


class Figure(NamedTuple):
    """A derived quantity: ``value`` and its standard deviation ``sd``, in one unit.

    The standard deviation holds the tape's scale as well as the scatter of the readings.
    """

    value: float
    sd: float

    def json(self, value_name: str = "value") -> dict[str, float]:
        """Return it for a file, to a micrometre, which is beyond any tape."""
        return {value_name: printed(self.value), "sd": printed(self.sd)}


class Questions:
    """Collects linear functions of the unknowns and answers them in one pass."""

    def __init__(self, fit: Fit) -> None:
        """Ask of this fit."""
        self._fit = fit
        self._known: list[float] = fit.values.tolist()
        self._columns: list[int] = []
        self._coefficients: list[float] = []
        self._ends: list[int] = [0]
        self._values: list[float] = []
        self._sds: list[float] | None = None

    def ask(self, terms: list[tuple[int | None, float]], value: float | None = None) -> int:
        """Ask for a function and return its number.

        Args:
            terms: unknown and coefficient; an unknown of None is a fixed zero and is left out.
            value: the function's value where it is not linear (the terms are then its slopes).

        """
        total = 0.0
        for column, coefficient in terms:
            if column is not None:
                self._columns.append(column)
                self._coefficients.append(coefficient)
                total += coefficient * self._known[column]
        self._ends.append(len(self._columns))
        self._values.append(total if value is None else value)
        return len(self._values) - 1

    def answer(self, number: int | None, useful: float = UNDETERMINED) -> Figure | None:
        """Return a figure, or None where the readings do not determine it.

        ``useful`` is the standard deviation beyond which it counts as not determined.
        """
        if number is None:
            return None
        if self._sds is None:
            self._sds = self._spread()
        sd = self._sds[number]
        return None if sd > useful or not math.isfinite(sd) else Figure(self._values[number], sd)

    def _spread(self) -> list[float]:
        shape = (len(self._values), len(self._fit.values))
        rows = csr_array(
            (
                np.array(self._coefficients, dtype=np.float64),
                np.array(self._columns, dtype=np.int64),
                np.array(self._ends, dtype=np.int64),
            ),
            shape=shape,
        )
        return [float(s) for s in self._fit.spread(rows)]
