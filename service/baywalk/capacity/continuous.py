"""Where a load that moves does most to a joist over several supports.

The whole beam's answers under every pattern of loaded spans and every place of a point load are
laid side by side, each from the theorem of three moments. Lengths in mm, forces in N, moments in
N mm; moments positive where the underside is pulled.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_SPOTS = np.arange(1, 100) / 100
"""Where a point load is tried in each span [share of the span]."""
_EACH = 2
"""Sag changes slowly with the load's place, so every so many of those serve for it."""
_LOOKS = _SPOTS[_EACH - 1 :: _EACH]
"""Where each span's sag is looked at: under each of those places, for it has a corner there."""


class Continuous:
    """A beam over inner supports, its stiffness 1, under unit loads.

    ``supports`` has the moment over every support [mm²] for an even load of 1 on each span in
    turn; ``point`` the same [mm] for a load of 1 at each place ``at`` of the span ``within``.
    """

    def __init__(self, spans: tuple[float, ...], slip: float) -> None:
        """Take the spans [mm] and E I over G A of the section, by its shape factor [mm²]."""
        self._l, self._slip = np.array(spans), slip
        count = len(spans)
        self.within = np.repeat(np.arange(count), len(_SPOTS))
        self.at = np.concatenate([_SPOTS * span for span in spans])
        length, at, rows = self._l[self.within], self.at, len(self.at)
        # How each load turns the beam at its span's two ends, as if it stood there alone.
        even = np.diag(self._l**3 / 24)
        left, right = np.zeros((rows, count)), np.zeros((rows, count))
        where = np.arange(rows), self.within
        rest = length - at
        left[where] = rest * (length**2 - rest**2) / (6 * length)
        right[where] = at * (length**2 - at**2) / (6 * length)
        self.supports = self._moments(even, even)
        self.point = self._moments(left, right)
        self._even_sag = self._sag_of(self.supports) + self._local_even()
        looks = np.arange(_EACH - 1, len(_SPOTS), _EACH)
        self._sparse = np.concatenate([looks + k * len(_SPOTS) for k in range(count)])
        self._point_sag = self._sag_of(self.point[self._sparse]) + self._local_point()

    def _moments(self, left: Array, right: Array) -> Array:
        """Return the moments over all supports of loads that turn each span's ends so much."""
        count = len(self._l)
        matrix, spans, slip = np.zeros((count - 1, count - 1)), self._l, self._slip
        for k, (one, two) in enumerate(pairwise(spans)):
            matrix[k, k] = (one + two) / 3 + slip * (1 / one + 1 / two)
            if k > 0:
                matrix[k, k - 1] = matrix[k - 1, k] = one / 6 - slip / one
        inner = np.linalg.solve(matrix, -(right[:, :-1] + left[:, 1:]).T).T
        return np.pad(inner, ((0, 0), (1, 1)))

    # --- sag ------------------------------------------------------------------------------

    def _sag_of(self, moments: Array) -> Array:
        """Return the sag that moments over the supports make at every look [rows, looks]."""
        length = self._l[:, None]
        t = length * _LOOKS
        by_left = t * (length - t) * (2 * length - t) / (6 * length)
        by_right = t * (length - t) * (length + t) / (6 * length)
        sag = moments[:, :-1, None] * by_left + moments[:, 1:, None] * by_right
        return np.asarray(sag.reshape(len(moments), -1))

    def _local_even(self) -> Array:
        length = self._l[:, None]
        t = length * _LOOKS
        sag = t * (length**3 - 2 * length * t**2 + t**3) / 24 + self._slip * t * (length - t) / 2
        return self._spread_out(np.arange(len(self._l)), sag)

    def _local_point(self) -> Array:
        within, at = self.within[self._sparse], self.at[self._sparse][:, None]
        length = self._l[within][:, None]
        t = length * _LOOKS
        # From whichever end the load lies beyond the look.
        near, far = np.where(t <= at, t, length - t), np.where(t <= at, length - at, at)
        sag = far * near * (length**2 - far**2 - near**2) / (6 * length)
        return self._spread_out(within, sag + self._slip * far * near / length)

    def _spread_out(self, within: Array | NDArray[np.int64], sag: Array) -> Array:
        """Return each row's sag at its own span's looks and none at the others'."""
        out = np.zeros((len(sag), len(self._l), len(_LOOKS)))
        out[np.arange(len(sag)), within] = sag
        return out.reshape(len(sag), -1)

    def most_sag(self, loads: Array, point: float) -> tuple[int, int]:
        """Return which row of even ``loads`` [N/mm] sags most, and with a ``point`` [N] where.

        The place is an index into ``within`` and ``at``; -1 where there is no point load.
        """
        resting = loads @ self._even_sag
        if not point:
            return int(np.argmax(resting.max(axis=1))), -1
        found = [(row + point * self._point_sag).max(axis=1) for row in resting]
        worst = max(range(len(found)), key=lambda k: float(found[k].max()))
        return worst, int(self._sparse[int(np.argmax(found[worst]))])

    # --- forces ---------------------------------------------------------------------------

    def still(self, loads: Array) -> tuple[float, float, tuple[float, ...]]:
        """Return the greatest moment, shear and reactions under rows of even loads [N/mm]."""
        moments = loads @ self.supports
        starts = self._starts(loads, moments)
        ends = starts - loads * self._l
        reactions = _reactions(starts, ends)
        most = max(float(np.abs(moments).max()), float(_peaks(moments, starts, ends, loads).max()))
        force = float(max(np.abs(starts).max(), np.abs(ends).max()))
        return most, force, tuple(float(r) for r in reactions.max(axis=0))

    def most_moment(self, loads: Array, point: float) -> float:
        """Return the greatest moment with a ``point`` [N] anywhere on top of rows of loads."""
        return max(self._with_point(row, point) for row in loads)

    def _with_point(self, load: Array, point: float) -> float:
        moments = load @ self.supports + point * self.point
        loads = np.broadcast_to(load, (len(moments), len(load)))
        starts = self._starts(loads, moments)
        peaks = _peaks(moments, starts, starts - loads * self._l, loads)
        # The loaded span has two parabolas, one on either side of the load.
        rows, w = np.arange(len(moments)), load[self.within]
        length, at = self._l[self.within], self.at
        left, start = moments[rows, self.within], starts[rows, self.within]
        start = start + point * (length - at) / length
        under = left + start * at - w * at**2 / 2
        after = start - w * at
        peaks[rows, self.within] = -np.inf
        beside = [_peak(left, start, after, w), _peak(under, after - point, after - point
                  - w * (length - at), w)]  # fmt: skip
        found = [np.abs(moments), peaks, np.abs(under), *beside]
        return max(float(part.max()) for part in found)

    def most_forces(self, loads: Array, point: float) -> tuple[float, Array]:
        """Return the greatest shear and each support's greatest reaction with a ``point`` [N].

        The point stands at any of the places on top of any row of loads. Beside a short span it
        prises the joist up off the far support, and so may press harder than its own weight.
        """
        found = [self._forces_with_point(row, point) for row in loads]
        return max(force for force, _ in found), np.max([each for _, each in found], axis=(0, 1))

    def least_reactions(self, loads: Array, point: float) -> Array:
        """Return each support's least reaction with or without a ``point`` [N]; less than 0 lifts.

        The point stands as in :meth:`most_forces`; with none (0 N) only the rows of loads count.
        """
        found = [self._forces_with_point(row, point)[1] for row in loads]
        return np.asarray(np.min(found, axis=(0, 1)))

    def _forces_with_point(self, load: Array, point: float) -> tuple[float, Array]:
        moments = load @ self.supports + point * self.point
        starts = self._starts(np.broadcast_to(load, (len(moments), len(load))), moments)
        ends = starts - load * self._l
        rows, share = np.arange(len(moments)), self.at / self._l[self.within]
        starts[rows, self.within] += point * (1 - share)
        ends[rows, self.within] -= point * share
        force = max(np.abs(starts).max(), np.abs(ends).max())
        return float(force), _reactions(starts, ends)

    def _starts(self, loads: Array, moments: Array) -> Array:
        """Return the shear at each span's start, even load and end moments counted [N]."""
        return np.asarray(loads * self._l / 2 + np.diff(moments, axis=1) / self._l)


