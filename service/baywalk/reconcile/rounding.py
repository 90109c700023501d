"""Comparisons that the last bits of the arithmetic cannot turn.

Whole readings make many figures equal that reach the computer with different last bits: two bays
of 400, a bay exactly at its tolerance. What is ranked or held against a limit is therefore rounded
first, so that every machine, and the phone's own engine, comes to the same words. The adjustment
comes to rest within a ten-thousandth of a millimetre; what is finer is its noise.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

T = TypeVar("T")


def steady(figure: float) -> float:
    """Return a figure [mm or -] to a ten-thousandth, free of the arithmetic's own noise."""
    return round(figure, 4)


def printed(figure: float, places: int = 3) -> float:
    """Return a figure [mm or -] as a file has it: nought is never minus nought."""
    return round(figure, places) + 0.0


def alike(greater: float, less: float) -> bool:
    """Say whether two figures [mm or -] differ by no more than the arithmetic's own noise."""
    return greater - less <= max(1e-4, 1e-7 * abs(greater))


def ranked(items: Iterable[T], figure: Callable[[T], float]) -> list[T]:
    """Return the items, the greatest figure [mm or -] first; those alike keep their order.

    A figure and the next are alike however a rounding would part them.
    """
    order = list(items)
    figures = [figure(item) for item in order]
    down = sorted(range(len(order)), key=lambda i: -figures[i])
    level = [0] * len(order)
    for before, i in pairwise(down):
        level[i] = level[before] + (not alike(figures[before], figures[i]))
    return [order[i] for i in sorted(down, key=lambda i: (level[i], i))]
