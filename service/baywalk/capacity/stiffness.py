"""How far a joist sags, and how lively the floor is (Eurocode 5, 7.2 and 7.3)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from baywalk.capacity.check import LINES, Check

if TYPE_CHECKING:
    from collections.abc import Callable

    from baywalk.rules import Pack


def final_limit(span: float, ceiling: str, pack: Pack) -> float:
    """Return how far a span [mm] may sag in the end [mm]; a ceiling nobody named is plaster."""
    limits = pack["ec5.deflection.final"]
    return span / float(limits["none" if ceiling == "none" else "plaster"])


def instantaneous_limit(span: float, strutting: str, pack: Pack) -> float:
    """Return how far a span [mm] may sag at once [mm]; strutting nobody named is none."""
    rule = pack["span.deflection.instantaneous"]
    most = rule["strutting" if strutting == "yes" else "without"]
    return float(min(rule["ratio"] * span, most))


def deflection_checks(
    sags: tuple[float, float], limits: tuple[float, float], line: str, numbers: dict[str, float]
) -> list[Check]:
    """Return the two deflections against their limits, the final one first [mm]."""
    tail = LINES[line]
    return [
        Check("ec5.deflection.final", f"deflection, final{tail}", line, sags[0], limits[0], "mm",
              numbers, ("ec5.k_def", "ec5.shear_area"), formula="ec5.deflection.formula"),
        Check("span.deflection.instantaneous", f"deflection, instantaneous{tail}", line, sags[1],
              limits[1], "mm", numbers, ("ec5.shear_area",),
              formula="span.deflection.formula"),
    ]  # fmt: skip


def frequency(span: float, flexural: float, mass: float) -> float:
    """Return a floor's lowest frequency [Hz] (7.5).

    Args:
        span: of the joist [mm].
        flexural: stiffness along the joists [N mm² per mm, or of one joist].
        mass: [kg per mm², or per mm of one joist's length].

    """
    # N is kg m/s²; in mm that is a thousand times as many.
    return math.pi / (2 * span**2) * math.sqrt(flexural * 1000 / mass)


def n40(first: float, wide: float, span: float, along: float, across: float) -> float:
    """Return the number of modes below 40 Hz [-] (7.7).

    Args:
        first: the lowest frequency [Hz].
        wide: the floor's width [mm].
        span: the joists' span [mm].
        along: stiffness along the joists, in the unit of ``across``.
        across: stiffness across them.

    """
    # A floor whose first mode is above 40 Hz has none below it.
    ratio = (40 / first) ** 2 - 1
    if ratio <= 0 or across <= 0:
        return 0.0
    return float((ratio * (wide / span) ** 4 * along / across) ** 0.25)


def velocity(modes: float, mass: float, wide: float, span: float) -> float:
    """Return the velocity after a blow of one N s [m/s] (7.6).

    ``mass`` is in kg/m², ``wide`` and ``span`` in metres, ``modes`` as :func:`n40` gives it.
    """
    return 4 * (0.4 + 0.6 * modes) / (mass * wide * span + 200)


def velocity_limit(b: float, first: float, damping: float) -> float:
    """Return the limit of the velocity [m/s] (7.4) for the figure ``b`` and a frequency [Hz]."""
    # Above fifty times a second the limit would pass all bounds; it is held at 1 m/s.
    return float(b ** min(first * damping - 1, 0.0))


def sag_limit(span: float, pack: Pack) -> float:
    """Return how far a floor of a span [mm] may give under 1 kN [mm] (UK national annex)."""
    rule = pack["ec5.vibration.sag"]
    if span <= rule["span"]:
        return float(rule["most"])
    return float(rule["factor"] / span ** rule["power"])


def velocity_b(limit: float, pack: Pack) -> float:
    """Return the figure b of the velocity limit (UK national annex).

    It goes with ``limit``, how far the floor may give under 1 kN [mm]: a and b of 7.3.3(2) are a
    pair of limits, so b knows nothing of how far this floor does give.
    """
    rule = pack["ec5.vibration.velocity"]
    base, slope = rule["low"] if limit <= 1 else rule["high"]
    return float(base - slope * limit)


def sag_under_one(
    span: float, flexural: float, k_dist: float, pack: Pack, *, through: bool
) -> float:
    """Return how far a floor gives under 1 kN [mm] (UK national annex).

    Args:
        span: of the joist [mm].
        flexural: of one joist [N mm²].
        k_dist: share that the joist keeps [-].
        pack: the rules.
        through: whether the joist runs over several supports.

    """
    k_amp: float = pack["ec5.k_amp"]["continuous" if through else "single"]
    return 1000 * k_dist * span**3 * k_amp / (48 * flexural)


@dataclass(frozen=True)
class Swung:
    """A floor that is struck: what 7.3.3(2) asks for beside a joist's span and stiffness.

    Attributes:
        wide: from wall to wall, across the joists [mm]. strip: what one joist carries of it [mm].
        across: the deck's stiffness across the joists [N mm² per mm].
        bare: the joist's own mass [kg per mm of its length].

    """

    wide: float
    strip: float
    across: float
    bare: float


def vibration_checks(
    span: float,
    flexural: float,
    mass: float,
    k_dist: float,
    pack: Pack,
    *,
    through: bool,
    swung: Swung | None,
) -> list[Check]:
    """Return the checks of liveliness: frequency, sag under 1 kN, velocity after a blow.

    Args:
        span: the longest [mm].
        flexural: of one joist [N mm²].
        mass: along it [kg per mm].
        k_dist: share of a point load that it keeps [-].
        pack: the rules.
        through: whether it runs over several supports.
        swung: the floor about it; without it nothing is said of a blow.

    """
    least: float = pack["ec5.vibration.frequency"]
    out = []
    if mass > 0:
        # Written so that more is worse, as in every other check: 8 Hz is asked, f1 is there.
        first = frequency(span, flexural, mass)
        out.append(
            Check("ec5.vibration.frequency", "vibration, frequency", "feel", least, first, "Hz",
                  {"L": span, "EI": flexural, "m": mass * 1000},
                  formula="ec5.vibration.frequency.formula")
        )  # fmt: skip
    sag = sag_under_one(span, flexural, k_dist, pack, through=through)
    out.append(
        Check("ec5.vibration.sag", "vibration, sag under 1 kN", "feel", sag,
              sag_limit(span, pack), "mm", {"L": span, "EI": flexural, "k_dist": k_dist},
              ("ec5.k_dist", "ec5.k_amp"), formula="ec5.vibration.sag.formula")
    )  # fmt: skip
    return out + ([_blow_check(span, flexural, mass, swung, pack)] if swung else [])


class _Blow(NamedTuple):
    """A blow of one N s on a floor of ``mass`` [kg/m²]: velocity and its limit [m/s]."""

    mass: float
    first: float
    modes: float
    moved: float
    limit: float


def _blow_check(span: float, flexural: float, mass: float, swung: Swung, pack: Pack) -> Check:
    """Return the check of the velocity after a blow, at the mass at which it comes nearest.

    The code takes the whole permanent mass (7.3.3(3)). A heavier floor moves less, so a load put
    down too large would make this pass; every mass down to the joists alone is held as well.
    """
    rule = pack["ec5.vibration.velocity"]
    sag = sag_limit(span, pack)
    b = velocity_b(sag, pack)

    def at(line: float) -> _Blow:
        first, area = frequency(span, flexural, line), line / swung.strip * 1e6
        modes = n40(first, swung.wide, span, flexural / swung.strip, swung.across)
        moved = velocity(modes, area, swung.wide / 1000, span / 1000)
        return _Blow(area, first, modes, moved, velocity_limit(b, first, rule["damping"]))

    worst = _worst_mass(at, swung.bare, max(mass, swung.bare))
    numbers = {"m": worst.mass, "B": swung.wide / 1000, "L": span / 1000, "f1": worst.first}
    numbers |= {"n40": worst.modes, "a": sag, "b": b, "ζ": rule["damping"]}
    return Check("ec5.vibration.velocity", "vibration, velocity after a blow", "feel", worst.moved,
                 worst.limit, "m/s", numbers, ("ec5.vibration.sag", "span.deck.E"),
                 formula="ec5.vibration.velocity.formula")  # fmt: skip


def _worst_mass(at: Callable[[float], _Blow], least: float, most: float) -> _Blow:
    """Return the blow nearest to its limit between two masses [kg per mm].

    The share of the limit has one summit over the logarithm of the mass, so thirds close in on it.
    """

    def share(blow: _Blow) -> float:
        return blow.moved / blow.limit

    whole = at(most)
    # Where it still climbs at the whole mass, as it mostly does, that is the summit.
    if least >= most or share(at(max(most * 0.999, least))) <= share(whole):
        return max(whole, at(least), key=share)
    low, high = math.log(least), math.log(most)
    for _ in range(40):
        left, right = low + (high - low) / 3, high - (high - low) / 3
        low, high = (left, high) if share(at(math.exp(left))) < share(at(math.exp(right))) else (
            low, right)  # fmt: skip
    return at(math.exp((low + high) / 2))
