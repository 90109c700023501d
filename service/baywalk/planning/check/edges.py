"""The deck's edges: every one on a joist, a noggin or a trimmer."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

from baywalk.planning.check.area import corners
from baywalk.planning.check.ground import Line
from baywalk.planning.check.noggins import bay_of, centre
from baywalk.planning.check.openings import trimmed_bay
from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from baywalk.planning.check.ground import Point
    from baywalk.planning.check.scene import Bay, Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE = "noggin.perimeter"
STEP = 5.0
"""How finely an edge that runs with the joists is looked along [mm]."""
MOST_LOOKS = 10_000
"""At how many places at most, whatever length a plan gives an edge."""


def check_edges(scene: Scene, out: Verdicts) -> None:
    """Check the support of every side of the deck, holes among them."""
    out.looked(RULE)
    sides = corners(scene.area)
    for a, b in sides:
        if not _is_across(a, b):
            _along(scene, a, b, out)
    for stretch in _stretches(sides):
        _across(scene, stretch, out)


Side = tuple["Point", "Point"]


def _is_across(a: Point, b: Point) -> bool:
    return abs(b[0] - a[0]) >= abs(b[1] - a[1])


def _stretches(sides: list[Side]) -> list[list[Side]]:
    """Return the sides across the joists, those together that go on from one another one way."""
    out: list[list[Side]] = []
    for a, b in sides:
        if not _is_across(a, b):
            continue
        before = next((s for s in out if s[-1][1] == a and _one_way(s[-1], (a, b))), None)
        after = next((s for s in out if s[0][0] == b and _one_way(s[0], (a, b))), None)
        if before is not None:
            before.append((a, b))
            if after is not None and after is not before:
                before += after
                out.remove(after)
        elif after is not None:
            after.insert(0, (a, b))
        else:
            out.append([(a, b)])
    return out


def _one_way(one: Side, other: Side) -> bool:
    return (one[1][0] > one[0][0]) == (other[1][0] > other[0][0])


def _goes_on(scene: Scene, y: float) -> bool:
    """Say whether an edge is where the deck mates with one already laid."""
    goes_on = scene.deck["deck"]["continues"]
    return bool(goes_on) and abs(goes_on["y"] - y) <= 2 * EXACT


def _across(scene: Scene, stretch: list[Side], out: Verdicts) -> None:
    """Check a stretch of edge across the joists, bay by bay."""
    # Tongue and groove carry the edge where the new deck mates with the old one.
    sides = [s for s in stretch if not all(_goes_on(scene, y) for _, y in s)]
    for bay in scene.bays:
        parts = [(side, *_within(bay, side)) for side in sides]
        parts = [part for part in parts if part[2] > part[1]]
        # A gap that takes no noggin takes no foot either, and so short an edge the board carries.
        least = scene.pack["noggin.cut_least"] + EXACT
        if sum(high - low for _, low, high in parts) < least:
            continue
        for side, low, high in parts:
            _held(scene, bay, side, (low, high), out)


def _within(bay: Bay, side: Side) -> tuple[float, float]:
    """Return from where to where a side lies in a bay [mm]; turned round where it does not."""
    (x0, y0), (x1, _) = sorted(side)
    left, right = bay.clear(y0)
    return max(x0, left), min(x1, right)


def _held(scene: Scene, bay: Bay, side: Side, reach: tuple[float, float], out: Verdicts) -> None:
    """Check one side of the deck within a bay."""
    low, high = reach
    inward = 1 if side[1][0] > side[0][0] else -1
    (x0, y0), (x1, y1) = sorted(side)
    slope = (y1 - y0) / (x1 - x0) if x1 > x0 else 0.0
    left, right = bay.clear(y0)
    if right - left < scene.pack["noggin.cut_least"] or high - low < 1:
        return
    if _small_overhang(scene, bay, low, high, (y0 + y1) / 2):
        return
    ends = [(x, y0 + slope * (x - x0)) for x in (low, high)]
    held = any(_carries(scene, bay, n, ends, inward) for n in scene.deck["noggins"])
    held = held or _trimmed(scene, ends, inward)
    where = f"{'–'.join(bay.names)} at y {ends[0][1]:.0f}"
    out.must(RULE, held, where, "no noggin lies under the deck's edge")


def _small_overhang(scene: Scene, bay: Bay, low: float, high: float, y: float) -> bool:
    """Say whether the deck stands so little beyond a joist that the board carries it."""
    limit = scene.pack["noggin.edge.overhang"] + EXACT
    beside_a = bay.a.breadth > 0 and high - bay.a.right(y) <= limit
    beside_b = bay.b.breadth > 0 and bay.b.left(y) - low <= limit
    ends_here = high < bay.b.left(y) - EXACT or low > bay.a.right(y) + EXACT
    return ends_here and (beside_a or beside_b)


def _carries(scene: Scene, bay: Bay, noggin: Json, ends: list[Point], inward: int) -> bool:
    """Say whether a noggin's top bears the edge between two places, far enough inwards."""
    if noggin.get("along") or bay_of(scene, noggin) != bay:
        return False
    # Across a noggin that lies askew it is a little further from edge to edge.
    half = noggin["section"]["breadth"] / 2 * math.hypot(1, noggin["slope"])
    return all(_bears(centre(noggin, x), half, y, inward, scene) for x, y in ends)


