"""Data snooping: which readings disagree with all the others, one after another.

A reading is tested by its residual over the residual's own standard deviation (Baarda 1968). The
limit is set for the whole survey, not for one reading: by Šidák's inequality (1967) the chance
that any of m correlated normal tests exceeds the two-sided limit for 1 - (1 - a)^(1/m) is at most
a. The worst reading is set aside and the rest adjusted anew, until none exceeds the limit; one set
aside too early is taken back.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import chdtri, ndtri

from baywalk.reconcile.adjust import Adjuster, Fit
from baywalk.reconcile.unclosed import is_open, misses

if TYPE_CHECKING:
    from baywalk.reconcile.equations import Floats

_SAME = 1e-4
"""Tests whose sizes differ by less than this share are one test."""


def critical(chance: float, tests: int, dof: int) -> float:
    """Return the limit of a test [standard deviations], for a ``chance`` over a whole survey.

    ``tests`` counts the tests that differ, ``dof`` the degrees of freedom. No test's square can
    exceed the whole sum of squares, so a quantile of chi-square bounds the limit too (Scheffé
    1953); with few checks it is the lower of the two.
    """
    each = -np.expm1(np.log1p(-chance) / max(tests, 1))
    bound = float(np.sqrt(chdtri(dof, chance))) if dof else np.inf
    return min(float(-ndtri(each / 2)), bound)


Name = Callable[[Fit], list[int] | None]
"""From a fit with a disagreement in it to the rows that may be at fault, the likeliest first.

None says that a person has looked at it and stands by the reading: nothing is set aside for it.
"""


@dataclass(frozen=True)
class Disagreement:
    """A row that was set aside.

    Attributes:
        row: its number.
        before: the fit with this row in and every other disagreement set aside.

    """

    row: int
    before: Fit


@dataclass(frozen=True)
class Snooped:
    """The last fit, with every row that disagrees set aside, and how it came to that."""

    fit: Fit
    disagreements: list[Disagreement] = field(default_factory=list)


def testable(fit: Fit, threshold: float) -> int:
    """Return how many different tests the rows give.

    Readings that check one another alone (the gaps of a line and its overall) have tests of the
    same size whatever was read; they are one test.
    """
    sizes = np.sort(np.abs(fit.w[fit.redundancy > threshold]))
    return int(np.sum(np.diff(sizes, prepend=-np.inf) > _SAME * np.maximum(sizes, 1.0)))


@dataclass(frozen=True)
class Limits:
    """When a row counts as disagreeing.

    Attributes:
        test: how far a test may go [standard deviations].
        redundancy: what a row must have to be tested at all.
        most: how many rows may be set aside one by one.
        passive: rows that are no readings (a tape's scale) and are never set aside.

    """

    test: float
    redundancy: float
    most: int = 24
    passive: Sequence[int] = ()


Without = Callable[[Sequence[int], Fit], Fit]
"""Gives the fit with these rows set aside too, begun at the values of the last one."""


def snoop(
    adjuster: Adjuster,
    fit: Fit,
    limits: Limits,
    name: Name | None = None,
    apart: Sequence[int] = (),
) -> Snooped:
    """Set aside what disagrees, worst first, and look at each disagreement by itself.

    Args:
        adjuster: the equations.
        fit: their adjustment with only ``apart`` set aside.
        limits: when a row disagrees, and how many may.
        name: chooses the row at fault once something disagrees; without it that is the row with
            the largest test.
        apart: rows that stay aside whatever they say.

    """
    known: dict[frozenset[int], Fit] = {frozenset(): fit}

    def without(rows: Sequence[int], last: Fit) -> Fit:
        key = frozenset(rows)
        if key not in known:
            known[key] = adjuster.fit([*apart, *rows], _start(last))
        return known[key]

    last, aside = _set_aside(fit, without, limits, name)
    return _explained(last, without, aside, limits, name)


def disagreeing(adjuster: Adjuster, fit: Fit, limits: Limits) -> int:
    """Return how many rows are set aside until the rest agree, the largest test each time."""

    def without(rows: Sequence[int], last: Fit) -> Fit:
        return adjuster.fit(rows, _start(last))

    return len(_set_aside(fit, without, limits, None)[1])


def _start(last: Fit) -> Floats | None:
    """Return values to begin at; where a figure was left open there are none."""
    return last.values if last.converged else None


def _set_aside(
    fit: Fit, without: Without, limits: Limits, name: Name | None
) -> tuple[Fit, list[int]]:
    """Return the last fit and what is set aside in it."""
    aside: list[int] = []
    taken_back: set[int] = set()
    while True:
        row = _worst(fit, limits) if len(aside) < limits.most else None
        if row is not None:
            chosen = _named(fit, name, row, aside)
            if chosen is None:
                return fit, aside
            aside.append(chosen)
        elif (back := _sound_after_all(fit, aside, limits, taken_back)) is not None:
            taken_back.add(back)
            aside.remove(back)
        else:
            return fit, aside
        fit = without(aside, fit)


def _named(fit: Fit, name: Name | None, worst: int, aside: Sequence[int]) -> int | None:
    """Return the row to set aside: the likeliest one that is still in use; None where kept."""
    rows = name(fit) if name else []
    if rows is None:
        return None
    return next((row for row in rows if row not in aside), worst)


def _explained(
    fit: Fit, without: Without, aside: list[int], limits: Limits, name: Name | None
) -> Snooped:
    """Look at each disagreement by itself, the others set aside; let it change its mind once.

    Where nothing disagrees then, others that came later had told of the same.
    """
    before = list(aside)
    cases = []
    for row in before:
        others = [r for r in aside if r != row]
        alone = without(others, fit)
        if alone.converged and _worst(alone, limits) is None:
            aside.remove(row)
            continue
        named = _named(alone, name, row, others)
        chosen = row if named is None else named
        aside[aside.index(row)] = chosen
        cases.append(Disagreement(chosen, alone))
    return Snooped(fit if aside == before else without(aside, fit), cases)


def _worst(fit: Fit, limits: Limits) -> int | None:
    size = np.where(fit.used & (fit.redundancy > limits.redundancy), np.abs(fit.w), 0.0)
    if is_open(fit):
        # It has rows that no test tells of: by how far they miss.
        size = np.maximum(size, np.where(fit.used, misses(fit), 0.0))
    size[list(limits.passive)] = 0.0
    # Readings that check one another alone have equal tests: the first of them, not the noisiest.
    most = float(np.max(size, initial=0.0))
    row = int(np.argmax(size >= most - max(1e-4, 1e-7 * most))) if size.size else 0
    return row if size.size and size[row] > limits.test else None


def _sound_after_all(
    fit: Fit, aside: Sequence[int], limits: Limits, taken_back: set[int]
) -> int | None:
    """Return a row set aside that now agrees; each is taken back once at most."""
    for row in aside:
        if row not in taken_back and fit.redundancy[row] > 0 and abs(fit.w[row]) < limits.test:
            return row
    return None
