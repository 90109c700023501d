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

_STEPS = 100
_CONVERGED = 1e-6
_REFACTOR = 1e-3
_LONGEST_STEP = 500.0
_HELD = 1e-4
"""The weight [1/mm²] that holds the plane after a step too far, and in the figures for it: weak
enough that what nothing else determines still counts as not determined."""
_NOISE, _LEAST = 1 + 1e-9, 1e-9
"""A sum of squares above another by no more than this share, and this, is so by rounding alone."""
_KEPT = 6
_BOLD = 40
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
class _Linear:
    """The equations at some values: design, computed lengths [mm], how each curved row bends."""

    design: Design
    computed: Floats
    bends: list[list[float]]


@dataclass(frozen=True)
class _Rest:
    """Where an iteration ended: the unknowns, and the weight [1/mm²] that holds their plane."""

    values: Floats
    at: _Linear
    cost: float
    hold: float
    normal: Normal | None
    converged: bool


class Adjuster:
    """Adjusts one set of equations, as often as wanted with other rows set aside."""

    def __init__(self, equations: Equations, settle: Settle | None = None) -> None:
        """Freeze the equations; ``settle`` may improve the guess of the curved part."""
        self.equations = equations
        self._settle = settle
        self._layout: Layout = lay_out(equations)
        self._before: dict[bytes, Normal] = {}
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
        design, computed = rest.at.design, rest.at.computed
        normal = rest.normal or self._normal(design, weights, rest.hold * self._bent)
        reach = normal.spread(design)
        if rest.hold:
            # The hold is no knowledge: of a row set aside it tells nothing.
            reach[~used] = self._normal(design, weights).spread(design[~used])
        return self._statistics(
            rest.values, design, normal, computed, reach, used, converged=rest.converged
        )

    def _normal(
        self,
        design: Design,
        weights: Floats,
        held: Floats | None = None,
        more: tuple[Floats, Floats] | None = None,
    ) -> Normal:
        """Return the normal matrix; what the same straight rows made before serves again."""
        if self._layout.single:
            return Normal(design, weights, self._layout, held, more=more)
        straight = weights.copy()
        straight[self._layout.bent] = 0.0
        key = straight.tobytes()
        normal = Normal(design, weights, self._layout, held, self._before.get(key), more)
        # A few alone are kept, for each is as large as the run is long.
        while len(self._before) >= _KEPT and key not in self._before:
            del self._before[next(iter(self._before))]
        self._before[key] = normal
        return normal

    # --- iteration ------------------------------------------------------------------------

    def _at_rest(self, weights: Floats, start: Floats | None) -> _Rest:
        """Return the unknowns that fit best."""
        sound = _DRAWN * np.count_nonzero(weights)
        found = None if start is None else self._downhill(start, weights, sound)
        if found and found.cost <= sound:
            return found
        # An earlier fit may have come to rest where a slip, now set aside, had drawn it, which no
        # small step undoes.
        first = self._first_values(weights)
        fresh = self._downhill(first, weights, sound)
        if fresh.cost > sound and self.equations.curves:
            # A line that diagonals alone tie starts anywhere, and downhill may end beside the mark.
            wide = self._downhill(self._bold(first, weights), weights, sound)
            fresh = wide if wide.cost <= sound else fresh
        better = found and found.converged and found.cost * _NOISE + _LEAST < fresh.cost
        return found if found and better else fresh

    def _linearise(self, values: Floats) -> _Linear:
        """Return the design at these values and the computed length of every row [mm]."""
        curves = self.equations.curves
        design = self._linear.copy() if curves else self._linear
        computed = np.asarray(design @ values + self._constants)
        bends = []
        for row, curve in curves.items():
            computed[row], partials, bend = curve(values)
            bends.append(bend)
            if isinstance(design, np.ndarray):
                design[row, self.equations.columns[row]] = partials
            else:
                design.data[design.indptr[row] : design.indptr[row + 1]] = partials
        return _Linear(design, computed, bends)

    def _first_values(self, weights: Floats) -> Floats:
        """Solve the linear rows alone, then let the network place its curved part."""
        values = np.array(self.equations.start)
        if not self.equations.curves:
            return values
        linear = weights.copy()
        linear[list(self.equations.curves)] = 0.0
        misfit = self._read - self._linear @ values - self._constants
        normal = self._normal(self._linear, linear)
        values += normal.solve(self._linear.T @ (linear * misfit))
        if self._settle is not None:
            self._settle(values)
        return values

    def _near(self, values: Floats) -> float:
        """Return the length of a step [mm] that moves nothing."""
        return _CONVERGED * max(1.0, float(np.max(np.abs(values), initial=0.0)) * 1e-3)

    def _downhill(self, values: Floats, weights: Floats, sound: float) -> _Rest:
        """Step downhill alone, each length bending as it does, until nothing moves.

        It comes to rest in a level valley as well, such as lengths along a joist over three lines
        make, and where a figure cannot close.
        """
        normal: Normal | None = None
        cost = longest = np.inf
        step, share, trial = values, 1.0, values
        for _ in range(_STEPS):
            at = self._linearise(trial)
            misfit = self._read - at.computed
            now = float(weights @ misfit**2)
            if now > cost * _NOISE + _LEAST:
                share /= 2
            else:
                values, cost, share = trial, now, 1.0
                # It is factored anew only after a step long enough to matter.
                if normal is None or (longest > _REFACTOR and self.equations.curves):
                    normal = self._bending(at, weights, misfit)
                step = self._shortened(normal.solve(at.design.T @ (weights * misfit)))
                longest = float(np.max(np.abs(step), initial=0.0))
            trial = values + share * step
            if share * longest < self._near(values):
                break
        return self._judged(trial, cost, weights, level=cost <= sound)

    def _bold(self, values: Floats, weights: Floats) -> Floats:
        """Step with no regard to bending or to what is lost on the way, which may lead far."""
        damping, cost = 1.0, np.inf
        for _ in range(_BOLD):
            at = self._linearise(values)
            misfit = self._read - at.computed
            now = float(weights @ misfit**2)
            damping = damping / 2 if now > cost * _NOISE + _LEAST else min(1.0, damping * 2)
            cost = now
            normal = self._normal(at.design, weights)
            step = self._shortened(normal.solve(at.design.T @ (weights * misfit)))
            values = values + damping * step
            if float(np.max(np.abs(step), initial=0.0)) < _REFACTOR:
                break
        return values

    def _judged(self, values: Floats, cost: float, weights: Floats, *, level: bool) -> _Rest:
        """Return the rest, and whether it is one; ``level`` says that the readings agree there.

        Where their bending holds the plane more than the lengths do, it has come to rest for that
        alone: plain steps would leave again.
        """
        at = self._linearise(values)
        normal = self._normal(at.design, weights)
        if not at.bends:
            return _Rest(values, at, cost, 0.0, normal, converged=True)
        rows = list(self.equations.curves)
        # A length that nothing holds goes sideways without end; no more counts than is known.
        free = np.minimum(
            normal.spread(self._bends(at)), UNDETERMINED**2 / np.maximum(at.computed[rows], 1.0)
        )
        if float((weights * np.abs(self._read - at.computed))[rows] @ free) < 1.0:
            return _Rest(values, at, cost, 0.0, normal, converged=True)
        return _Rest(values, at, cost, _HELD if level else 0.0, None, converged=level)

    def _bending(self, at: _Linear, weights: Floats, misfit: Floats) -> Normal:
        """Return the normal matrix where each length bends by its misfit."""
        rows = list(self.equations.curves)
        if not rows:
            return self._normal(at.design, weights)
        bends = self._bends(at)
        stiff = weights[rows] * np.abs(misfit[rows])
        return self._normal(at.design, weights, more=(bends, stiff))

    def _bends(self, at: _Linear) -> Floats:
        """Return how each curved row bends, by unknowns [mm^-1/2]."""
        out = np.zeros((len(at.bends), len(self._border)))
        for i, row in enumerate(self.equations.curves):
            out[i, self.equations.columns[row]] = at.bends[i]
        return out

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
        reach: Floats,
        used: np.ndarray[tuple[int], np.dtype[np.bool_]],
        *,
        converged: bool,
    ) -> Fit:
        residuals = computed - self._read
        variance = self._sigmas**2
        reach = np.maximum(reach, 0.0)
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
