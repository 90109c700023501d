"""Joists that lap over a beam or a spine wall: each timber is a joist of its own span."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from baywalk.capacity.model import Support

if TYPE_CHECKING:
    from baywalk.capacity.node import Node

_PLACES = (-1e6, 1e6)
_SDS = (0.0, math.inf)


def over(
    run: Node, joist: Node, index: int, supports: list[Support], cautions: list[str]
) -> list[Support]:
    """Return a joist's inner supports with what it laps over among them, marked so [mm].

    A support that is written down between the two tape lines of a lap is the one that it laps over.
    Without one the middle between those lines stands in for it, and that is said. Where nothing
    says how that lies to the near support, the joist counts as one long one, which is said too.
    """
    out = list(supports)
    for pair in run.at("laps").each():
        reach = _reach(joist, [line.text() for line in pair.each()])
        if reach is None:
            cautions.append(
                f"J{index} laps, but nothing says how far from its near support. It is checked as"
                " one long joist. Read along it from the near support to a tape line."
            )
            continue
        low, high = reach
        there = [k for k, support in enumerate(out) if low <= support.place <= high]
        for k in there:
            out[k] = replace(out[k], through=False, lap=True)
        if not there:
            out.append(Support((low + high) / 2, None, through=False, lap=True))
            cautions.append(
                f"What J{index} laps over was not set out: it is taken to lie midway between the"
                " tape lines beside the lap. Read its place, and how long each timber bears on it."
            )
    return out


def _reach(joist: Node, pair: list[str]) -> tuple[float, float] | None:
    """Return from where to where a joist laps, from its near support's face [mm]."""
    ends = joist.at("ends")
    near = ends.at("near_support").figure(_PLACES, _SDS) if ends else None
    at = joist.at("at")
    ys = [_height(at.at(line)) if at else None for line in pair]
    if near is None or len(ys) != 2 or ys[0] is None or ys[1] is None:
        return None
    return min(ys[0], ys[1]) - near.value, max(ys[0], ys[1]) - near.value


def _height(place: Node) -> float | None:
    """Return how far from the first tape line a joist crosses another [mm]."""
    point = place.at("point") if place else None
    if not point:
        return None
    both = [part.number(_PLACES) for part in point.each()]
    if len(both) != 2:
        point.fail("must be two numbers")
    return both[1]
