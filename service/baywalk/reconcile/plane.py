"""Points and distances in the plane: how tape lines, joists and diagonals hang together.

The first tape line is the x axis, from the start wall's face. Another line starts where it meets
the start wall, at an origin (2 unknowns, mm) and in a direction (1 unknown, in mm per m so that
it is of the same size as the others).
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
        x = 0.0 if self.x is None else float(values[self.x])
        if self.line is None:
            return x, 0.0
        angle = float(values[self.line.direction]) / _PER_M
        return (
            float(values[self.line.origin_x]) + x * math.cos(angle),
            float(values[self.line.origin_y]) + x * math.sin(angle),
        )

    def slopes(self, values: Floats) -> list[tuple[float, float]]:
        """Return the derivatives of (x, y) with respect to each of :meth:`columns`."""
        if self.line is None:
            return [] if self.x is None else [(1.0, 0.0)]
        x = 0.0 if self.x is None else float(values[self.x])
        angle = float(values[self.line.direction]) / _PER_M
        c, s = math.cos(angle), math.sin(angle)
        own = [] if self.x is None else [(c, s)]
        return [*own, (1.0, 0.0), (0.0, 1.0), (-x * s / _PER_M, x * c / _PER_M)]


def distance(a: Spot, b: Spot, values: Floats) -> tuple[float, list[float], list[float]]:
    """Return the distance a to b [mm] and its slopes by the columns of ``a`` and of ``b``."""
    ax, ay = a.at(values)
    bx, by = b.at(values)
    dx, dy = bx - ax, by - ay
    length = math.hypot(dx, dy)
    # Two spots that coincide have no direction; any unit vector keeps the arithmetic finite.
    ux, uy = (dx / length, dy / length) if length > 1e-9 else (1.0, 0.0)
    from_a = [-(ux * sx + uy * sy) for sx, sy in a.slopes(values)]
    from_b = [ux * sx + uy * sy for sx, sy in b.slopes(values)]
    return length, from_a, from_b


def between(
    a: Spot, b: Spot, extra: Sequence[tuple[int, float]], sign: float = 1.0
) -> tuple[list[int], Curve]:
    """Return columns and curve of a length made of the distance from ``a`` to ``b`` and more.

    ``extra`` holds further unknowns that enter it linearly, each with its coefficient: a tape's
    scale, the distance of a support from the first line. ``sign`` is -1 where the distance counts
    backwards, as from a further line out to a support beyond it.
    """
    a_columns, b_columns = a.columns(), b.columns()
    columns = list(dict.fromkeys([*a_columns, *b_columns, *(c for c, _ in extra)]))
    slot = {c: i for i, c in enumerate(columns)}

    def curve(values: Floats) -> tuple[float, list[float]]:
        length, from_a, from_b = distance(a, b, values)
        length *= sign
        partials = [0.0] * len(columns)
        for c, slope in zip(a_columns, from_a, strict=True):
            partials[slot[c]] += sign * slope
        for c, slope in zip(b_columns, from_b, strict=True):
            partials[slot[c]] += sign * slope
        for c, k in extra:
            length += k * float(values[c])
            partials[slot[c]] += k
        return length, partials

    return columns, curve
