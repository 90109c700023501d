"""Rectangles of timber, and the figures of their strength class."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from baywalk.rules import Pack


_PLACES = 200
"""Into how many parts the room of a hole is divided where its place in the depth is not known."""


class Left(NamedTuple):
    """What cuts leave of a section: of its depth [mm], and its modulus [mm³]."""

    depth: float
    modulus: float


@dataclass(frozen=True)
class Section:
    """A rectangle of a breadth and a depth [mm]."""

    breadth: float
    depth: float

    @property
    def area(self) -> float:
        """The area [mm²]."""
        return self.breadth * self.depth

    @property
    def modulus(self) -> float:
        """The section modulus about the level axis [mm³]."""
        return self.breadth * self.depth**2 / 6

    @property
    def inertia(self) -> float:
        """The second moment of area about the level axis [mm⁴]."""
        return self.breadth * self.depth**3 / 12

    def cut(self, top: float, bottom: float, hole: float, *, centred: bool) -> Left:
        """Return what notches from ``top`` and ``bottom`` and a ``hole`` leave of it, all in mm.

        A hole that is not ``centred`` on the middle of the whole depth is taken where it harms
        most, for nobody wrote down how far from the edge it lies.
        """
        low, high = min(top, self.depth), max(0.0, self.depth - bottom)
        if hole <= 0 or (high - low <= hole and not centred):
            solid = max(0.0, high - low - hole)
            return Left(solid, self.breadth * solid**2 / 6)
        if centred:
            # A notch may reach into the hole, or past it.
            start, end = (self.depth - hole) / 2, (self.depth + hole) / 2
            return self._beside(min(start, high) - low, high - max(end, low), hole)
        rest = high - low - hole
        places = (rest * k / _PLACES for k in range(_PLACES // 2 + 1))
        return min((self._beside(x, rest - x, hole) for x in places), key=lambda one: one.modulus)

    def _beside(self, upper: float, lower: float, hole: float) -> Left:
        """Return what two parts of its depth above and below a hole come to."""
        one, other = max(upper, 0.0), max(lower, 0.0)
        solid = one + other
        if min(one, other) <= 0:
            return Left(solid, self.breadth * solid**2 / 6)
        # Both as one section, or the larger alone where the smaller would give way first.
        to_other = one + hole + other / 2
        axis = (one**2 / 2 + other * to_other) / solid
        inertia = (one**3 + other**3) / 12 + one * (axis - one / 2) ** 2
        inertia += other * (to_other - axis) ** 2
        both = inertia / max(axis, solid + hole - axis)
        return Left(solid, self.breadth * max(both, max(one, other) ** 2 / 6))


@dataclass(frozen=True)
class Timber:
    """The figures of a strength class: strengths and stiffnesses [N/mm²], density [kg/m³]."""

    name: str
    f_m: float
    f_v: float
    f_c90: float
    modulus: float
    shear_modulus: float
    density: float

    @classmethod
    def of(cls, name: str, pack: Pack) -> Timber:
        """Return the figures of a strength class of the pack; KeyError where it has none such."""
        v = pack[f"timber.class.{name}"]
        return cls(name, v["f_m"], v["f_v"], v["f_c90"], v["E"], v["G"], v["rho"])
