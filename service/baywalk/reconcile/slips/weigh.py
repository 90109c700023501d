"""Which reading is wrong, by how much and why: the causes weighed against all other readings.

For a reading that would have been ``right`` had the hand not slipped, the weighted sum of squares
drops by w² - (slip - best slip)² r / sigma²; half of that drop is the log likelihood of exactly
this slip. To it come the chance of the slip itself and the soft knowledge of lofts, and the sum is
shared out among all readings and causes.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from baywalk.reconcile.rounding import ranked, steady
from baywalk.reconcile.slips.causes import Setting, chances, likeliest
from baywalk.reconcile.slips.soft import Soft
from baywalk.reconcile.unclosed import OPEN, explains, is_open, misses

if TYPE_CHECKING:
    from baywalk.reconcile.adjust import Adjuster, Fit
    from baywalk.reconcile.equations import Floats
    from baywalk.reconcile.network import Entry, Network

_NATS = 18.0
"""Readings whose evidence is this much behind the best (in nats) are not looked into."""

_MOST_WEIGHED = 60
"""How many readings are looked into at most: in a long run hundreds would be, for a small slip."""

_LEAST = 1.0
"""The drop of a sum of squares below which nothing disagrees, and so no reading explains it.

A row that was set aside because a figure would not close may close it once another is aside.
"""

_REACH = 4.0
_MOST_RIGHT = 160

_BENT = 40.0
"""A slip [mm] beyond which a plane figure is no longer straight enough to be weighed by slopes."""

_MOST_REFITS = 8
_NOISE = 1e-9
"""The share of a sum of squares that may be rounding."""


@dataclass(frozen=True)
class Guess:
    """One reading's share in the explanation.

    Attributes:
        row: the reading's row.
        would_read: what it would read [mm]; None where no other reading tells.
        causes: the likeliest cause, and those nearly as likely.
        likelihood: 0 to 1, over all its causes and values.

    """

    row: int
    would_read: float | None
    causes: list[str]
    likelihood: float


@dataclass(frozen=True)
class _Evidence:
    """What the other readings say of one.

    Attributes:
        row: the reading's row.
        right: what it would read [mm]. spread: standard deviation of that [mm], infinite where no
            other reading tells.
        drop: by how much the weighted sum of squares drops at the best slip.
        fit: a fit without the reading, where slopes would not do; else None.

    """

    row: int
    right: float
    spread: float
    drop: float
    fit: Fit | None = None


@dataclass
class _Case:
    evidence: _Evidence
    right: list[float]
    causes: list[list[str]]
    chance: list[float]


class Weigher:
    """Weighs the readings of one network."""

    def __init__(self, network: Network, adjuster: Adjuster) -> None:
        """Gather what every reading's slips depend on."""
        self._network, self._adjuster = network, adjuster
        self._pack = network.pack
        self._soft = Soft(network)
        self._shares: dict[str, float] = self._pack["slip.shares"]
        self._entry_of = {row: network.entries[i] for i, row in network.rows.items()}
        self._rows = np.array(sorted(self._entry_of), dtype=np.int64)
        self._sigmas = np.array(network.equations.sigmas)
        self._known: dict[int, tuple[Fit, list[Guess]]] = {}
        self._across: dict[tuple[str, int], list[float]] = defaultdict(list)
        for entry in self._entry_of.values():
            if entry["kind"] == "across":
                low, high = sorted((entry["from"][0], entry["to"][0]))
                if high == low + 1:
                    self._across[entry["line"], low].append(float(entry["value"]))

    def weigh(self, fit: Fit) -> list[Guess]:
        """Return the readings that may be wrong, most likely first, for one disagreement.

        ``fit`` holds the disagreement: the reading in question is still among those used.
        """
        # The same fit is asked about when it is found and when it is explained.
        key = id(fit)
        if key not in self._known:
            self._known[key] = (fit, self._weigh(fit))
        return self._known[key][1]

    def _weigh(self, fit: Fit) -> list[Guess]:
        found = self._evidence(fit)
        if not found and is_open(fit):
            curves = self._network.equations.curves
            worst = ranked(self._by_miss(fit), lambda e: e.drop if e.row in curves else 0.0)
            return [unexplained(evidence.row) for evidence in worst[:1]]
        cases = [self._case(fit, evidence) for evidence in found]
        cases = [case for case in cases if case.right]
        gains = self._gains(fit, [case.evidence.row for case in cases])
        logs = [self._log_weights(fit, case, gain) for case, gain in zip(cases, gains, strict=True)]
        top = max((float(log.max()) for log in logs), default=0.0)
        weights = [np.exp(log - top) for log in logs]
        total = sum(float(w.sum()) for w in weights)
        guesses = [_guess(case, w, total) for case, w in zip(cases, weights, strict=True)]
        skew = {case.evidence.row: self._skew(case.evidence) for case in cases}
        guesses.sort(key=lambda g: (skew[g.row], g.row))
        return ranked(guesses, lambda g: g.likelihood)

    def _skew(self, evidence: _Evidence) -> float:
        """Return how far lines lie askew without a reading that no other tells of.

        That alone parts lofts which are past all likelihood.
        """
        if _told(evidence) or evidence.fit is None:
            return 0.0
        return steady(float(self._soft.skew(self._soft.functions @ evidence.fit.values)))

    # --- what the other readings say ------------------------------------------------------

    def _evidence(self, fit: Fit) -> list[_Evidence]:
        """Return the readings whose own best slip explains nearly as much as any."""
        if is_open(fit):
            tried = self._by_refit(fit, self._by_miss(fit))
            found = [e for e in tried if e.fit and explains(fit, e.fit)]
        else:
            found = self._by_slopes(fit)
        best = max((e.drop for e in found), default=0.0)
        near = [e for e in found if e.drop > best - 2 * _NATS] if best > _LEAST else []
        told = [e for e in near if _told(e)] or near
        return ranked(sorted(told, key=lambda e: e.row), _weight)[:_MOST_WEIGHED]

    def _by_slopes(self, fit: Fit) -> list[_Evidence]:
        able = fit.used & (fit.redundancy > self._pack["reading.unchecked"])
        rows = self._rows[able[self._rows]]
        found = [self._by_slope(fit, int(row)) for row in rows]
        if self._network.equations.curves and found:
            worst = ranked(found, _weight)[0]
            if abs(worst.right - self._network.equations.read[worst.row]) > _BENT:
                return [e for e in self._by_refit(fit, found) if _told(e)]
        return found

    def _by_slope(self, fit: Fit, row: int) -> _Evidence:
        redundancy = float(fit.redundancy[row])
        right = self._network.equations.read[row] + float(fit.residuals[row]) / redundancy
        spread = float(self._sigmas[row]) / math.sqrt(redundancy)
        return _Evidence(row, right, spread, float(fit.w[row]) ** 2)

    def _by_miss(self, fit: Fit) -> list[_Evidence]:
        """Rank every reading in use by how far it misses."""
        read = self._network.equations.read
        rows = self._rows[fit.used[self._rows]].tolist()
        drops = misses(fit) ** 2
        return [_Evidence(r, read[r], float(self._sigmas[r]), float(drops[r])) for r in rows]

    def _by_refit(self, fit: Fit, found: list[_Evidence]) -> list[_Evidence]:
        """Leave each of the worst out in turn, and every curved one, and adjust anew.

        Curved rows can only add to the sum of squares that the straight ones leave, so a row
        whose drop cannot count is passed over.
        """
        aside = np.flatnonzero(~fit.used).tolist()
        straight = self._adjuster.fit([*aside, *self._network.equations.curves])
        out: list[_Evidence] = []
        best = 0.0
        for row in self._to_leave_out(fit, straight, found):
            most = (
                fit.chi2
                - straight.chi2
                + (float(straight.w[row]) ** 2 if straight.used[row] else 0.0)
            )
            if most < best - 2 * _NATS - _NOISE * fit.chi2:
                continue
            without = self._adjuster.fit([*aside, row])
            redundancy = float(without.redundancy[row])
            if redundancy <= 0.0 and row not in self._network.equations.curves:
                continue
            spread = float(self._sigmas[row]) / math.sqrt(redundancy) if redundancy else math.inf
            drop = fit.chi2 - without.chi2
            best = max(best, drop)
            out.append(_Evidence(row, float(without.computed[row]), spread, drop, without))
        return out

    def _to_leave_out(self, fit: Fit, straight: Fit, found: list[_Evidence]) -> list[int]:
        """Return the rows to leave out in turn; ``straight`` is the fit of the straight rows."""
        order = [evidence.row for evidence in ranked(found, _weight)]
        # A straight row that the others confirm has no slip that keeps a figure open.
        sound = is_open(fit) & (np.abs(straight.w) < OPEN)
        sound &= straight.redundancy > self._pack["reading.unchecked"]
        curves = self._network.equations.curves
        flat = [row for row in order if row not in curves and not sound[row]]
        bent = [row for row in order if row in curves]
        return [*flat[:_MOST_REFITS], *bent[:_MOST_REFITS]]

    # --- one reading ----------------------------------------------------------------------

    def _case(self, fit: Fit, evidence: _Evidence) -> _Case:
        """List what the reading may have been, and each way that it became what was written."""
        entry = self._entry_of[evidence.row]
        written = float(entry["value"])
        decimals = 0 if written == round(written) else 1
        if not _told(evidence):
            return _Case(evidence, [written], [["unknown"]], [1.0])
        setting = self._setting(evidence.fit or fit, evidence.row, entry)
        case = _Case(evidence, [], [], [])
        for right in _grid(evidence.right, _REACH * evidence.spread, decimals):
            if right == written:
                continue
            named: dict[str, float] = defaultdict(float)
            for cause, chance in chances(right, written, decimals, setting):
                named[cause] += chance
            named["unknown"] += self._shares["unknown"] / self._pack["slip.range"]
            case.right.append(right)
            case.causes.append(likeliest(named))
            case.chance.append(sum(named.values()))
        return case

    def _setting(self, fit: Fit, row: int, entry: Entry) -> Setting:
        across = entry["kind"] == "across"
        return Setting(
            self._shares,
            self._breadths(fit, entry) if across else (),
            hooked=not across or entry["from"][1] != "centre",
            neighbours=self._neighbours(entry) if across else (),
            spread=float(self._sigmas[row]),
        )

    def _breadths(self, fit: Fit, entry: Entry) -> tuple[float, ...]:
        """Return the breadths of the joists at the reading's ends [mm]."""
        numbers = [
            self._network.unknowns.get(("breadth", joist))
            for joist, face in (entry["from"], entry["to"])
            if face != "centre"
        ]
        return tuple(float(fit.values[n]) for n in numbers if n is not None)

    def _neighbours(self, entry: Entry) -> tuple[float, ...]:
        """Return what the same sort of reading gave one bay to either side [mm]."""
        low, high = sorted((entry["from"][0], entry["to"][0]))
        if high != low + 1:
            return ()
        beside = [self._across.get((entry["line"], joist), []) for joist in (low - 1, high)]
        return tuple(value for values in beside for value in values)

    def _gains(self, fit: Fit, rows: list[int]) -> Floats:
        """Return by how much each soft figure follows each of the rows, a line a row [mm/mm]."""
        units = np.zeros((len(self._sigmas), len(rows)))
        units[rows, np.arange(len(rows))] = self._sigmas[rows] ** -2
        steps = fit.normal.solve(np.asarray(fit.design.T @ units))
        return np.asarray(self._soft.functions @ steps).T

    def _log_weights(self, fit: Fit, case: _Case, gain: Floats) -> Floats:
        evidence = case.evidence
        right = np.array(case.right)
        apart = (right - evidence.right) / evidence.spread
        drop = evidence.drop - apart**2
        lofts = self._lofts(fit, evidence, right, gain)
        return np.asarray(drop / 2 + np.log(case.chance) + self._soft.score(lofts))

    def _lofts(self, fit: Fit, evidence: _Evidence, right: Floats, gain: Floats) -> Floats:
        """Return the soft figures of the loft as each slip, taken off, would leave it [mm]."""
        functions = self._soft.functions
        if evidence.fit is not None:
            return np.repeat((functions @ evidence.fit.values)[:, None], len(right), axis=1)
        slips = self._network.equations.read[evidence.row] - right
        return np.asarray((functions @ fit.values)[:, None] - np.outer(gain, slips))


def _told(evidence: _Evidence) -> bool:
    """Say whether other readings tell what a reading would be."""
    return evidence.spread < math.inf


def _weight(evidence: _Evidence) -> float:
    """Return what evidence is ranked by: the size of the test, in standard deviations."""
    return math.sqrt(max(evidence.drop, 0.0))


def unexplained(row: int, likelihood: float = 1.0) -> Guess:
    """Return the guess for a row that no slip explains and no other reading tells of."""
    return Guess(row, None, ["unknown"], likelihood)


def _guess(case: _Case, weights: Floats, total: float) -> Guess:
    best = int(np.argmax(weights >= (1 - 1e-4) * weights.max()))
    likelihood = float(weights.sum()) / total
    right = case.right[best] if _told(case.evidence) else None
    return Guess(case.evidence.row, right, case.causes[best], likelihood)


def _grid(middle: float, reach: float, decimals: int) -> list[float]:
    """Return the readable numbers within reach of the middle [mm], none below zero."""
    step = 10.0**-decimals
    half = min(math.ceil(reach / step), _MOST_RIGHT // 2)
    centre = round(steady(middle / step))
    return [k * step for k in range(max(0, centre - half), centre + half + 1)]
