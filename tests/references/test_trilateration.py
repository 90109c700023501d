"""A published trilateration through the plane's own distances.

Krumm, Geodetic Network Adjustment Examples, Rev. 3.5, ex. 3.1.1, after Benning 2011 ex. 8-2.
READ-2.
"""

from __future__ import annotations

import numpy as np
import pytest

from baywalk.reconcile.adjust import Adjuster
from baywalk.reconcile.equations import Equations
from baywalk.reconcile.plane import Line, Spot, between


def test_t1_two_new_points() -> None:
    """Points 3 and 4 from five distances; with one check all tests are equal."""
    equations = Equations()

    def point(x: float, y: float, *, fixed: bool) -> Spot:
        # A point is the origin of a line of its own; a direction is held where it has no say.
        numbers = [equations.unknown(v) for v in (x, y, 0.0)]
        for number in numbers if fixed else numbers[2:]:
            equations.row([number], [1.0], equations.start[number], 1e-6)
        return Spot(None, Line(*numbers))

    points = {
        1: point(0.0, 1_000_000.0, fixed=True),
        2: point(1_000_000.0, 1_000_000.0, fixed=True),
        3: point(0.0, 0.0, fixed=False),
        4: point(1_000_000.0, 0.0, fixed=False),
    }
    read = {
        (1, 3): 1_000_020.0,
        (1, 4): 1_414_200.0,
        (2, 3): 1_414_240.0,
        (2, 4): 999_980.0,
        (3, 4): 1_000_000.0,
    }
    rows = []
    for (a, b), length in read.items():
        columns, curve = between(points[a], points[b], [])
        rows.append(equations.curve(columns, curve, length, 10.0))
    fit = Adjuster(equations).fit()
    three, four = points[3].at(fit.values), points[4].at(fit.values)
    assert three == pytest.approx((-9.6, -22.6), abs=0.05)
    assert four == pytest.approx((999_993.0, 17.4), abs=0.05)
    assert fit.dof == 1
    assert fit.sigma0 * 10 == pytest.approx(6.882, abs=0.001)
    assert fit.residuals[rows] / 10 == pytest.approx(
        [0.260, -0.368, -0.368, 0.260, 0.260], abs=5e-4
    )
    redundancy = [0.14285, 0.28571, 0.28572, 0.14286, 0.14286]
    assert fit.redundancy[rows] == pytest.approx(redundancy, abs=2e-5)
    # The error can be noticed but not located: a tool must not name one reading.
    assert np.abs(fit.w[rows]) == pytest.approx([0.688242] * 5, abs=1e-5)
