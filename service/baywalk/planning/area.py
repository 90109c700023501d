"""The deck area: the outline less the expansion gap, obstacles, openings, deck already laid."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from shapely import Polygon, box, make_valid
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

from baywalk.planning.refused import Reason, Refused

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry.base import BaseGeometry

    from baywalk.planning.choices import Choices
    from baywalk.planning.ground import Ground, Member
    from baywalk.rules import Pack

_FAR = 1e6
"""Beyond any loft [mm]."""
_SLACK = 0.01
"""What is taken off beside a strip left open, so that nothing of it stays [mm]."""
_HAIR = 0.03
"""An edge that leaves a straight line by no more than this is straight [mm]."""
_ONE = 2 * _SLACK
"""Corners nearer to each other than this are one: no saw tells them apart [mm]."""
_MORE_PARTS = 3
"""In how many ways a long deck is parted until no part is too long."""
_NEAR = 10.0
"""Decks nearer to each other than this were laid one on from the other [mm]."""
_CRUMB = 20.0
"""An area below this is rounding [mm²]."""


@dataclass(frozen=True)
class Laid:
    """A deck that is there already and that the new one goes on from.

    ``edge`` is what it offers, ``y`` [mm] where, ``start`` the side on which it lies.
    """

    feature: str
    edge: str
    y: float
    start: str


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
    laid = _laid(run, inner, pack["board.rip.least"])
    movement = _movement(inner, ground, pack, board_width, laid, choices)
    free = inner.difference(unary_union(movement)) if movement else inner
    blocked = _blocked(run, gap)
    deck = free.difference(unary_union([shape for _, shape in blocked])) if blocked else free
    whole, left_open = _without_slivers(deck, pack["deck.least.width"])
    most = pack["deck.edge.straight"]
    parts = [
        plain(part if laid else _straightened(part, most))
        for part in _polygons(whole)
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
    across = [strip.bounds for strip in movement if strip.bounds[3] - strip.bounds[1] < _FAR / 2]
    if laid.start == "near":
        return None if any(top <= part.bounds[1] + _SLACK for *_, top in across) else laid
    return None if any(low >= part.bounds[3] - _SLACK for _, low, *_ in across) else laid


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


def rings(polygon: Polygon) -> tuple[list[list[float]], list[list[list[float]]]]:
    """Return a polygon's outer ring, anticlockwise, and its holes, as lists of points [mm]."""
    turned = orient(polygon)
    return _ring(turned.exterior), [_ring(hole) for hole in turned.interiors]


def _ring(ring: Any) -> list[list[float]]:
    return [[round(x, 3), round(y, 3)] for x, y in list(ring.coords)[:-1]]


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
        out += [(feature["id"], part) for part in _polygons(shape)]
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


def _laid(run: dict[str, Any], inner: BaseGeometry, least: float) -> Laid | None:
    """Return where the deck goes on from; raise where it would have to close on both sides.

    A deck that lies less than the least rip, ``least`` [mm], from this room belongs to it.
    """
    found = []
    _, y0, _, y1 = inner.bounds
    for feature in run["features"]:
        if feature["feature"] != "laid" or not feature.get("polygon"):
            continue
        # One that lies in another room is none to go on from.
        if Polygon(feature["polygon"]).distance(inner) > least:
            continue
        _, low, _, high = Polygon(feature["polygon"]).bounds
        if min(low - y0, y1 - high) > least:
            raise Refused(_steps(run) if _goes_on_from_another(feature, run) else _island(run))
        start = "near" if low - y0 <= y1 - high else "far"
        edge = feature.get("edge") if feature.get("edge") in ("tongue", "groove") else "tongue"
        found.append(Laid(feature["id"], edge, high if start == "near" else low, start))
    starts = {laid.start for laid in found}
    if len(starts) > 1:
        say = (
            "Boards are laid from both edges already. The last board between them could not be"
            " pushed home. Take up one side, or leave a strip and close it with a loose board."
        )
        raise Refused(Reason("laid.both_sides", say))
    if not found:
        return None
    near = starts == {"near"}
    return max(found, key=lambda laid: laid.y if near else -laid.y)


def _goes_on_from_another(feature: dict[str, Any], run: dict[str, Any]) -> bool:
    """Say whether one laid deck touches another of the same run."""
    own = Polygon(feature["polygon"])
    return any(
        other is not feature
        and other["feature"] == "laid"
        and other.get("polygon")
        and Polygon(other["polygon"]).distance(own) < _NEAR
        for other in run["features"]
    )


