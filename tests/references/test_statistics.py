"""Published and recomputed constants of the tests, against the shipped functions and the pack.

Where a figure comes from stands beside it; "derived" means recomputed with scipy.stats.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats
from scipy.sparse import eye_array

from baywalk import rules
from baywalk.reconcile import snoop
from baywalk.reconcile.adjust import Adjuster, Fit
from baywalk.reconcile.equations import Equations
from baywalk.reconcile.snoop import Limits, critical
from tests.references.test_levelling_networks import L1, _fit

PACK = rules.load()
DELTA0 = PACK["reading.mdb.delta0"]


def test_two_sided_limit_of_one_test() -> None:
    """3.2905 at 0.001: READ on a reference page on Baarda's test; 2.5758 and 1.9600: tables."""
    for chance, limit in ((0.001, 3.2905), (0.01, 2.5758), (0.05, 1.9600)):
        assert critical(chance, 1, 1000) == pytest.approx(limit, abs=5e-5)


@pytest.mark.parametrize("tests", [1, 2, 10, 100, 1000])
def test_limit_for_a_whole_survey(tests: int) -> None:
    """Šidák 1967: m independent tests at 1 - (1 - a)^(1/m) each raise an alarm with chance a."""
    limit = critical(0.01, tests, 10_000)
    each = 2 * stats.norm.sf(limit)
    assert 1 - (1 - each) ** tests == pytest.approx(0.01, rel=1e-9)


def test_limit_with_few_checks() -> None:
    """No test's square exceeds the sum of squares, so chi-square's quantile bounds it (Scheffé)."""
    assert critical(0.05, 100, 1) == pytest.approx(math.sqrt(3.841), abs=2e-4)
    assert critical(0.001, 100, 1) == pytest.approx(3.2905, abs=5e-5)


def test_false_alarms_of_independent_tests() -> None:
    """Simulated, seeded: 40 tests each, the limit exceeded in 1 % of 20 000 surveys."""
    draws = np.random.default_rng(7).standard_normal((20_000, 40))
    alarms = float(np.mean(np.abs(draws).max(axis=1) > critical(0.01, 40, 40)))
    assert alarms == pytest.approx(0.01, abs=0.0025)


def test_delta0() -> None:
    """Baarda 1968: 4.13 at 0.001 and 0.80 (MEMORY); 4.132148, lambda 17.0746 derived."""
    limit = stats.chi2.isf(0.001, 1)
    assert stats.ncx2.sf(limit, 1, DELTA0**2) == pytest.approx(0.80, abs=1e-6)
    assert pytest.approx(17.0746, abs=1e-4) == DELTA0**2


@pytest.mark.parametrize(
    ("chance", "power", "delta"),
    [
        (0.01, 0.80, 3.4175),
        (0.05, 0.80, 2.8016),
        (0.001, 0.90, 4.5721),
        (0.01, 0.90, 3.8574),
        (0.05, 0.90, 3.2415),
        (0.001, 0.95, 4.9354),
        (0.05, 0.95, 3.6048),
    ],
)
def test_delta0_of_other_pairs(chance: float, power: float, delta: float) -> None:
    """Derived table: the limit that the code uses, and the non-central chi-square's power."""
    limit = critical(chance, 1, 1000) ** 2
    assert stats.ncx2.sf(limit, 1, delta**2) == pytest.approx(power, abs=2e-5)


def _repeats(count: int) -> Fit:
    """Adjust one length read ``count`` times with a standard deviation of 1 mm."""
    equations = Equations()
    number = equations.unknown(0.0, 0)
    for _ in range(count):
        equations.row([number], [1.0], 400.0, 1.0)
    return Adjuster(equations).fit()


@pytest.mark.parametrize(("count", "factor"), [(2, 5.84), (3, 5.06), (4, 4.77)])
def test_smallest_slip_noticed_among_repeats(count: int, factor: float) -> None:
    """n repeats of one length: r = 1 - 1/n, 5.84, 5.06, 4.77 standard deviations. Derived."""
    fit = _repeats(count)
    assert fit.redundancy == pytest.approx([1 - 1 / count] * count)
    assert DELTA0 / np.sqrt(fit.redundancy[0]) == pytest.approx(factor, abs=0.006)


@pytest.mark.parametrize("legs", [3, 5, 12])
def test_smallest_slip_noticed_in_a_loop(legs: int) -> None:
    """One loop of n equal legs: r = 1/n each. Derived."""
    equations = Equations()
    numbers = [equations.unknown(0.0, i) for i in range(legs - 1)]
    for i in range(legs):
        ends = [(numbers[i - 1], -1.0)] if i else []
        ends += [(numbers[i], 1.0)] if i < legs - 1 else []
        equations.row([c for c, _ in ends], [k for _, k in ends], 0.0, 1.0)
    fit = Adjuster(equations).fit()
    assert fit.redundancy == pytest.approx([1 / legs] * legs)


