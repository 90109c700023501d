"""Spans by allowable stresses, as other codes work them out, on this house's beams and sections.

Only the factors of those codes stand here; moments, shears, sags and section figures come from the
shipped code. Units: N and mm; :data:`PSI`, :data:`INCH`, :data:`PSF` turn the American ones.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from baywalk.capacity.effects import Bar, effects
from baywalk.capacity.sections import Section

if TYPE_CHECKING:
    from collections.abc import Callable

INCH, PSI = 25.4, 6.894757e-3
PSF = PSI / 144
"""One pound on a square foot [N/mm²]."""


def longest(fits: Callable[[float], bool], least: float = 10.0, most: float = 20000.0) -> float:
    """Return the longest span [mm] that still fits, by halving."""
    for _ in range(60):
        middle = (least + most) / 2
        least, most = (middle, most) if fits(middle) else (least, middle)
    return least


def american(
    size: str, fb: float, modulus: float, loads: tuple[float, float], centres: float, limit: float
) -> tuple[float, str]:
    """Return the span [in] and what governs, by NDS: bending under all load, sag under the live.

    Args:
        size: such as 2x6. fb: [psi]. modulus: [psi]. loads: live and dead [psf].
        centres: [in]. limit: span over this.

    """
    depth = {"2x4": 3.5, "2x6": 5.5, "2x8": 7.25, "2x10": 9.25, "2x12": 11.25}[size]
    factor = {"2x4": 1.5, "2x6": 1.3, "2x8": 1.2, "2x10": 1.1, "2x12": 1.0}[size]
    section = Section(1.5 * INCH, depth * INCH)
    live, dead = (load * PSF * centres * INCH for load in loads)
    strength = fb * factor * 1.15 * PSI
    flexural = modulus * PSI * section.inertia

    def bent(span: float) -> bool:
        return effects(Bar((span,), through=True, flexural=flexural, shear=0.0), live + dead).m <= (
            strength * section.modulus
        )

    def stiff(span: float) -> bool:
        return (
            effects(Bar((span,), through=True, flexural=flexural, shear=0.0), live).sag
            <= span / limit
        )

    spans = {"bending": longest(bent) / INCH, "deflection": longest(stiff) / INCH}
    least = min(spans, key=lambda key: spans[key])
    return spans[least], least


BRITISH = {
    "C16": {"bending": 5.3, "shear": 0.67, "bearing": 1.7, "E": 8800, "density": 540},
    "C24": {"bending": 7.5, "shear": 0.71, "bearing": 1.9, "E": 9900, "density": 590},
}
"""Grade stresses of BS 5268 [N/mm²] and density [kg/m³]; C16's READ in two calculation sheets,
C24's and the densities from memory, E for C24 that of the 1992 edition."""


def british(
    grade: str, size: tuple[int, int], centres: float, loads: tuple[float, float, float]
) -> float:
    """Return the clear span [mm] by BS 5268-7.1: total load, 0.003 of the span and 14 mm.

    ``loads`` are dead and imposed [N/mm²] and a point load at mid-span [N] in place of the imposed
    where it is worse; as an approximation found by fitting, it is not shared.
    """
    values, section = BRITISH[grade], Section(*size)
    dead, imposed, point = loads
    own = section.area * values["density"] * 9.81e-9
    spread = (dead + imposed) * centres + own
    factor = 1.1 * (300 / section.depth) ** 0.11
    # Sag by shear as 19.2 M / (A E): a shear stiffness of E/16 and the shape factor 1.2.
    shear = values["E"] / 16 * section.area / 1.2
    flexural = values["E"] * section.inertia

    def fits(span: float) -> bool:
        bar = Bar((span,), through=True, flexural=flexural, shear=shear)
        whole = effects(bar, spread)
        alone = effects(bar, dead * centres + own, point=point)
        return (
            whole.m <= values["bending"] * factor * section.modulus
            and whole.v <= values["shear"] * 1.1 * section.area / 1.5
            and whole.sag <= min(0.003 * span, 14)
            and alone.m <= 1.25 * values["bending"] * factor * section.modulus
            and alone.sag <= min(0.003 * span, 14)
        )

    span = longest(fits)
    return span - spread * span / 2 / (values["bearing"] * 1.1 * section.breadth)


def british_ceiling(size: tuple[int, int], centres: float, dead: float) -> float:
    """Return the clear span [mm] of a C16 ceiling joist: dead, 0.25 kN/m² and 0.9 kN together."""
    values, section = BRITISH["C16"], Section(*size)
    spread = (dead + 0.25e-3) * centres + section.area * values["density"] * 9.81e-9
    shear = values["E"] / 16 * section.area / 1.2
    flexural = values["E"] * section.inertia

    def fits(span: float) -> bool:
        bar = Bar((span,), through=True, flexural=flexural, shear=shear)
        return effects(bar, spread, point=900).sag <= 0.003 * span

    span = longest(fits)
    reaction = spread * span / 2 + 900
    return span - reaction / (values["bearing"] * 1.1 * section.breadth)
