"""Comparisons that the last bits of the arithmetic cannot turn.

Whole readings make many figures equal that reach the computer with different last bits: two bays
of 400, a bay exactly at its tolerance. What is ranked or held against a limit is therefore rounded
first, so that every machine, and the phone's own engine, comes to the same words. The adjustment
comes to rest within a ten-thousandth of a millimetre; what is finer is its noise.
"""

from __future__ import annotations


def steady(figure: float) -> float:
    """Return a figure [mm or -] to a ten-thousandth, free of the arithmetic's own noise."""
    return round(figure, 4)


def printed(figure: float, places: int = 3) -> float:
    """Return a figure [mm or -] as a file has it: nought is never minus nought."""
    return round(figure, places) + 0.0
