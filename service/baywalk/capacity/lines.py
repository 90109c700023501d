"""Where a joist lies in the plane [mm]."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from baywalk.capacity.model import Figure, Point

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.capacity.node import Node


def along(
    points: Sequence[Point],
    ends: Node,
    limits: Sequence[float],
    span: Figure | None,
) -> tuple[Point, Point] | None:
    """Return where a joist's supports lie in the plane [mm], from two points of it or one.

    Without the place of its supports the span lies about the middle of its points.
    """
    first, last = points[0], points[-1]
    length = math.dist(first, last)
    # One point gives no direction; joists run square to the first tape line unless told.
    ux, uy = ((last[0] - first[0]) / length, (last[1] - first[1]) / length) if length else (0, 1)
    start = ends.at("near_support").figure(limits, (0, math.inf)) if ends else None
    stop = ends.at("far_support").figure(limits, (0, math.inf)) if ends else None
    if start is None and stop is None:
        if span is None:
            return None
        middle = length / 2
        start = Figure(middle - span.value / 2, 0.0)
    if start is None and stop is not None and span is not None:
        start = Figure(stop.value - span.value, 0.0)
    if stop is None and start is not None and span is not None:
        stop = Figure(start.value + span.value, 0.0)
    if start is None or stop is None:
        return None
    a, b = start.value, stop.value
    return (first[0] + a * ux, first[1] + a * uy), (first[0] + b * ux, first[1] + b * uy)
