"""A survey's runs adjusted and tested: from networks to what stands and what disagrees."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from baywalk.reconcile import usual
from baywalk.reconcile.adjust import Adjuster, Fit
from baywalk.reconcile.common import Common, best_trial
from baywalk.reconcile.network import Network
from baywalk.reconcile.slips import Guess, Weigher, unexplained
from baywalk.reconcile.snoop import (
    Disagreement,
    Limits,
    Name,
    critical,
    disagreeing,
    snoop,
    testable,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.fieldbook import Run, Survey
    from baywalk.rules import Pack


@dataclass
class Solved:
    """One run, solved.

    Attributes:
        network: its equations.
        adjuster: their adjuster, for asking "what if".
        first: the fit with every reading in.
        fit: the fit with the readings that disagree set aside.
        disagreements: what was set aside, in that order.
        guesses: for each disagreement, the readings that may be at fault, likeliest first.
        limits: when a reading disagrees, for the survey as a whole.
        common: one mistake behind many disagreements, whose readings are all set aside.
        assumed: joists that were given the usual breadth.

    """

    network: Network
    adjuster: Adjuster
    first: Fit
    fit: Fit
    disagreements: list[Disagreement] = field(default_factory=list)
    guesses: list[list[Guess]] = field(default_factory=list)
    limits: Limits = field(default_factory=lambda: Limits(np.inf, 0.0))
    common: Common | None = None
    assumed: list[int] = field(default_factory=list)

    @property
    def run(self) -> Run:
        """The run's head."""
        return self.network.run


def solve(survey: Survey, pack: Pack) -> list[Solved]:
    """Adjust and test every run; the limit of the tests is shared by the whole survey."""
    runs = [_adjust(survey, run, pack) for run in survey.runs]
    threshold = pack["reading.unchecked"]
    tests = sum(testable(solved.first, threshold) for solved in runs)
    limit = critical(pack["reading.false_alarm"], tests, sum(run.first.dof for run in runs))
    for solved in runs:
        most = pack["suspect.most"]
        _test(solved, Limits(limit, threshold, most, solved.network.passive()))
        if len(solved.disagreements) >= pack["suspect.many"]:
            _look_for_common_cause(survey, solved)
    return runs


def _test(solved: Solved, limits: Limits, apart: Sequence[int] = ()) -> None:
    """Set aside what disagrees and name what may be at fault; ``apart`` stays out of it."""
    solved.limits = limits
    fit = solved.adjuster.fit(apart, solved.first.values) if apart else solved.first
    solved.fit = fit
    solved.disagreements, solved.guesses = [], []
    if fit.converged and float(np.max(np.abs(fit.w[fit.used]), initial=0.0)) <= limits.test:
        return
    weigher = Weigher(solved.network, solved.adjuster)
    outcome = snoop(solved.adjuster, fit, limits, _namer(solved.network, weigher), apart)
    solved.fit = outcome.fit
    solved.disagreements = outcome.disagreements
    solved.guesses = [
        weigher.weigh(case.before) or [unexplained(case.row)] for case in outcome.disagreements
    ]


def _namer(network: Network, weigher: Weigher) -> Name:
    """Return what names the rows at fault, and stops where a person stands by the first."""
    kept = {network.rows[i] for i in network.kept if i in network.rows}

    def name(fit: Fit) -> list[int] | None:
        rows = [guess.row for guess in weigher.weigh(fit)]
        return None if rows and rows[0] in kept else rows

    return name


def _look_for_common_cause(survey: Survey, solved: Solved) -> None:
    """Name one mistake instead of many slips, where undoing it leaves far fewer of them."""
    network, limits = solved.network, solved.limits
    # Undoing it must explain as much as the fewest slips that it may stand for.
    least = network.pack["suspect.many"] * limits.test**2
    trial = best_trial(survey, network, solved.adjuster, solved.first.chi2 - least)
    if trial is None:
        return
    # The mistake counts for two slips: it must explain clearly more than it costs.
    most = len(solved.disagreements) - 1
    limits_there = replace(limits, passive=trial.network.passive(), most=most)
    if disagreeing(trial.adjuster, trial.fit, limits_there) >= most:
        return
    solved.common = trial.common
    rows = [network.rows[reading] for reading in trial.common.readings]
    _test(solved, limits, rows)


def _adjust(survey: Survey, run: Run, pack: Pack) -> Solved:
    network = Network(survey, run, pack)
    adjuster = Adjuster(network.equations, network.settle)
    fit = adjuster.fit()
    assumed = usual.left_open(network, fit) if usual.without_reading(network) else []
    if assumed:
        known = [e["value"] for i, e in network.entries.items() if _breadth_stands(network, i)]
        if usual.assume(network, assumed, np.array(known, dtype=np.float64)):
            adjuster = Adjuster(network.equations, network.settle)
            fit = adjuster.fit()
        else:
            assumed = []
    return Solved(network, adjuster, fit, fit, assumed=assumed)


def _breadth_stands(network: Network, entry: str) -> bool:
    return entry in network.rows and network.entries[entry]["kind"] == "breadth"