def _bears(middle: float, half: float, y: float, inward: int, scene: Scene) -> bool:
    inside = (middle - y) * inward + half
    beyond = (y - middle) * inward + half
    return inside >= scene.pack["noggin.edge.bearing"] - EXACT and beyond >= -EXACT


def _trimmed(scene: Scene, ends: list[Point], inward: int) -> bool:
    """Say whether a trimmer of an opening bears the edge."""
    for opening in scene.deck["openings"]:
        bay = trimmed_bay(scene, opening)
        low, high = bay.clear(ends[0][1])
        if ends[0][0] < low - 2 * EXACT or ends[1][0] > high + 2 * EXACT:
            continue
        for trimmer in opening["trimmers"]:
            half = trimmer["section"]["breadth"] * trimmer["plies"] / 2
            if all(_bears(trimmer["y"], half, y, inward, scene) for _, y in ends):
                return True
    return False


def _along(scene: Scene, a: Point, b: Point, out: Verdicts) -> None:
    """Check an edge that runs with the joists: by a joist, on a timber, or noggins along it."""
    inward = -1 if b[1] > a[1] else 1
    (x0, y0), (x1, y1) = sorted((a, b), key=lambda p: p[1])
    # How far a joist is away changes along the edge, for both may lean.
    spots = _spots(y0, y1)
    edge = Line("edge", ((x0, y0), (x1, y1)))
    beside = _beside(scene, edge, y0, y1)
    far = [y for y in spots if _overhang(scene, beside, edge.x(y), y, inward)]
    if not far or far[-1] - far[0] < STEP:
        return
    # The rule counts from where the overhang begins: before that the joist is near enough.
    held = [far[0]]
    for noggin in scene.deck["noggins"]:
        if noggin.get("along"):
            held += _lengthwise(scene, noggin, edge, inward)
        elif (bay := bay_of(scene, noggin)) and far[0] <= noggin["y"] <= far[-1]:
            left, right = bay.clear(noggin["y"])
            under = left - EXACT <= edge.x(noggin["y"]) <= right + EXACT
            held += [noggin["y"]] if under else []
    held += _trimmers(scene, edge)
    held = [y for y in held if far[0] <= y <= far[-1]]
    for below, above in pairwise([*sorted(held), far[-1]]):
        where = f"the edge at x {x0:.0f} from y {below:.0f}"
        text = "The distance between noggins along it"
        limit = scene.pack["noggin.edge.apart"]
        out.at_most("noggin.edge.apart", above - below, limit, where, text)


def _trimmers(scene: Scene, edge: Line) -> list[float]:
    """Return where trimmers of an opening reach under an edge that runs with the joists."""
    out = []
    for opening in scene.deck["openings"]:
        bay = trimmed_bay(scene, opening)
        for trimmer in opening["trimmers"]:
            left, right = bay.clear(trimmer["y"])
            out += [trimmer["y"]] if left <= edge.x(trimmer["y"]) <= right else []
    return out


def _spots(low: float, high: float) -> list[float]:
    """Return the places [mm] at which a length from ``low`` to ``high`` is looked at."""
    count = int(min(max((high - low) / STEP, 1), MOST_LOOKS))
    return [low + (high - low) * i / count for i in range(count + 1)]


def _lengthwise(scene: Scene, noggin: Json, edge: Line, inward: int) -> list[float]:
    """Return the places at which a noggin along the joists bears an edge above it."""
    half = noggin["section"]["breadth"] / 2
    low, high = (noggin["y"] + d * noggin["length"] / 2 for d in (-1, 1))
    return [y for y in _spots(low, high) if _bears(noggin["x"], half, edge.x(y), inward, scene)]


def _beside(scene: Scene, edge: Line, y0: float, y1: float) -> list[Line]:
    """Return what runs along the joists near enough to an edge to matter to it."""
    limit = 2 * scene.pack["noggin.edge.overhang"]
    return [
        line
        for line in scene.bearers
        if any(abs(line.x(y) - edge.x(y)) < limit + line.breadth for y in line.kinks(y0, y1))
    ]


def _overhang(scene: Scene, beside: list[Line], x: float, y: float, inward: int) -> bool:
    """Say whether the deck's edge at a place stands too far beyond the joist inside it."""
    limit = scene.pack["noggin.edge.overhang"] + EXACT
    beside = [line for line in beside if not scene.cut_at(line, y)]
    if inward == 1:
        return not any(b.sure(y)[0] - x <= limit and b.right(y) > x for b in beside)
    return not any(x - b.sure(y)[1] <= limit and b.left(y) < x for b in beside)
