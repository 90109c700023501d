"""The deck area: the outline less the expansion gap, obstacles, openings, deck already laid."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from shapely import Polygon, box, make_valid
from shapely.ops import unary_union

from baywalk.planning.continued import Laid, laid_before
from baywalk.planning.movement import FAR, movement_gaps
from baywalk.planning.refused import Reason, Refused
from baywalk.planning.shapes import SLACK, plain, polygons, straightened, without_slivers

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry.base import BaseGeometry

    from baywalk.planning.choices import Choices
    from baywalk.planning.ground import Ground
    from baywalk.rules import Pack


@dataclass
class Area:
    """One connected deck.

    ``polygon`` is what is boarded, ``free`` the same without obstacles and openings cut out, in
    which the width of a course is judged; ``gap`` and all coordinates are in mm.
    """

    polygon: Polygon
    free: BaseGeometry
    gap: float
    blocked: list[tuple[str, Polygon]] = field(default_factory=list)
    movement: list[Polygon] = field(default_factory=list)
    laid: Laid | None = None
    left_open: float = 0.0


def areas(
    run: dict[str, Any], ground: Ground, choices: Choices, pack: Pack, board_width: float
) -> list[Area]:
    """Return the decks of a run, the nearest and leftmost first.

    ``board_width`` [mm] is where a movement gap may lie between courses. Raises :class:`Refused`
    where there is nothing to board.
    """
    outline = Polygon(run["outline"])
    gap = expansion_gap(outline, choices, pack)
    inner = outline.buffer(-gap, join_style="mitre", mitre_limit=10)
    if inner.is_empty:
        raise Refused(_nothing(run))
    laid = laid_before(run, inner, pack["board.rip.least"])
    movement = movement_gaps(inner, ground, pack, board_width, laid, choices)
    free = inner.difference(unary_union(movement)) if movement else inner
    blocked = _blocked(run, gap)
    deck = free.difference(unary_union([shape for _, shape in blocked])) if blocked else free
    whole, left_open = without_slivers(deck, pack["deck.least.width"])
    most = pack["deck.edge.straight"]
    parts = [
        plain(part if laid else straightened(part, most))
        for part in polygons(whole)
        if part.area > pack["deck.least.width"] ** 2
    ]
    if not parts:
        raise Refused(_nothing(run))
    parts.sort(key=lambda p: (round(p.bounds[1]), p.bounds[0]))
    return [
        Area(p, free, gap, blocked, movement, _gone_on(p, laid, movement), left_open) for p in parts
    ]


def _gone_on(part: Polygon, laid: Laid | None, movement: Sequence[Polygon]) -> Laid | None:
    """Return what is laid for a deck that goes on from it; None beyond a movement gap."""
    if laid is None:
        return None
    across = [strip.bounds for strip in movement if strip.bounds[3] - strip.bounds[1] < FAR / 2]
    if laid.start == "near":
        return None if any(top <= part.bounds[1] + SLACK for *_, top in across) else laid
    return None if any(low >= part.bounds[3] - SLACK for _, low, *_ in across) else laid


def _nothing(run: dict[str, Any]) -> Reason:
    say = f"{run['title'] or run['id']}: nothing is left to board inside the expansion gap."
    return Reason("deck.nothing", say)


def expansion_gap(outline: Polygon, choices: Choices, pack: Pack) -> float:
    """Return the expansion gap [mm], to the whole millimetre above; by the deck's longest run."""
    if choices.gap is not None:
        return float(choices.gap)
    x0, y0, x1, y1 = outline.bounds
    # A deck with movement gaps is never longer than they allow.
    metres = min(max(x1 - x0, y1 - y0), pack["deck.movement.run"]) / 1000
    forms = {
        form: max(body["least"], body["per_metre"] * metres)
        for form, body in (
            ("nbs", pack["deck.gap.nbs"]),
            ("warranty", pack["deck.gap.warranty"]),
            ("maker", pack["deck.gap.maker"]),
        )
    }
    form = pack["deck.gap.form"]
    return float(math.ceil(round(max(forms.values()) if form == "greatest" else forms[form], 6)))


def _blocked(run: dict[str, Any], gap: float) -> list[tuple[str, Polygon]]:
    """Return what is cut out, with the id of its feature: obstacles with the gap around them."""
    out = []
    for feature in run["features"]:
        polygon = feature.get("polygon")
        if polygon is None or feature["feature"] not in ("opening", "obstacle", "laid"):
            continue
        shape = make_valid(Polygon(polygon))
        if feature["feature"] == "obstacle":
            shape = shape.buffer(gap, join_style="mitre")
        if feature["feature"] == "laid":
            shape = box(*shape.bounds)
        if feature["feature"] == "opening":
            shape = _squared(polygon, shape)
        out += [(feature["id"], part) for part in polygons(shape)]
    return out


def _squared(corners: list[list[float]], shape: BaseGeometry) -> BaseGeometry:
    """Return an opening whose ends lie square, for timbers across it do; its sides stay."""
    if len(corners) != 4:
        return shape
    _, low, _, high = shape.bounds
    near, far = (
        sorted(sorted(corners, key=lambda p: p[1])[:2]),
        sorted(sorted(corners, key=lambda p: p[1])[2:]),
    )
    sides = list(zip(near, far, strict=True))
    if any(b[1] - a[1] < 1 for a, b in sides):
        return shape
    left, right = (
        [(a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]), y) for y in (low, high)]
        for a, b in sides
    )
    return Polygon([*left, *reversed(right)])
