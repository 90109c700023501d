"""How a length is written on a sheet: millimetres, or feet and inches by choice.

A length is always rounded from the exact one, never from one that was rounded before; so what
is added up on paper never drifts.
"""

from __future__ import annotations

from math import gcd

from baywalk.reconcile.rounding import steady

UNITS = ("mm", "imperial")
"""What lengths may be written in."""

INCH = 25.4
"""[mm]; exact, by the international agreement of 1959."""
PARTS = 16
"""Parts of an inch that a length is rounded to [-]."""
STEP = {"mm": 1.0, "imperial": INCH / PARTS}
"""What a length is rounded to [mm], by what it is written in."""


def say(length: float, units: str = "mm") -> str:
    """Return a length [mm] as it is written: whole millimetres, or feet, inches and sixteenths."""
    return _imperial(length) if units == "imperial" else str(round(steady(length)))


def unit(units: str) -> str:
    """Return the unit in words, for the head of a column or sheet."""
    return "feet and inches" if units == "imperial" else "mm"


def spread(sd: float, units: str = "mm") -> str:
    """Return the bound that holds the truth in 19 of 20 cases, from a standard deviation [mm]."""
    wide = 1.96 * sd
    if units == "imperial":
        return "± " + _inches(max(1, round(steady(wide * PARTS / INCH))))
    return f"± {max(1, round(steady(wide)))}"


def _imperial(length: float) -> str:
    parts = round(steady(abs(length) * PARTS / INCH))
    feet, rest = divmod(parts, 12 * PARTS)
    sign = "-" if length < 0 and parts else ""
    return f"{sign}{feet}' {_inches(rest)}" if feet else f"{sign}{_inches(rest)}"


def _inches(parts: int) -> str:
    """Return sixteenths of an inch as inches and the simplest fraction."""
    whole, rest = divmod(parts, PARTS)
    if not rest:
        return f'{whole}"'
    common = gcd(rest, PARTS)
    fraction = f"{rest // common}/{PARTS // common}"
    return f'{whole} {fraction}"' if whole else f'{fraction}"'