POWER = {
    0.1: (0.010, 0.021, 0.044, 0.082, 0.141, 0.223, 0.449),
    0.3: (0.050, 0.136, 0.291, 0.498, 0.707, 0.862, 0.986),
    0.5: (0.121, 0.322, 0.597, 0.829, 0.951, 0.991, 1.0),
    0.7: (0.218, 0.522, 0.814, 0.958, 0.995, 1.0, 1.0),
    0.9: (0.328, 0.693, 0.927, 0.992, 1.0, 1.0, 1.0),
}
"""Power of one test at 3.2905 for errors of 3, 4, 5, 6, 7, 8, 10 sigma, by redundancy. Derived."""

SIZES = (3, 4, 5, 6, 7, 8, 10)


@pytest.mark.parametrize("redundancy", POWER)
def test_power_table(redundancy: float) -> None:
    """The chance that a slip of so many sigma is noticed, by its redundancy."""
    limit = critical(0.001, 1, 1000)
    for size, power in zip(SIZES, POWER[redundancy], strict=True):
        shift = size * math.sqrt(redundancy)
        noticed = stats.norm.sf(limit - shift) + stats.norm.cdf(-limit - shift)
        assert noticed == pytest.approx(power, abs=6e-4)


@pytest.mark.parametrize(("count", "size"), [(2, 6), (2, 8), (10, 4)])
def test_power_in_the_shipped_tests(count: int, size: int) -> None:
    """Simulated, seeded: one of n repeats is off; the core's limit and redundancies notice it.

    r = 1/2 and 9/10: .829, .991 and .693 by the table above.
    """
    redundancy = 1 - 1 / count
    wanted = POWER[round(redundancy, 1)][SIZES.index(size)]
    draw = np.random.default_rng(count * 100 + size)
    noticed = 0
    trials = 3000
    limit = critical(0.001, 1, 1000)
    fit = _repeats(count)
    spread = np.sqrt(fit.redundancy)
    for _ in range(trials):
        read = draw.standard_normal(count)
        read[0] += size
        w = (read - read.mean()) / spread
        noticed += abs(w[0]) > limit
    assert noticed / trials == pytest.approx(wanted, abs=4 * math.sqrt(0.25 / trials))


CHI2 = {
    1: (3.841, 5.024, 6.635, 10.828),
    2: (5.991, 7.378, 9.210, 13.816),
    3: (7.815, 9.348, 11.345, 16.266),
    5: (11.070, 12.833, 15.086, 20.515),
    10: (18.307, 20.483, 23.209, 29.588),
    30: (43.773, 46.979, 50.892, 59.703),
}
"""Upper critical values of chi-square at .05, .025, .01, .001: standard tables."""


@pytest.mark.parametrize("dof", CHI2)
def test_overall_test(dof: int) -> None:
    """A sum of squares at a table's critical value has the table's chance."""
    equations = Equations()
    number = equations.unknown(0.0, 0)
    for _ in range(dof + 1):
        equations.row([number], [1.0], 0.0, 1.0)
    for chance, value in zip((0.05, 0.025, 0.01, 0.001), CHI2[dof], strict=True):
        # Readings of +k and -k in pairs keep the mean at nought; the last carries the rest.
        shape = np.zeros(dof + 1)
        shape[:2] = 1.0, -1.0
        equations.read[:] = (shape * math.sqrt(value / 2)).tolist()
        fit = Adjuster(equations).fit()
        assert fit.dof == dof
        assert fit.chi2 == pytest.approx(value, rel=1e-9)
        assert fit.chi2_p == pytest.approx(chance, rel=2e-3)


def test_one_loop_is_one_test() -> None:
    """Readings that check one another alone count as one test; repeats of two lengths as two."""
    equations = Equations()
    numbers = [equations.unknown(0.0, i) for i in range(2)]
    for number, values in zip(numbers, ((400.0, 401.0), (350.0, 353.0)), strict=True):
        for value in values:
            equations.row([number], [1.0], value, 1.0)
    assert snoop.testable(Adjuster(equations).fit(), 1e-4) == 2


def _variance_case(factors: tuple[float, float]) -> tuple[float, np.ndarray]:
    """Return the mean and each group's next variance factor for Koch's case (V1).

    Squares of residuals q and the residuals' influence matrix R come from the core; the factors
    solve S f = q with S the sums of R o R' over the groups (Koch's estimate).
    """
    equations = Equations()
    number = equations.unknown(0.0, 0)
    groups = (slice(0, 3), slice(3, 5))
    for values, variance in (((1.25, 1.26, 1.24), 1e-4), ((1.22, 1.27), 4e-4)):
        for value in values:
            spread = math.sqrt(variance * factors[variance > 2e-4])
            equations.row([number], [1.0], value, spread)
    fit = Adjuster(equations).fit()
    sigmas = np.array(equations.sigmas)
    units = np.diag(sigmas**-2)
    hat = [fit.design @ fit.normal.solve(fit.design.T @ unit) for unit in units]
    influence = np.eye(5) - np.column_stack(hat)
    assert np.diag(influence) == pytest.approx(fit.redundancy)
    squares = [float(np.sum((fit.residuals[g] / sigmas[g]) ** 2)) for g in groups]
    sums = [[float(np.sum(influence[a, b] * influence[b, a].T)) for b in groups] for a in groups]
    return float(fit.values[0]), np.linalg.solve(np.array(sums), squares)


