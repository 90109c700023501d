"""Which ways of two neighbouring courses keep their end joints far enough apart."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from baywalk.planning.layout.patterns import Ways


def clash(one: Ways, other: Ways, apart: float) -> NDArray[np.bool_]:
    """Say for each way of ``one`` and each of ``other`` whether joints must come too near.

    A pair clashes where, wherever both first joints lie within their bounds, some two joints are
    less than ``apart`` [mm] from one another. For ways at single places that is exact.
    """
    if one.fixed is not None or other.fixed is not None:
        # No joint may lie where it would be too near to one that is fixed: the zones see to that.
        return np.zeros((len(one), len(other)), np.bool_)
    out = np.zeros((len(one), len(other)), np.bool_)
    board = one.board
    low = one.low[:, None] - other.high[None, :]
    high = one.high[:, None] - other.low[None, :]
    most, least = int(one.joints.max(initial=0)), int(other.joints.max(initial=0))
    # A joint k of the one and m of the other differ by (k - m) boards: only that matters.
    for shift in range(-least + 1, most):
        exists = _exists(one, other, shift)
        out |= exists & (low + shift * board > -apart) & (high + shift * board < apart)
    return out


def _exists(one: Ways, other: Ways, shift: int) -> NDArray[np.bool_]:
    """Say where both ways have joints k and m with k - m = ``shift``."""
    first = max(shift, 0)
    k = one.joints[:, None]
    m = other.joints[None, :]
    return (k > first) & (m > first - shift)