def _steps(run: dict[str, Any]) -> Reason:
    say = (
        f"{run['title'] or run['id']}: the deck already laid ends in steps, and only whole courses"
        " or one course begun at the edge are gone on with. Set out the whole courses as one deck,"
        " and take up the course that was begun after them, or finish it first."
    )
    return Reason("laid.steps", say)


def _island(run: dict[str, Any]) -> Reason:
    say = (
        f"{run['title'] or run['id']}: a deck already laid reaches neither the near nor the far"
        " edge. Boards on either side of it could not be pushed home. Take it up, or read again"
        " where it lies."
    )
    return Reason("laid.island", say)


def _movement(
    inner: BaseGeometry,
    ground: Ground,
    pack: Pack,
    board_width: float,
    laid: Laid | None,
    choices: Choices,
) -> list[Polygon]:
    """Return the strips left open where the deck is longer than the published run."""
    _, y0, _, y1 = inner.bounds
    most, open_ = pack["deck.movement.run"], pack["deck.movement.gap"]
    strips = _across_joists(inner, ground, pack)
    edges = _course_edges(y0, y1, most, board_width, choices.start_wall, open_, laid)
    strips += [box(-_FAR, y, _FAR, y + open_) for y in edges]
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
        if all(part.bounds[2] - part.bounds[0] <= most for part in _polygons(whole)):
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
    ys = [-_FAR, *(y for _, y in joist.points), _FAR]
    line = [(joist.centre(y), y) for y in ys]
    left = [(x - open_ / 2, y) for x, y in line]
    right = [(x + open_ / 2, y) for x, y in reversed(line)]
    return Polygon([*left, *right])


def _without_slivers(deck: BaseGeometry, least: float) -> tuple[BaseGeometry, float]:
    """Return the deck without strips too narrow to board, and the area [mm²] left open."""
    half = least / 2
    opened = deck.buffer(-half, join_style="mitre", mitre_limit=20).buffer(
        half, join_style="mitre", mitre_limit=20
    )
    # Rounding of the mitres leaves crumbs that are no strips.
    strips = [p for p in _polygons(deck.difference(opened)) if p.area > _CRUMB]
    if not strips:
        return deck, 0.0
    kept = deck.difference(
        unary_union([strip.buffer(_SLACK, join_style="mitre") for strip in strips])
    )
    lost = sum(strip.area for strip in strips)
    return kept, lost if lost > half * least else 0.0


def _straightened(deck: Polygon, most: float) -> Polygon:
    """Return a deck whose near and far edges are straight where they nearly are, within ``most``.

    ``most`` is in mm. The edge is drawn in, so the gap to the wall only grows.
    """
    _, y0, _, y1 = deck.bounds

    def level(point: tuple[float, ...]) -> tuple[float, float]:
        x, y = point[0], point[1]
        if y - y0 <= most:
            return x, low
        return (x, high) if y1 - y <= most else (x, y)

    ys = [point[1] for point in deck.exterior.coords]
    low = max(y for y in ys if y - y0 <= most)
    high = min(y for y in ys if y1 - y <= most)
    straight = Polygon([level(p) for p in deck.exterior.coords], list(deck.interiors))
    return straight if straight.is_valid and straight.area > 0 else deck


def plain(deck: Polygon) -> Polygon:
    """Return a deck whose corners all differ, and turn by more than a hair."""
    fine = deck.simplify(_HAIR)
    deck = fine if isinstance(fine, Polygon) and fine.is_valid and fine.area > 0 else deck
    plain = Polygon(_corners(deck.exterior), [_corners(hole) for hole in deck.interiors])
    return plain if plain.is_valid and plain.area > 0 else deck


def _corners(ring: Any) -> list[tuple[float, float]]:
    """Return the corners of a ring, those left out that lie where the one before does."""
    out: list[tuple[float, float]] = []
    for point in list(ring.coords)[:-1]:
        if not out or math.dist(out[-1], point) >= _ONE:
            out.append((point[0], point[1]))
    while len(out) > 1 and math.dist(out[0], out[-1]) < _ONE:
        out.pop()
    return out


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    """Return the polygons of a shape, lines and points left out."""
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    parts = getattr(shape, "geoms", ())
    return [p for part in parts for p in _polygons(part)]
