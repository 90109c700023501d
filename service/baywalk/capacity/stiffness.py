"""How far a joist sags, and how lively the floor is (Eurocode 5, 7.2 and 7.3)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from baywalk.capacity.check import LINES, Check

if TYPE_CHECKING:
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
              numbers, ("ec5.k_def", "ec5.deflection.formula", "ec5.shear_area")),
        Check("span.deflection.instantaneous", f"deflection, instantaneous{tail}", line, sags[1],
              limits[1], "mm", numbers, ("ec5.shear_area",)),
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
    return float(b ** (first * damping - 1))


def sag_limit(span: float, pack: Pack) -> float:
    """Return how far a floor of a span [mm] may give under 1 kN [mm] (UK national annex)."""
    rule = pack["ec5.vibration.sag"]
    if span <= rule["span"]:
        return float(rule["most"])
    return float(rule["factor"] / span ** rule["power"])


def velocity_b(sag: float, pack: Pack) -> float:
    """Return the figure b of the velocity limit for a sag under 1 kN [mm] (UK national annex)."""
    rule = pack["ec5.vibration.velocity"]
    base, slope = rule["low"] if sag <= 1 else rule["high"]
    # A very soft floor would come out at nothing or less; it fails by its sag long before.
    return float(max(base - slope * sag, 1.0))


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


def vibration_checks(
    span: float, flexural: float, mass: float, k_dist: float, pack: Pack, *, through: bool
) -> list[Check]:
    """Return the two checks of liveliness.

    Args:
        span: the longest [mm].
        flexural: of one joist [N mm²].
        mass: along it [kg per mm].
        k_dist: share of a point load that it keeps [-].
        pack: the rules.
        through: whether it runs over several supports.

    """
    least: float = pack["ec5.vibration.frequency"]
    out = []
    if mass > 0:
        # Written so that more is worse, as in every other check: 8 Hz is asked, f1 is there.
        first = frequency(span, flexural, mass)
        out.append(
            Check("ec5.vibration.frequency", "vibration, frequency", "feel", least, first, "Hz",
                  {"L": span, "EI": flexural, "m": mass * 1000})
        )  # fmt: skip
    sag = sag_under_one(span, flexural, k_dist, pack, through=through)
    out.append(
        Check("ec5.vibration.sag", "vibration, sag under 1 kN", "feel", sag,
              sag_limit(span, pack), "mm", {"L": span, "EI": flexural, "k_dist": k_dist},
              ("ec5.k_dist", "ec5.k_amp"))
    )  # fmt: skip
    return out
