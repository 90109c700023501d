"""A plane figure that cannot close: a side longer than all the others together, and the like.

Where the figure holds just enough lengths to be drawn, no other reading tells what the wrong one
should have been; leaving it out lets the figure close, and that is all there is to go by.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from baywalk.reconcile.rounding import steady

if TYPE_CHECKING:
    from baywalk.reconcile.adjust import Adjuster, Fit

OPEN = 6.0
"""A fit that found no rest and misses a reading by this many standard deviations cannot close."""

_MOST_TRIED = 8


def is_open(fit: Fit) -> bool:
    """Say whether a fit came to no rest because its figure cannot close."""
    return not fit.converged and bool(np.max(misses(fit)[fit.used], initial=0.0) > OPEN)


def misses(fit: Fit) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return by how far each row misses, in its own standard deviations; never above its test."""
    return np.asarray(np.abs(fit.residuals) / fit.sigmas)


def explains(fit: Fit, without: Fit) -> bool:
    """Say whether the fit without a row has lost most of what was amiss with it."""
    return 2 * without.chi2 < fit.chi2


def openers(adjuster: Adjuster, fit: Fit) -> list[int]:
    """Return the curved rows each of which, left out, lets the figure close; else the worst."""
    miss = misses(fit)
    curved = [row for row in adjuster.equations.curves if fit.used[row]]
    ranked = sorted(curved, key=lambda row: (-steady(float(miss[row])), row))
    aside = np.flatnonzero(~fit.used).tolist()
    tried = ranked[:_MOST_TRIED]
    return [r for r in tried if explains(fit, adjuster.fit([*aside, r]))] or ranked[:1]
