"""Rectangles of timber, and the figures of their strength class."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from baywalk.rules import Pack


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

    def holed(self, hole: float) -> float:
        """Return the section modulus left by a hole of a diameter [mm] on the centre line [mm³]."""
        return max(0.0, self.breadth * (self.depth**3 - hole**3) / (6 * self.depth))


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
