"""Weighted least squares over observation equations, and the statistics of each row.

Residuals are computed minus read. Nothing here knows a joist, a file, a network or a clock.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import chain

import numpy as np
from scipy.sparse import csr_array
from scipy.special import chdtrc

from baywalk.reconcile.equations import BORDER, Equations, Floats
from baywalk.reconcile.normal import UNDETERMINED, Design, Layout, Normal, lay_out

Settle = Callable[[Floats], None]
"""Improves the first guess of the curved part, in place, once the linear part is known."""

_STEPS = 40
_CONVERGED = 1e-6
_REFACTOR = 0.2
_LONGEST_STEP = 500.0
_HELD = 1e-4
"""The weight [1/mm²] that holds the plane after a step too far, and in the figures for it: weak
enough that what nothing else determines still counts as not determined."""
_LEVEL = 1e-7
"""The drop of a sum of squares below which a plane that is held lies level."""
_DRAWN = 4.0
"""A mean square from which on a fit is not trusted to be the best there is."""


@dataclass(frozen=True)
class Fit:
    """One adjustment.

    Attributes:
        values: adjusted unknowns [mm, or mm per m].
        computed: per row, the length the adjusted unknowns give [mm].
        residuals: per row, computed minus read [mm].
        redundancy: per row, the share of a slip that its residual would show, 0 to 1.
        w: per row, the residual over its own standard deviation; 0 where redundancy is 0.
        used: per row, False where it was set aside (it then had no part in the values).
        chi2: weighted sum of squared residuals of the rows used.
        dof: degrees of freedom.
        converged: False when the curved part did not come to rest.
        design, normal: the coefficients at these values, and what they are solved by.
        sigmas: per row, its standard deviation before adjustment [mm].

    """

    values: Floats
    computed: Floats
    residuals: Floats
    redundancy: Floats
    w: Floats
    used: np.ndarray[tuple[int], np.dtype[np.bool_]]
    chi2: float
    dof: int
    converged: bool
    design: Design
    normal: Normal
    sigmas: Floats

    @property
    def sigma0(self) -> float | None:
        """The factor by which readings scatter against what was expected; None without checks."""
        return float(np.sqrt(self.chi2 / self.dof)) if self.dof else None

    @property
    def chi2_p(self) -> float | None:
        """The chance of a sum of squares this large from sound readings; None without checks."""
        return float(chdtrc(self.dof, self.chi2)) if self.dof else None

    def spread(self, rows: Design) -> Floats:
        """Return the standard deviation [mm] of each linear function given as a row.

        A value above :data:`~baywalk.reconcile.normal.UNDETERMINED` means "not determined".
        """
        return np.sqrt(np.maximum(self.normal.spread(rows), 0.0))


@dataclass(frozen=True)
class _Rest:
    """Where an iteration ended: the unknowns, and the weight [1/mm²] that holds their plane."""

    values: Floats
    hold: float
    converged: bool


class Adjuster:
    """Adjusts one set of equations, as often as wanted with other rows set aside."""

    def __init__(self, equations: Equations, settle: Settle | None = None) -> None:
        """Freeze the equations; ``settle`` may improve the guess of the curved part."""
        self.equations = equations
        self._settle = settle
        self._layout: Layout = lay_out(equations)
        self._linear = _matrix(equations, dense=self._layout.single)
        self._constants = np.array(equations.constants)
        self._read = np.array(equations.read)
        self._sigmas = np.array(equations.sigmas)
        self._border = np.array(equations.places) == BORDER
        curved = [u for row in equations.curves for u in equations.columns[row]]
        self._bent = self._border & np.isin(np.arange(len(self._border)), curved)

    def fit(self, aside: Iterable[int] = (), start: Floats | None = None) -> Fit:
        """Adjust with the rows ``aside`` left out; they are still compared with the result.

        ``start`` gives first values, as an earlier fit found them.
        """
        used = np.ones(len(self._read), dtype=np.bool_)
        used[list(aside)] = False
        weights = np.where(used, self._sigmas**-2.0, 0.0)
        rest = self._at_rest(weights, start)
        design, computed = self._linearise(rest.values)
        normal = Normal(design, weights, self._layout, rest.hold * self._bent)
        return self._statistics(
            rest.values, design, normal, computed, used, converged=rest.converged
        )

    # --- iteration ------------------------------------------------------------------------

    def _at_rest(self, weights: Floats, start: Floats | None) -> _Rest:
        """Return the unknowns that fit best."""
        found, least = None, np.inf
        sound = _DRAWN * np.count_nonzero(weights)
        if start is not None:
            found = self._iterate(start, weights)
            least = self._cost(found.values, weights)
            if found.converged and least <= sound:
                return found
        # An earlier fit may have come to rest where a slip, now set aside, had drawn it: a tape
        # line turned about, say, which no small step undoes.
        first = self._first_values(weights)
        fresh = self._iterate(first, weights)
        if found and found.converged and self._cost(fresh.values, weights) >= least:
            return found
        if fresh.converged:
            return fresh
        # Lengths along a joist over three lines leave a level valley, in which no step stays.
        held = self._hold(first, weights)
        return held if self._cost(held.values, weights) <= sound else fresh

    def _cost(self, values: Floats, weights: Floats) -> float:
        """Return the weighted sum of squares at these values."""
        return float(weights @ (self._read - self._linearise(values)[1]) ** 2)

    def _linearise(self, values: Floats) -> tuple[Design, Floats]:
        """Return the design at these values and the computed length of every row [mm]."""
        design = self._linear.copy() if self.equations.curves else self._linear
        computed = np.asarray(design @ values + self._constants)
        for row, curve in self.equations.curves.items():
            computed[row], partials = curve(values)
            if isinstance(design, np.ndarray):
                design[row, self.equations.columns[row]] = partials
            else:
                design.data[design.indptr[row] : design.indptr[row + 1]] = partials
        return design, computed

    def _first_values(self, weights: Floats) -> Floats:
        """Solve the linear rows alone, then let the network place its curved part."""
        values = np.array(self.equations.start)
        if not self.equations.curves:
            return values
        linear = weights.copy()
        linear[list(self.equations.curves)] = 0.0
        misfit = self._read - self._linear @ values - self._constants
        normal = Normal(self._linear, linear, self._layout)
        values += normal.solve(self._linear.T @ (linear * misfit))
        if self._settle is not None:
            self._settle(values)
        return values

    def _iterate(self, values: Floats, weights: Floats) -> _Rest:
        """Step until nothing moves; factor anew only after a step long enough to matter."""
        normal: Normal | None = None
        longest = np.inf
        damping = 1.0
        cost = np.inf
        for _ in range(_STEPS):
            design, computed = self._linearise(values)
            misfit = self._read - computed
            now = float(weights @ misfit**2)
            # A step that made things worse is halved, which curved rows with a slip can need.
            damping = damping / 2 if now > cost * 1.0001 + 1e-6 else min(1.0, damping * 2)
            cost = now
            if normal is None or (longest > _REFACTOR and self.equations.curves):
                normal = Normal(design, weights, self._layout)
            step = normal.solve(design.T @ (weights * misfit))
            longest = float(np.max(np.abs(step), initial=0.0))
            values = values + damping * self._shortened(step)
            if longest < _CONVERGED * max(1.0, float(np.max(np.abs(values), initial=0.0)) * 1e-3):
                return _Rest(values, 0.0, converged=True)
        return _Rest(values, 0.0, converged=False)

    def _hold(self, values: Floats, weights: Floats) -> _Rest:
        """Step as long as it helps, the plane held the tighter the more often it does not."""
        best, cost, hold = values, np.inf, 0.0
        for _ in range(_STEPS):
            now = self._cost(values, weights)
            if now > cost:
                hold = max(hold * 10, _HELD)
            else:
                level = hold > 0 and cost - now < _LEVEL
                best, cost = values, now
                if level:
                    return _Rest(best, _HELD, converged=True)
            design, computed = self._linearise(best)
            normal = Normal(design, weights, self._layout, hold * self._bent)
            step = normal.solve(design.T @ (weights * (self._read - computed)))
            values = best + self._shortened(step)
        return _Rest(best, _HELD, converged=False)

    def _shortened(self, step: Floats) -> Floats:
        """Return a step no longer than the plane's own unknowns may take."""
        # Only they enter curves strongly enough to overshoot.
        swing = float(np.max(np.abs(step[self._border]), initial=0.0))
        long = bool(self.equations.curves) and swing > _LONGEST_STEP
        return step * (_LONGEST_STEP / swing) if long else step

    # --- statistics -----------------------------------------------------------------------

    def _statistics(
        self,
        values: Floats,
        design: Design,
        normal: Normal,
        computed: Floats,
        used: np.ndarray[tuple[int], np.dtype[np.bool_]],
        *,
        converged: bool,
    ) -> Fit:
        residuals = computed - self._read
        variance = self._sigmas**2
        reach = np.maximum(normal.spread(design), 0.0)
        redundancy = np.where(used, 1.0 - reach / variance, variance / (variance + reach))
        redundancy[reach > UNDETERMINED**2] = 0.0
        redundancy = np.clip(redundancy, 0.0, 1.0)
        scale = np.where(
            used, self._sigmas * np.sqrt(redundancy), self._sigmas / np.sqrt(redundancy + 1e-300)
        )
        w = np.divide(residuals, scale, out=np.zeros_like(residuals), where=redundancy > 1e-9)
        chi2 = float(np.sum((residuals[used] / self._sigmas[used]) ** 2))
        dof = round(float(np.sum(redundancy[used])))
        return Fit(
            *(values, computed, residuals, redundancy, w, used, chi2, dof, converged),
            *(design, normal, self._sigmas),
        )


def _matrix(equations: Equations, *, dense: bool) -> Design:
    """Return the coefficients of all rows; those of curved rows are filled in at each step."""
    lengths = [len(columns) for columns in equations.columns]
    columns = np.array(list(chain.from_iterable(equations.columns)), dtype=np.int64)
    data = np.array(list(chain.from_iterable(equations.coefficients)), dtype=np.float64)
    shape = (len(lengths), len(equations.start))
    if not dense:
        return csr_array((data, columns, np.cumsum([0, *lengths])), shape=shape)
    out = np.zeros(shape)
    out[np.repeat(np.arange(len(lengths)), lengths), columns] = data
    return out
