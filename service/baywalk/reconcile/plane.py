"""Points and distances in the plane: how tape lines, joists and diagonals hang together.

The first tape line is the x axis, from the start wall's face. Another line starts where it meets
the start wall, at an origin (2 unknowns, mm) and in a direction: by how much it goes over towards
the far edge in each metre along the axis (1 unknown, mm per m, of the same size as the others).
So no line can run backwards, for joists have the same order along all of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.reconcile.equations import Curve, Floats

_PER_M = 1000.0


@dataclass(frozen=True)
class Line:
    """A tape line's unknowns; None for the first line, which is the axis itself."""

    origin_x: int
    origin_y: int
    direction: int


@dataclass(frozen=True)
class Spot:
    """Where a joist (or wall face) crosses a tape line.

    Attributes:
        x: the unknown of its position along the line, None for the start wall at 0.
        line: the line's unknowns, None for the first line.

    """

    x: int | None
    line: Line | None

    def columns(self) -> list[int]:
        """Return the unknowns that the spot depends on."""
        own = [] if self.x is None else [self.x]
        line = self.line
        return own + ([] if line is None else [line.origin_x, line.origin_y, line.direction])

    def at(self, values: Floats) -> tuple[float, float]:
        """Return the spot's coordinates [mm]."""
        x, c, s = self._along(values)
        if self.line is None:
            return x, 0.0
        return (
            float(values[self.line.origin_x]) + x * c,
            float(values[self.line.origin_y]) + x * s,
        )

    def slopes(self, values: Floats) -> list[tuple[float, float]]:
        """Return the derivatives of (x, y) with respect to each of :meth:`columns`."""
        x, c, s = self._along(values)
        own = [] if self.x is None else [(c, s)]
        if self.line is None:
            return own
        turned = x * c * c / _PER_M
        return [*own, (1.0, 0.0), (0.0, 1.0), (-turned * s, turned * c)]

    def _along(self, values: Floats) -> tuple[float, float, float]:
        """Return the place along the line [mm], and the cosine and sine of its angle."""
        slope = 0.0 if self.line is None else float(values[self.line.direction]) / _PER_M
        c = 1.0 / math.hypot(1.0, slope)
        return 0.0 if self.x is None else float(values[self.x]), c, slope * c


def between(
    a: Spot, b: Spot, extra: Sequence[tuple[int, float]], sign: float = 1.0
) -> tuple[list[int], Curve]:
    """Return columns and curve of a length made of the distance from ``a`` to ``b`` and more.

    ``extra`` holds further unknowns that enter it linearly, each with its coefficient: a tape's
    scale, the distance of a support from the first line. ``sign`` is -1 where the distance counts
    backwards, as from a further line out to a support beyond it.
    """
    ends = [*((c, -1.0) for c in a.columns()), *((c, 1.0) for c in b.columns())]
    columns = list(dict.fromkeys([*(c for c, _ in ends), *(c for c, _ in extra)]))
    slots = [(columns.index(c), way) for c, way in ends]
    linear = [(columns.index(c), c, k) for c, k in extra]
    empty = [0.0] * len(columns)

    def curve(values: Floats) -> tuple[float, list[float], list[float]]:
        ax, ay = a.at(values)
        bx, by = b.at(values)
        dx, dy = bx - ax, by - ay
        length = math.hypot(dx, dy)
        # Two spots that coincide have no direction; any unit vector keeps the arithmetic finite.
        ux, uy = (dx / length, dy / length) if length > 1e-9 else (1.0, 0.0)
        root = math.sqrt(max(length, 1.0))
        length *= sign
        partials, bends = empty.copy(), empty.copy()
        moves = (*a.slopes(values), *b.slopes(values))
        for (slot, way), (sx, sy) in zip(slots, moves, strict=True):
            partials[slot] += sign * way * (ux * sx + uy * sy)
            bends[slot] += way * (ux * sy - uy * sx) / root
        for slot, c, k in linear:
            length += k * float(values[c])
            partials[slot] += k
        return length, partials, bends

    return columns, curve
