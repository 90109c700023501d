"""What one further reading buys, in figures."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from baywalk.reconcile.normal import UNDETERMINED
from baywalk.reconcile.rounding import steady

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from baywalk.reconcile.adjust import Fit
    from baywalk.reconcile.advice.candidates import Candidate
    from baywalk.reconcile.equations import Floats, Ints
    from baywalk.reconcile.normal import Design
    from baywalk.reconcile.solve import Solved

_AT_ONCE = 64
_NOTICED = 0.01
"""From this redundancy on a reading counts as checked by another."""

_APART = 3.0
"""Two predictions this many standard deviations apart are told apart by the reading."""


@dataclass(frozen=True)
class Checks:
    """What a reading does for the readings there are.

    Attributes:
        nats: half the sum of the logs by which the redundancies grow; what to rank by.
        checked: ids' rows that had nothing to check them and would have.
        worst: largest slip [mm] that could go unnoticed, before and after.

    """

    nats: float
    checked: list[int]
    worst: tuple[float, float]


def checks(solved: Solved, candidates: Sequence[Candidate]) -> list[Checks | None]:
    """Return what each reading does for the checking of the others.

    None where it has no place, or checks nothing that nothing checks yet.
    """
    fit, pack = solved.fit, solved.network.pack
    rows = np.array(sorted(solved.network.rows.values()), dtype=np.int64)
    rows = rows[fit.used[rows]]
    floor, delta0 = pack["reading.unchecked"], pack["reading.mdb.delta0"]
    loose = rows[fit.redundancy[rows] <= floor]
    if not loose.size:
        return [None] * len(candidates)
    variances = np.array(solved.network.equations.sigmas) ** 2
    out: list[Checks | None] = [None] * len(candidates)
    near = _near(fit, candidates, loose, variances[loose])
    for number, (answer, reach, own) in zip(
        near, _answers(fit, [candidates[i] for i in near]), strict=True
    ):
        after = fit.redundancy[loose] + answer[loose] ** 2 / (own * variances[loose])
        newly = loose[after > _NOTICED]
        if reach <= UNDETERMINED**2 and newly.size:
            added = answer[rows] ** 2 / (own * variances[rows])
            bought = _bought(fit.redundancy[rows], added, variances[rows], newly, floor, delta0)
            out[number] = bought
    return out


def _near(fit: Fit, candidates: Sequence[Candidate], loose: Ints, variances: Floats) -> list[int]:
    """Return the candidates that could check one of the rows which nothing checks.

    In a long run nearly all of them are too far off, and their whole answers need no working out.
    """
    if len(loose) >= len(candidates):
        return list(range(len(candidates)))
    reaches = fit.normal.solve(_full(fit.design[loose]).T)
    out = []
    for number, candidate in enumerate(candidates):
        answer = sum((k * reaches[column] for column, k in candidate.terms), np.zeros(len(loose)))
        most = fit.redundancy[loose] + answer**2 / (candidate.sigma**2 * variances)
        if np.any(most > _NOTICED):
            out.append(number)
    return out


def _full(rows: Design) -> Floats:
    return rows if isinstance(rows, np.ndarray) else np.asarray(rows.toarray())


def _bought(
    before: Floats, added: Floats, variances: Floats, newly: Ints, floor: float, delta0: float
) -> Checks:
    low, high = np.maximum(before, floor), np.maximum(before + added, floor)
    slips = [delta0 * float(np.sqrt(np.max(variances / r))) for r in (low, high)]
    nats = float(np.sum(np.log(high / low)) / 2)
    return Checks(nats, newly.tolist(), (slips[0], slips[1]))


def _answers(fit: Fit, candidates: Sequence[Candidate]) -> Iterator[tuple[Floats, float, float]]:
    """Yield for each candidate the rows' covariances with it, its variance, and that once read."""
    # Several at a time share the walk through the blocks; all at once would fill the memory.
    for start in range(0, len(candidates), _AT_ONCE):
        group = candidates[start : start + _AT_ONCE]
        answers, reaches = _responses(fit, group)
        for number, candidate in enumerate(group):
            reach = float(reaches[number])
            yield answers[:, number], reach, candidate.sigma**2 + reach


def _responses(fit: Fit, candidates: Sequence[Candidate]) -> tuple[Floats, Floats]:
    """Return each row's covariance with each candidate [mm²] and each candidate's variance."""
    terms = np.zeros((len(fit.values), len(candidates)))
    for number, candidate in enumerate(candidates):
        for column, coefficient in candidate.terms:
            terms[column, number] += coefficient
    shift = fit.normal.solve(terms)
    return np.asarray(fit.design @ shift), np.asarray(np.einsum("ij,ij->j", terms, shift))


def _response(fit: Fit, candidate: Candidate) -> tuple[Floats, float]:
    answers, reaches = _responses(fit, [candidate])
    return answers[:, 0], float(reaches[0])


@dataclass(frozen=True)
class Parting:
    """How a reading parts the suspects of one disagreement.

    Attributes:
        nats: by how much it is expected to lower the doubt.
        groups: suspects' rows that stay together, likeliest group first.

    """

    nats: float
    groups: list[list[int]]


def parting(solved: Solved, case: int, candidate: Candidate) -> Parting | None:
    """Return how far a reading would tell a disagreement's suspects apart.

    Each suspect, taken as the one at fault, predicts another length for the candidate; lengths
    within a few standard deviations of each other cannot be told apart by it.
    """
    least = solved.network.pack["suspect.least"]
    guesses = [
        g for g in solved.guesses[case] if g.likelihood >= least and g.would_read is not None
    ]
    before = solved.disagreements[case].before
    answer, reach = _response(before, candidate)
    if len(guesses) < 2 or reach > UNDETERMINED**2:
        return None
    equations = solved.network.equations
    lengths = []
    for guess in guesses:
        slip = equations.read[guess.row] - (guess.would_read or 0.0)
        lengths.append(-answer[guess.row] * slip / equations.sigmas[guess.row] ** 2)
    order = sorted(range(len(guesses)), key=lambda i: steady(lengths[i]))
    groups, last = [[order[0]]], lengths[order[0]]
    for i in order[1:]:
        if lengths[i] - last > _APART * candidate.sigma:
            groups.append([])
        groups[-1].append(i)
        last = lengths[i]
    # Guesses come likeliest first, and so do those of a group.
    groups = [sorted(group) for group in groups]
    shares = [g.likelihood for g in guesses]
    doubt = _doubt(shares) - sum(_doubt([shares[i] for i in group]) for group in groups)
    named = sorted(groups, key=lambda group: -steady(sum(shares[i] for i in group)))
    return Parting(doubt, [[guesses[i].row for i in group] for group in named])


def _doubt(shares: list[float]) -> float:
    """Return the entropy of a group's shares, weighed by the group's own share [nats]."""
    total = sum(shares)
    return -sum(s * math.log(s / total) for s in shares if s > 0)
