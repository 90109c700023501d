"""Observation equations: what every reading says of the unknowns, ready for the adjustment.

A *row* is one equation ``computed(unknowns) = read``. Most rows are linear in the unknowns; a row
along a joist or a diagonal is a distance in the plane and is linearised anew at each step.
The core knows nothing of joists: an unknown only has a *place* on the line from the start wall to
the end wall, which keeps the normal equations narrow.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

BORDER = -1
"""The place of an unknown that belongs nowhere on the line: a tape line's own, a tape's scale."""

Curve = Callable[[Floats], tuple[float, list[float], list[float]]]
"""From the unknowns [mm] to a computed length [mm], its partial derivatives in column order, and
how each column turns it: the products of these, times the residual, are what it bends by [1/mm]."""


@dataclass
class Equations:
    """The observation equations of one network, grown row by row.

    Attributes:
        start: first guess of each unknown [mm, or mm per m for a direction or scale].
        places: place of each unknown along the line, or :data:`BORDER`.
        columns, coefficients: per row, the unknowns it touches and their coefficients [-].
        constants: per row, what is added to the linear part [mm].
        read: per row, the length read [mm].
        sigmas: per row, its standard deviation before adjustment [mm].
        curves: row number to the function that computes it, where it is not linear.

    """

    start: list[float] = field(default_factory=list)
    places: list[int] = field(default_factory=list)
    columns: list[Sequence[int]] = field(default_factory=list)
    coefficients: list[Sequence[float]] = field(default_factory=list)
    constants: list[float] = field(default_factory=list)
    read: list[float] = field(default_factory=list)
    sigmas: list[float] = field(default_factory=list)
    curves: dict[int, Curve] = field(default_factory=dict)

    def unknown(self, start: float, place: int = BORDER) -> int:
        """Add an unknown with a first guess [mm] and return its number."""
        self.start.append(start)
        self.places.append(place)
        return len(self.start) - 1

    def row(
        self,
        columns: Sequence[int],
        coefficients: Sequence[float],
        read: float,
        sigma: float,
        constant: float = 0.0,
    ) -> int:
        """Add a linear row (``read`` and ``sigma`` in mm) and return its number."""
        self.columns.append(columns)
        self.coefficients.append(coefficients)
        self.constants.append(constant)
        self.read.append(read)
        self.sigmas.append(sigma)
        return len(self.read) - 1

    def curve(self, columns: Sequence[int], curve: Curve, read: float, sigma: float) -> int:
        """Add a row computed by ``curve`` (``read`` and ``sigma`` in mm); return its number."""
        number = self.row(columns, [0.0] * len(columns), read, sigma)
        self.curves[number] = curve
        return number
