"""Bending, shear and bearing of a joist (Eurocode 5, 6.1), as moments and forces."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from baywalk.capacity.check import LINES, Check
from baywalk.capacity.design import design, k_h

if TYPE_CHECKING:
    from baywalk.capacity.effects import Effects
    from baywalk.capacity.sections import Section, Timber
    from baywalk.rules import Pack

_KN, _KNM = 1e-3, 1e-6
FACTORS = ("ec5.gamma", "ec5.gamma_M", "ec5.k_mod")
"""The rules of the factors that every check of strength uses."""


@dataclass(frozen=True)
class Stick:
    """A joist's body: its section, its timber, and its bearings in the supports' order [mm].

    ``service_class`` is that of Eurocode 5; ``apart`` the clear distance between supports [mm];
    ``laps`` the supports, counted from 0, over which two timbers lap: each ends there.
    """

    section: Section
    timber: Timber
    bearings: tuple[float, ...]
    service_class: str
    apart: float
    laps: tuple[int, ...] = ()


def moment_capacity(
    stick: Stick, duration: str, k_sys: float, pack: Pack, modulus: float | None = None
) -> float:
    """Return the moment that a section takes [N mm]; ``modulus`` [mm³] where part is cut away."""
    strength = design(stick.timber.f_m, pack, stick.service_class, duration)
    w = stick.section.modulus if modulus is None else modulus
    return w * k_h(stick.section.depth, pack) * k_sys * strength


def shear_capacity(
    stick: Stick, duration: str, k_sys: float, pack: Pack, depth: float | None = None
) -> float:
    """Return the shear force that a section takes [N]; ``depth`` [mm] where part is cut away."""
    strength = design(stick.timber.f_v, pack, stick.service_class, duration)
    h = stick.section.depth if depth is None else depth
    return 2 / 3 * float(pack["ec5.k_cr"]) * stick.section.breadth * h * k_sys * strength


def bearing_capacity(stick: Stick, support: int, duration: str, pack: Pack) -> float:
    """Return the reaction that the timber takes across the grain at one support [N] (6.1.5)."""
    strength = design(stick.timber.f_c90, pack, stick.service_class, duration)
    length = stick.bearings[support]
    spread: float = min(pack["ec5.bearing.spread"], length, stick.apart / 2)
    # At an end the load spreads towards the span only; over an inner support both ways.
    inner = 0 < support < len(stick.bearings) - 1 and support not in stick.laps
    return strength * _k_c90(stick, pack) * stick.section.breadth * (length + spread * (1 + inner))


def _k_c90(stick: Stick, pack: Pack) -> float:
    rule = pack["ec5.k_c90"]
    return float(rule["value"]) if stick.apart >= rule["apart"] * stick.section.depth else 1.0


def strength_checks(
    stick: Stick,
    found: Effects,
    line: str,
    duration: str,
    k_sys: tuple[float, float],
    pack: Pack,
) -> list[Check]:
    """Return bending, shear and bearing under one line of loading.

    Args:
        stick: the joist's body.
        found: what the loads do at their worst, factored.
        line: a key of :data:`~baywalk.capacity.check.LINES`.
        duration: of the shortest load.
        k_sys: load sharing on bending and on shear.
        pack: the rules.

    """
    tail = LINES[line]
    common = numbers(stick, duration, pack)
    bending = moment_capacity(stick, duration, k_sys[0], pack)
    shear = shear_capacity(stick, duration, k_sys[1], pack)
    k = {"k_h": k_h(stick.section.depth, pack), "k_sys": k_sys[0]}
    bent = {**common, "W": stick.section.modulus, "f_m,k": stick.timber.f_m, **k}
    own = (f"timber.class.{stick.timber.name}", *FACTORS)
    out = [
        Check("ec5.bending", f"bending{tail}", line, found.m * _KNM, bending * _KNM, "kNm",
              bent, (*own, "ec5.k_h", "ec5.k_sys")),
        Check("ec5.shear", f"shear{tail}", line, found.v * _KN, shear * _KN, "kN",
              {**common, "f_v,k": stick.timber.f_v, "k_cr": pack["ec5.k_cr"], "k_sys": k_sys[1]},
              (*own, "ec5.k_cr", "ec5.k_sys")),
    ]  # fmt: skip
    return [*out, _bearing(stick, found, line, duration, pack)]


def numbers(stick: Stick, duration: str, pack: Pack) -> dict[str, float]:
    """Return what every check of strength shows: the section [mm] and the factors [-]."""
    return {
        "b": stick.section.breadth,
        "h": stick.section.depth,
        "k_mod": pack["ec5.k_mod"][stick.service_class][duration],
        "γ_M": pack["ec5.gamma_M"],
    }


def _bearing(stick: Stick, found: Effects, line: str, duration: str, pack: Pack) -> Check:
    """Return the bearing at whichever support is worst off."""
    checks = []
    for support, reaction in enumerate(found.reactions):
        own_numbers = {
            **numbers(stick, duration, pack),
            "l": stick.bearings[support],
            "f_c,90,k": stick.timber.f_c90,
            "k_c,90": _k_c90(stick, pack),
        }
        capacity = bearing_capacity(stick, support, duration, pack)
        own = (f"timber.class.{stick.timber.name}", *FACTORS, "ec5.k_c90", "ec5.bearing.spread")
        checks.append(
            Check("ec5.bearing", f"bearing{LINES[line]}", line, reaction * _KN, capacity * _KN,
                  "kN", own_numbers, own)
        )  # fmt: skip
    return max(checks, key=lambda check: check.utilisation)
