"""Movement gaps: the strips left open where a deck is longer than the published run."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from shapely import Polygon, box
from shapely.ops import unary_union

from baywalk.planning.refused import Reason, Refused
from baywalk.planning.shapes import polygons

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from baywalk.planning.choices import Choices
    from baywalk.planning.continued import Laid
    from baywalk.planning.ground import Ground, Member
    from baywalk.rules import Pack


FAR = 1e6
"""Beyond any loft [mm]."""


_MORE_PARTS = 3
"""In how many ways a long deck is parted until no part is too long."""


def movement_gaps(
    inner: BaseGeometry,
    ground: Ground,
    pack: Pack,
    board_width: float,
    laid: Laid | None,
    choices: Choices,
) -> list[Polygon]:
    """Return the strips left open where the deck is longer than the published run [mm]."""
    _, y0, _, y1 = inner.bounds
    most, open_ = pack["deck.movement.run"], pack["deck.movement.gap"]
    strips = _across_joists(inner, ground, pack)
    edges = _course_edges(y0, y1, most, board_width, choices.start_wall, open_, laid)
    strips += [box(-FAR, y, FAR, y + open_) for y in edges]
    return [strip for strip in strips if strip.intersects(inner)]


def _across_joists(inner: BaseGeometry, ground: Ground, pack: Pack) -> list[Polygon]:
    """Return the strips left open along joists; in more parts where joists stand too far apart."""
    x0, y0, x1, y1 = inner.bounds
    most, open_ = pack["deck.movement.run"], pack["deck.movement.gap"]
    bearings = 2 * pack["joint.bearing"]
    for more in range(_MORE_PARTS):
        places = _places(x0, x1, most, more)
        slack = (most - (x1 - x0) / (len(places) + 1)) / 2
        strips = []
        for place in places:
            joist = _parting(ground, place, (y0 + y1) / 2, slack, open_ + bearings)
            strip = _along_joist(joist, min(open_, joist.breadth - bearings))
            strips += [strip] if strip else []
        whole = inner.difference(unary_union(strips)) if strips else inner
        if all(part.bounds[2] - part.bounds[0] <= most for part in polygons(whole)):
            return strips
    raise Refused(_not_parted(most, bearings))


def _not_parted(most: float, bearings: float) -> Reason:
    say = (
        f"The deck is longer than {most:g} mm across the joists and must be parted on one, and"
        f" none where it could be is more than {bearings:g} mm broad for both parts to bear on."
        " Double one near the middle, and survey the two as one joist."
    )
    return Reason("deck.not_parted", say)


def _parting(ground: Ground, place: float, y: float, slack: float, wide: float) -> Member:
    """Return the joist nearest to a ``place`` that is ``wide`` enough, else the nearest [mm].

    Within the ``slack`` on either side no part of the deck becomes too long.
    """

    def off(joist: Member) -> float:
        return abs(joist.centre(y) - place)

    enough = [j for j in ground.joists if j.breadth >= wide and off(j) <= slack]
    return min(enough or ground.joists, key=off)


def _places(low: float, high: float, most: float, more: int) -> list[float]:
    parts = math.ceil((high - low) / most - 1e-9)
    parts += more if parts > 1 else 0
    return [low + (high - low) * k / parts for k in range(1, parts)]


def _course_edges(
    y0: float,
    y1: float,
    most: float,
    width: float,
    start: str,
    open_: float,
    laid: Laid | None,
) -> list[float]:
    """Return the near sides of movement gaps that lie between two courses [mm].

    Beside a deck already laid courses lie in line with its own, so the first gap does as well.
    """
    parts = math.ceil((y1 - y0) / most - 1e-9)
    if parts < 2:
        return []
    near = (laid.start if laid else start) == "near"
    step = max(min(math.ceil((y1 - y0) / parts / width), int(most // width)), 1) * width
    beside = ((laid.y - y0) if near else (y1 - laid.y)) if laid else 0.0
    # What is laid counts with what goes on from it: they are one deck.
    first = beside + max(math.floor((step - beside) / width + 1e-9), 1) * width
    edges, place = [], first
    while place < y1 - y0 - width / 2:
        edges.append(y0 + place if near else y1 - place - open_)
        place += step + open_
    return edges


def _along_joist(joist: Member, open_: float) -> Polygon | None:
    """Return a strip along a joist's centre; None where the joist is too thin to part a deck."""
    if open_ < 1:
        return None
    ys = [-FAR, *(y for _, y in joist.points), FAR]
    line = [(joist.centre(y), y) for y in ys]
    left = [(x - open_ / 2, y) for x, y in line]
    right = [(x + open_ / 2, y) for x, y in reversed(line)]
    return Polygon([*left, *right])
