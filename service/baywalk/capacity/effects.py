"""What loads do to a joist: the greatest moment, shear, reactions and sag over its spans."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise, product
from typing import TYPE_CHECKING

import numpy as np

from baywalk.capacity import beam
from baywalk.capacity.continuous import Continuous, continuous, rows

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray


@dataclass(frozen=True)
class Effects:
    """The greatest of each over all spans and patterns: ``m`` [N mm], ``v`` [N].

    ``reactions`` [N] lie in the supports' order; ``sagging`` works out the sag when it is asked.
    """

    m: float
    v: float
    reactions: tuple[float, ...]
    sagging: Callable[[], float]

    @property
    def sag(self) -> float:
        """The greatest sag [mm]."""
        return self.sagging()


@dataclass(frozen=True)
class Bar:
    """A joist as a beam.

    Attributes:
        spans: effective, in order [mm]. through: whether it runs over its inner supports whole.
        laps: the supports, counted from 0, over which two timbers lap side by side.
        flexural: E I [N mm²]. shear: G A over the shape factor [N].

    """

    spans: tuple[float, ...]
    through: bool
    flexural: float
    shear: float
    laps: tuple[int, ...] = ()

    @property
    def supports(self) -> tuple[float, ...]:
        """The places of its supports from the first [mm]."""
        places = [0.0]
        for span in self.spans:
            places.append(places[-1] + span)
        return tuple(places)


def effects(
    bar: Bar, g: float, q: float = 0.0, point: float = 0.0, extra: tuple[beam.Load, ...] = ()
) -> Effects:
    """Return what loads do at their worst.

    Args:
        bar: the joist.
        g: the load on all spans [N/mm].
        q: the load on whichever spans make it worst [N/mm].
        point: a load that may stand anywhere [N].
        extra: loads that stay where they are.

    """
    if bar.laps:
        return _apart(bar, bar.laps, g, q, point, extra)
    if len(bar.spans) == 1 and not extra:
        return _single(bar, g + q, point)
    # What nobody knows is held both ways, and the worse counts.
    whole = _continuous(bar, g, q, point, extra)
    # Over one span there is nothing to be parted, whatever is written of a support beyond it.
    if bar.through or len(bar.spans) == 1:
        return whole
    inner = tuple(range(1, len(bar.spans)))
    return _worse(whole, _apart(bar, inner, g, q, point, extra))


def lifted(bar: Bar, g: float, loads: tuple[float, float]) -> list[int]:
    """Return the supports, from 0 at the near one, that a joist in one piece may lift off.

    ``g`` [N/mm] is always there; of ``loads``, what comes and goes, the one [N/mm] lies on
    whichever spans make it worst and the other [N] stands anywhere, never both at once.
    """
    if bar.laps or len(bar.spans) == 1:
        return []
    slip = bar.flexural / bar.shear if bar.shear else 0.0
    laid, (q, point) = continuous(bar.spans, slip), loads
    least = np.minimum(
        laid.least_reactions(rows(_patterns(bar.spans, slip), g, q), 0.0),
        laid.least_reactions(rows([(False,) * len(bar.spans)], g, 0.0), point),
    )
    return [int(k) for k in np.flatnonzero(least < 0)]


def _single(bar: Bar, q: float, point: float) -> Effects:
    """Scale the unit beam: for one span the answers are products of load, span and stiffness."""
    span = bar.spans[0]
    even, middle = _unit(point=False), _unit(point=True)
    m = even[0] * q * span**2 + middle[0] * point * span
    v = even[1] * q * span + point

    def sagging() -> float:
        sag = (even[2] * q * span + middle[2] * point) * span**3 / bar.flexural
        if bar.shear:
            sag += (even[0] * q * span + middle[0] * point) * span / bar.shear
        return sag

    return Effects(m, v, (v, v), sagging)


@cache
def _unit(*, point: bool) -> tuple[float, float, float]:
    """Return moment, shear and bending sag of a beam of span and stiffness 1 under a load of 1."""
    load: beam.Load = beam.Point(0.5, 1.0) if point else beam.Spread(0.0, 1.0, 1.0)
    solved = beam.solve((0.0, 1.0), (load,), 1.0)
    return solved.moments()[1], solved.most_force(), solved.most_sag()


def _patterns(spans: tuple[float, ...], slip: float) -> list[tuple[bool, ...]]:
    """Return which spans to load so that every effect has its worst.

    They are all of them, every other one, and two neighbours with every other one beyond them.
    Influence lines of a continuous beam change sign from span to span, so no other pattern counts.
    That is so of bending; where a span is so stubby that shear outdoes it (E I over G A, ``slip``
    [mm²], beyond a sixth of its square), every pattern there is counts.
    """
    count = len(spans)
    if slip > min(spans) ** 2 / 6:
        return list(product((True, False), repeat=count))
    found = [tuple([True] * count)]
    found += [tuple(k % 2 == odd for k in range(count)) for odd in (0, 1)]
    for left in range(count - 1):
        found.append(
            tuple((left - k if k <= left else k - left - 1) % 2 == 0 for k in range(count))
        )
    return list(dict.fromkeys(found))


def _continuous(
    bar: Bar, g: float, q: float, point: float, extra: tuple[beam.Load, ...]
) -> Effects:
    """Return the effects on a joist that runs over all its supports in one piece."""
    # Permanent load is everywhere; only what comes and goes has patterns.
    count = len(bar.spans)
    slip = bar.flexural / bar.shear if bar.shear else 0.0
    patterns = _patterns(bar.spans, slip) if q else [(False,) * count]
    if extra or count == 1:
        return _one_by_one(bar, rows(patterns, g, q), point, extra)
    loads = rows(patterns, g, q)
    laid = continuous(bar.spans, slip)
    m, v, reactions = laid.still(loads)

    def sagging() -> float:
        pattern, spot = laid.most_sag(loads, point)
        moving = () if spot < 0 else (beam.Point(_place(bar, laid, spot), point),)
        return _solved(bar, loads[pattern], moving).most_sag()

    if not point:
        return Effects(m, v, reactions, sagging)
    force, pressed = laid.most_forces(loads, point)
    # A point load beside a support goes wholly into it, and elsewhere it may press harder yet.
    at_supports = tuple(max(r + point, float(p)) for r, p in zip(reactions, pressed, strict=True))
    m = max(m, laid.most_moment(loads, point))
    return Effects(m, max(v + point, force), at_supports, sagging)


def _place(bar: Bar, laid: Continuous, spot: int) -> float:
    return bar.supports[int(laid.within[spot])] + float(laid.at[spot])


def _solved(bar: Bar, loads: NDArray[np.float64], others: tuple[beam.Load, ...]) -> beam.Solved:
    """Return the joist under an even load on each span and ``others``."""
    zones = zip(pairwise(bar.supports), loads, strict=True)
    even = tuple(beam.Spread(a, b, float(q)) for (a, b), q in zones)
    return beam.solve(bar.supports, (*even, *others), bar.flexural, bar.shear)


def _one_by_one(
    bar: Bar, loads: NDArray[np.float64], point: float, extra: tuple[beam.Load, ...]
) -> Effects:
    """Return the effects with loads that stay where they are, each pattern solved in turn.

    A moving ``point`` is held at mid-span only, for nothing else moves over what stands still.
    """
    middles = [(a + b) / 2 for a, b in pairwise(bar.supports)] if point else []
    still = [_solved(bar, each, extra) for each in loads]
    moving = [_solved(bar, each, (*extra, beam.Point(x, point))) for each in loads for x in middles]
    every = [*still, *moving]
    reactions = [max(each) for each in zip(*(one.reactions for one in still), strict=True)]
    return Effects(
        max(_most_moment(one) for one in every),
        max(one.most_force() for one in still) + point,
        tuple(r + point for r in reactions),
        lambda: max(one.most_sag() for one in every),
    )


def _most_moment(solved: beam.Solved) -> float:
    least, most = solved.moments()
    return max(-least, most)


def _apart(
    bar: Bar,
    at: tuple[int, ...],
    g: float,
    q: float,
    point: float,
    extra: tuple[beam.Load, ...],
) -> Effects:
    """Return the effects on timbers that meet, or lap, over the supports ``at``."""
    places, each = bar.supports, []
    taken: list[list[float]] = [[] for _ in places]
    for first, last in pairwise((0, *at, len(bar.spans))):
        one = replace(bar, spans=bar.spans[first:last], laps=())
        a, b = places[first], places[last]
        inside = tuple(load.moved(-a, 1.0) for load in _within(extra, a, b))
        # Of a single span no part of it is ever loaded alone.
        still, moving = (g + q, 0.0) if last - first == 1 else (g, q)
        each.append(effects(one, still, moving, point=point, extra=inside))
        for support, reaction in enumerate(each[-1].reactions, start=first):
            taken[support].append(reaction)
    # Two ends that meet share one bearing, with the moving load on one of them. Of two that lap
    # side by side each has a bearing of its own.
    reactions = tuple(
        max(those) if k in bar.laps else sum(r - point for r in those) + point
        for k, those in enumerate(taken)
    )
    m, v = (max(getattr(one, name) for one in each) for name in ("m", "v"))
    return Effects(m, v, reactions, lambda: max(one.sag for one in each))


def _worse(one: Effects, other: Effects) -> Effects:
    """Return the worse of two in every respect."""
    reactions = tuple(max(pair) for pair in zip(one.reactions, other.reactions, strict=True))
    m, v = max(one.m, other.m), max(one.v, other.v)
    return Effects(m, v, reactions, lambda: max(one.sag, other.sag))


def _within(loads: tuple[beam.Load, ...], a: float, b: float) -> tuple[beam.Load, ...]:
    """Return the parts of loads that stand between two supports [mm]."""
    out: list[beam.Load] = []
    for load in loads:
        if isinstance(load, beam.Point):
            if a <= load.x <= b:
                out.append(load)
        elif load.start < b and load.end > a:
            out.append(beam.Spread(max(a, load.start), min(b, load.end), load.q))
    return tuple(out)


def moment_between(bar: Bar, q: float, point: float, a: float, b: float) -> float:
    """Return the greatest moment between two places of one span [N mm].

    Args:
        bar: the joist; of several spans the greatest moment anywhere is returned.
        q: the load on it [N/mm].
        point: a load that stands at the worst place [N].
        a: the one place from the first support [mm].
        b: the other.

    """
    # Over several spans the worst anywhere stands in for the worst nearby, which is never more.
    if len(bar.spans) > 1:
        return effects(bar, q, point=point).m
    span = bar.spans[0]
    x = min(max(span / 2, min(a, b)), max(a, b))
    x = min(max(x, 0.0), span)
    return q * x * (span - x) / 2 + point * x * (span - x) / span


def force_between(bar: Bar, q: float, point: float, a: float, b: float) -> float:
    """Return the greatest shear between two places [N], as :func:`moment_between` does."""
    if len(bar.spans) > 1:
        return effects(bar, q, point=point).v
    span = bar.spans[0]
    # Shear grows towards the supports, so the ends of the stretch hold its worst.
    spots = [min(max(x, 0.0), span) for x in (a, b)]
    return max(abs(q * (span / 2 - x)) + point * max(x, span - x) / span for x in spots)