def test_v1_variance_components() -> None:
    """K.-R. Koch, Parameter Estimation and Hypothesis Testing, 2nd ed. 1999, 3.6.3. READ-2.

    The shipped core estimates no variance components; its residuals and their influence matrix
    are what the estimate is made of. Published factors: (.8889, 1.7917), (1.0914, .9318),
    (.9892, 1.0127); the mean is 1.2496.
    """
    factors = (1.0, 1.0)
    for published in ((0.8889, 1.7917), (1.0914, 0.9318), (0.9892, 1.0127)):
        mean, ratios = _variance_case(factors)
        assert ratios == pytest.approx(published, abs=1.5e-4)
        factors = (factors[0] * ratios[0], factors[1] * ratios[1])
    assert factors == pytest.approx((0.9597, 1.6907), abs=3e-4)
    assert mean == pytest.approx(1.2496, abs=5e-5)


def _level_circuit(*, weighted: bool, instrument: bool) -> tuple[Fit, list[float]]:
    """Adjust Mahun's circuit (L5) in feet; heights of the benchmarks from the printed residuals.

    Residuals of the seven-observation solution are computed less read; with Q = 0 they give each
    benchmark up to the difference Q - R, whose mean is 12.448333.
    """
    to_q = [("A", 8.91, 3, -0.015), ("B", -2.92, 2, 0.015), ("C", -4.67, 1, -0.035)]
    to_q += [("D", -8.66, 3, 0.035)]
    heights = {name: -(read + off) for name, read, _, off in to_q}
    equations = Equations()
    q, r = equations.unknown(0.0, 0), equations.unknown(0.0, 1)

    def sigma(setups: int) -> float:
        return math.sqrt(setups / 12) if weighted else 1.0

    for name, read, setups, _ in to_q:
        equations.row([q], [1.0], read, sigma(setups), -heights[name])
    for name, read, setups in (("A", -3.56, 3), ("C", -17.12, 4), ("D", -21.10, 2)):
        equations.row([r], [1.0], read, sigma(setups), -heights[name])
    if instrument:
        equations.row([q, r], [-1.0, 1.0], -12.47, sigma(3))
    fit = Adjuster(equations).fit()
    spread = fit.spread(eye_array(2, format="csr")) * (fit.sigma0 or 0.0)
    return fit, spread.tolist()


def test_l5_level_circuit() -> None:
    """J. Mahun, Least Squares Lite, ch. B and E (open access). READ.

    The source prints S0 .028 and s(R) .014 for the unweighted net; .029 and .0149 are right.
    """
    seven, _ = _level_circuit(weighted=False, instrument=False)
    assert seven.chi2 == pytest.approx(0.004767, abs=5e-7)
    assert seven.values[0] - seven.values[1] == pytest.approx(12.448333, abs=5e-6)
    plain, spread = _level_circuit(weighted=False, instrument=True)
    assert plain.values[0] - plain.values[1] == pytest.approx(12.456, abs=5e-4)
    assert plain.sigma0 == pytest.approx(0.02905, abs=5e-6)
    assert spread == pytest.approx([0.01333, 0.01490], abs=6e-6)
    weighed, spread = _level_circuit(weighted=True, instrument=True)
    assert weighed.values[0] - weighed.values[1] == pytest.approx(12.466, abs=5e-4)
    assert weighed.sigma0 == pytest.approx(0.067, abs=5e-4)
    assert spread == pytest.approx([0.012, 0.016], abs=5e-4)


def test_snooping_success_on_l1() -> None:
    """Iterated snooping on net L1, one slip of 6 to 9 sigma, alpha .001: correct .83 ± .02.

    Own Monte Carlo of the reference notes, 2000 trials; here 300 seeded ones through the core.
    """
    draw = np.random.default_rng(11)
    limits = Limits(test=3.2905, redundancy=1e-4, most=2)
    trials, right = 300, 0
    for _ in range(trials):
        lines = [[a, b, 0.0, s] for a, b, _, s in L1]
        for line in lines:
            line[2] = draw.normal(0.0, line[3])
        bad = int(draw.integers(6))
        lines[bad][2] += draw.choice([-1, 1]) * draw.uniform(6, 9) * lines[bad][3]
        fit, _, adjuster = _fit([tuple(line) for line in lines], {"A": 0.0})
        found = snoop.snoop(adjuster, fit, limits)
        right += [case.row for case in found.disagreements] == [bad]
    assert right / trials == pytest.approx(0.83, abs=0.07)