def _reactions(starts: Array, ends: Array) -> Array:
    """Return each support's reaction from the shears at the spans' starts and ends [N]."""
    return np.asarray(np.pad(starts, ((0, 0), (0, 1))) - np.pad(ends, ((0, 0), (1, 0))))


def _peaks(moments: Array, starts: Array, ends: Array, loads: Array) -> Array:
    """Return the moment at each span's summit under its even load, the spans side by side."""
    return _peak(moments[:, :-1], starts, ends, loads)


def _peak(left: Array, start: Array, end: Array, load: Array) -> Array:
    """Return the moment where shear changes its sign, or less than any where it does not."""
    inside = (start > 0) & (end < 0)
    summit = left + start**2 / (2 * np.where(load > 0, load, 1.0))
    return np.asarray(np.where(inside, summit, -np.inf))


@lru_cache(maxsize=32)
def continuous(spans: tuple[float, ...], slip: float) -> Continuous:
    """Return the beam of these spans [mm] and ``slip`` [mm²], worked out once."""
    return Continuous(spans, slip)


def rows(patterns: Sequence[Sequence[bool]], g: float, q: float) -> Array:
    """Return each pattern's loads on the spans [N/mm]: ``g`` on all, ``q`` where it says so."""
    return np.asarray(g + q * np.array(patterns, dtype=float))
