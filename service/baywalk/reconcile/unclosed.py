"""A plane figure that cannot close: a side longer than all the others together, and the like.

Where the figure holds just enough lengths to be drawn, no other reading tells what the wrong one
should have been; leaving it out lets the figure close, and that is all there is to go by.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from baywalk.reconcile.adjust import Fit

OPEN = 6.0
"""A fit that found no rest and misses a reading by this many standard deviations cannot close."""


def is_open(fit: Fit) -> bool:
    """Say whether a fit came to no rest because its figure cannot close."""
    return not fit.converged and bool(np.max(misses(fit)[fit.used], initial=0.0) > OPEN)


def misses(fit: Fit) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return by how far each row misses, in its own standard deviations; never above its test."""
    return np.asarray(np.abs(fit.residuals) / fit.sigmas)


def explains(fit: Fit, without: Fit) -> bool:
    """Say whether the fit without a row has lost most of what was amiss with it."""
    return 2 * without.chi2 < fit.chi2
