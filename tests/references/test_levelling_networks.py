"""Published levelling networks through the adjustment's core.

A height network has the same equations as a tape line: differences between unknowns.
Sources are named case by case; READ-2 means the figures were seen in a second public source.
"""

from __future__ import annotations

import numpy as np
import pytest

from baywalk.reconcile.adjust import Adjuster, Fit
from baywalk.reconcile.equations import Equations
from baywalk.reconcile.snoop import Limits, snoop

Line = tuple[str, str, float, float]


def _fit(lines: list[Line], fixed: dict[str, float]) -> tuple[Fit, dict[str, int], Adjuster]:
    """Adjust height differences "from, to, difference [mm], sigma [mm]" with fixed points [mm]."""
    equations = Equations()
    names = {p for a, b, _, _ in lines for p in (a, b)} - set(fixed)
    number = {name: equations.unknown(0.0, place) for place, name in enumerate(sorted(names))}
    for a, b, difference, sigma in lines:
        terms = [(number[p], s) for p, s in ((a, -1.0), (b, 1.0)) if p in number]
        constant = sum(s * fixed[p] for p, s in ((a, -1.0), (b, 1.0)) if p in fixed)
        equations.row([c for c, _ in terms], [k for _, k in terms], difference, sigma, constant)
    adjuster = Adjuster(equations)
    return adjuster.fit(), number, adjuster


def _heights(fit: Fit, number: dict[str, int]) -> dict[str, float]:
    return {name: float(fit.values[n]) for name, n in number.items()}


def _sds(fit: Fit, number: dict[str, int]) -> dict[str, float]:
    from scipy.sparse import eye_array

    spread = fit.spread(eye_array(len(fit.values), format="csr"))
    return {name: float(spread[n]) for name, n in number.items()}


L1 = [
    ("A", "B", 10509.0, 6.0),
    ("A", "C", 15881.0, 12.0),
    ("B", "C", 5360.0, 4.0),
    ("B", "D", -3167.0, 4.0),
    ("C", "D", -8523.0, 5.0),
    ("D", "A", -7348.0, 3.0),
]


def test_l1_weighted_network() -> None:
    """Ghilani & Wolf, Adjustment Computations 4th ed. ex. 12.1; Krumm, Rev. 3.5, ex. 2.1. READ-2.

    The book's own 0.6575 for S0 comes from rounded residuals; 0.6512 is the sound figure.
    """
    fit, number, _ = _fit(L1, {"A": 437596.0})
    heights, sds = _heights(fit, number), _sds(fit, number)
    assert heights == pytest.approx({"B": 448108.71, "C": 453468.47, "D": 444943.61}, abs=0.005)
    assert fit.sigma0 == pytest.approx(0.6512, abs=5e-5)
    assert fit.chi2 == pytest.approx(1.27212, abs=5e-6)
    assert fit.dof == 3
    scaled = {name: sd * fit.sigma0 for name, sd in sds.items()}
    assert scaled == pytest.approx({"B": 2.30, "C": 2.64, "D": 1.76}, abs=0.005)
    assert fit.residuals == pytest.approx([3.71, -8.53, -0.24, 1.89, -1.86, 0.39], abs=0.006)
    # Derived in double precision from the same input.
    redundancy = [0.654869, 0.886182, 0.329448, 0.432621, 0.509175, 0.187705]
    assert fit.redundancy == pytest.approx(redundancy, abs=1e-6)
    assert fit.w == pytest.approx([0.7644, -0.7553, -0.1063, 0.7197, -0.5220, 0.3037], abs=1e-4)


def test_l1_smallest_slip_noticed() -> None:
    """Minimal detectable bias, derived: 4.132148 sigma over the root of the redundancy."""
    fit, _, adjuster = _fit(L1, {"A": 437596.0})
    mdb = 4.132148 * np.array(adjuster.equations.sigmas) / np.sqrt(fit.redundancy)
    assert mdb == pytest.approx([30.637, 52.674, 28.797, 25.129, 28.954, 28.613], abs=0.001)


def test_l2_printed_tests_and_redundancies() -> None:
    """Z. Siki (BME), open tutorial "Level network adjustment and data snooping". READ."""
    distances = [1.1, 1.8, 1.4, 1.5, 1.9, 0.9]
    ends = [("1", "2"), ("1", "3"), ("1", "4"), ("2", "3"), ("2", "4"), ("3", "4")]
    differences = [-749.0, -1274.0, -2890.0, -530.0, -2141.0, -1614.0]
    lines = [
        (a, b, d, 0.7 * km) for (a, b), d, km in zip(ends, differences, distances, strict=True)
    ]
    fit, number, _ = _fit(lines, {"4": 101345.0})
    heights = _heights(fit, number)
    assert heights == pytest.approx({"1": 104235.0, "2": 103486.8, "3": 102958.8}, abs=0.05)
    assert fit.residuals == pytest.approx([0.81, -2.18, 0.00, 2.01, -0.81, 0.18], abs=0.005)
    assert np.abs(fit.w) == pytest.approx([1.9, 2.1, 0.0, 2.6, 0.7, 0.6], abs=0.05)
    assert fit.redundancy == pytest.approx([0.3, 0.7, 0.5, 0.5, 0.7, 0.2], abs=0.05)
    assert fit.sigma0 == pytest.approx(1.65, abs=0.006)
    scaled = {name: sd * fit.sigma0 for name, sd in _sds(fit, number).items()}
    assert scaled == pytest.approx({"1": 1.13, "2": 1.19, "3": 0.91}, abs=0.005)
    # Rejected at 5 % (limit 7.815), accepted at 1 % (11.345): standard chi-square tables.
    assert 0.01 < fit.chi2_p < 0.05


