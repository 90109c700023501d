"""What is cut off one board may start another course: how many boards a set of pieces takes.

What is cut off the right-hand end can only start a course, so a first piece is either the rest of
the board that a last piece was cut from, or a board of its own. A first piece fits what is left of
a last one if it is no longer; so by Hall's theorem as many first pieces find no rest as the worst
length says: pieces at least that long, less rests at least that long.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

SLACK = 1e-6
"""A piece this much longer than a rest still fits it [mm]: rounding."""


def unmatched(demands: Floats, rests: Floats) -> tuple[int, float]:
    """Return how many first pieces find no rest, and the worst length [mm]; 0 and 0 if none."""
    demands = demands[demands > 0]
    if not len(demands):
        return 0, 0.0
    wanted = np.sort(demands)
    over = len(wanted) - np.arange(len(wanted))
    there = np.sort(rests[rests > 0])
    supply = len(there) - np.searchsorted(there, wanted - SLACK, side="left")
    short = over - supply
    worst = int(np.argmax(short))
    return max(int(short[worst]), 0), float(wanted[worst])


def match(demands: Sequence[float], rests: Sequence[float]) -> list[int]:
    """Return for each first piece the rest that it is cut from, or -1; as many matched as can be.

    The longest piece takes the shortest rest that holds it, which never costs another its place.
    """
    out = [-1] * len(demands)
    free = sorted(range(len(rests)), key=lambda k: rests[k])
    for piece in sorted(range(len(demands)), key=lambda k: -demands[k]):
        fits = [k for k in free if rests[k] >= demands[piece] - SLACK]
        if fits:
            out[piece] = fits[0]
            free.remove(fits[0])
    return out
