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
    for a, b in corners(scene.area):
        if abs(b[0] - a[0]) >= abs(b[1] - a[1]):
            _across(scene, a, b, out)
        else:
            _along(scene, a, b, out)


def _goes_on(scene: Scene, y: float) -> bool:
    """Say whether an edge is where the deck mates with one already laid."""
    goes_on = scene.deck["deck"]["continues"]
    return bool(goes_on) and abs(goes_on["y"] - y) <= 2 * EXACT


def _across(scene: Scene, a: Point, b: Point, out: Verdicts) -> None:
    """Check an edge across the joists, bay by bay."""
    # Tongue and groove carry the edge where the new deck mates with the old one.
    if _goes_on(scene, a[1]) and _goes_on(scene, b[1]):
        return
    inward = 1 if b[0] > a[0] else -1
    (x0, y0), (x1, y1) = sorted((a, b))
    slope = (y1 - y0) / (x1 - x0) if x1 > x0 else 0.0
    for bay in scene.bays:
        left, right = bay.clear(y0)
        low, high = max(x0, left), min(x1, right)
        # A gap that takes no noggin takes no foot either.
        if right - left < scene.pack["noggin.cut_least"] or high - low < 1:
            continue
        if _small_overhang(scene, bay, low, high, (y0 + y1) / 2):
            continue
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
        if not opening["joists_cut"]:
            continue
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
        if opening["joists_cut"]:
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
        return not any(b.left(y) - x <= limit and b.right(y) > x for b in beside)
    return not any(x - b.right(y) <= limit and b.left(y) < x for b in beside)