WICKI = [
    ("6", "8", 32159.0, 0.1276),
    ("8", "10", -6556.0, 0.1372),
    ("8", "11", 26170.0, 0.0772),
    ("10", "11", 32726.0, 0.1041),
    ("9", "6", -27809.0, 0.0693),
    ("9", "11", 30419.0, 0.1041),
    ("9", "10", -2417.0, 0.0918),
    ("9", "8", 4246.0, 0.1372),
    ("6", "10", 25496.0, 0.0865),
]
"""F. Wicki, ETH Zurich 1998, sect. 18.2: +100 planted in line 1, -100 in line 7. READ-2."""


def test_l3_two_planted_slips_are_set_aside_in_order() -> None:
    """Wicki's net: pass 1 removes line 7, pass 2 line 1, pass 3 stops (limit 3.2905)."""
    lines = [(a, b, d, p**-0.5) for a, b, d, p in WICKI]
    fit, number, adjuster = _fit(lines, {"9": 0.0})
    assert fit.w[[6, 0]] == pytest.approx([25.374, -24.832], abs=0.001)
    assert fit.chi2 == pytest.approx(1287.23, abs=0.01)
    outcome = snoop(adjuster, fit, Limits(test=3.2905, redundancy=1e-4))
    assert [case.row + 1 for case in outcome.disagreements] == [7, 1]
    assert outcome.disagreements[1].before.w[0] == pytest.approx(-25.348, abs=0.001)
    assert outcome.fit.dof == 3
    assert outcome.fit.chi2 == pytest.approx(0.91, abs=0.005)
    heights = _heights(outcome.fit, number)
    wanted = {"6": -27807.19, "8": 4246.38, "10": -2309.74, "11": 30417.29}
    assert heights == pytest.approx(wanted, abs=0.005)


def test_l3_without_slips() -> None:
    """The same net with the planted slips taken out. Published: -27811, 4246, -2313, 30416."""
    clean = {1: -100.0, 7: 100.0}
    lines = [
        (a, b, d + clean.get(i, 0.0), p**-0.5) for i, (a, b, d, p) in enumerate(WICKI, start=1)
    ]
    fit, number, _ = _fit(lines, {"9": 0.0})
    heights = _heights(fit, number)
    assert heights == pytest.approx({"6": -27811, "8": 4246, "10": -2313, "11": 30416}, abs=0.54)
    assert fit.redundancy[0] == pytest.approx(0.453232, abs=1e-6)
    assert float(np.sum(fit.redundancy)) == pytest.approx(5.0)


def test_l4_correlated_datum() -> None:
    """Krumm, Rev. 3.5, ex. 2.3: two correlated heights as observations. READ-2.

    The pair is decorrelated by the inverse of its Cholesky factor and given as two rows of unit
    standard deviation, which is the same adjustment.
    """
    equations = Equations()
    number = {n: equations.unknown(0.0, i) for i, n in enumerate(("2", "3", "6", "7", "8"))}
    root = np.linalg.cholesky(np.array([[0.0025, -0.0015], [-0.0015, 0.0036]]))
    white = np.linalg.inv(root)
    read = white @ np.array([107754.1, 103453.5])
    for row, value in zip(white, read, strict=True):
        equations.row([number["2"], number["3"]], row.tolist(), float(value), 1.0)
    for a, b, d, variance in (
        ("2", "8", 5128.0, 0.7),
        ("3", "6", 2183.0, 0.5),
        ("3", "7", 12254.0, 0.5),
        ("6", "7", 10071.0, 0.8),
        ("8", "7", 2824.0, 0.8),
    ):
        equations.row([number[a], number[b]], [-1.0, 1.0], d, variance**0.5)
    fit = Adjuster(equations).fit()
    wanted = {"2": 107754.1, "3": 103453.5, "6": 105636.4, "7": 115707.2, "8": 112882.6}
    assert _heights(fit, number) == pytest.approx(wanted, abs=0.05)
    sds = {"2": 0.04, "3": 0.04, "6": 0.43, "7": 0.39, "8": 0.48}
    scaled = {name: sd * fit.sigma0 for name, sd in _sds(fit, number).items()}
    assert scaled == pytest.approx(sds, abs=0.005)
    assert fit.residuals[2:] == pytest.approx([0.52, -0.10, -0.27, -0.17, 0.60], abs=0.005)
    assert fit.dof == 2
    assert fit.sigma0 == pytest.approx(0.72388, abs=1e-5)


@pytest.mark.parametrize(("points", "redundancy"), [(4, 1 / 2), (5, 3 / 5), (9, 7 / 9)])
def test_line_calibration_closed_form(points: int, redundancy: float) -> None:
    """All n(n+1)/2 distances between n + 1 points on a line: r = (n - 1) / (n + 1). Derived."""
    n = points - 1
    lines = [
        (str(i), str(j), 1000.0 * (j - i), 1.0) for i in range(n + 1) for j in range(i + 1, n + 1)
    ]
    fit, _, _ = _fit(lines, {"0": 0.0})
    assert fit.redundancy == pytest.approx([redundancy] * len(lines), abs=1e-9)
