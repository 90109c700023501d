"""The board's thickness by the widest centres, and what another thickness would cost."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

from shapely.geometry import Polygon

from baywalk.planning.check.area import thin
from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.check.ground import Line
    from baywalk.planning.check.scene import Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE, FIGURES = "deck.thickness", "thickness.figures"
NEAR = 0.3
"""How far rounded centres may be from those worked out here [mm]."""


def check_thickness(scene: Scene, out: Verdicts) -> None:
    """Check the board's thickness by the largest centres that the deck really lies on."""
    widest, where = _widest(scene, scene.joists)
    # What was found decides what is called for; what is built decides what may be laid.
    as_found, _ = _widest(scene, list(scene.ground.joists.values()))
    thickness, said = scene.board["thickness"], scene.deck["thickness"]
    table = scene.pack[RULE]
    allowed = [limit for limit, least in table if least <= thickness]
    out.at_most(RULE, widest, max(allowed, default=0), where, "Its centres")
    out.same(FIGURES, said["centres"], widest, where, "the largest centres", NEAR)
    out.same(FIGURES, said["as_found"], as_found, where, "the largest centres as found", NEAR)
    out.same(FIGURES, said["chosen"], thickness, where, "the thickness chosen")
    needed = next((t for limit, t in table if as_found <= limit + EXACT), table[-1][1])
    out.same(FIGURES, said["needed"], needed, where, "the thickness needed as found")
    out.must(FIGURES, said["rule"] == RULE, where, "another rule is named")
    _place(scene, out)
    _others(scene, out)


def _widest(scene: Scene, joists: Sequence[Line]) -> tuple[float, str]:
    """Return the largest centres under the deck and whose they are [mm]."""
    pairs = [(centres(scene, a, b), f"{a.name}–{b.name}") for a, b in pairwise(joists)]
    return max(pairs, default=(0.0, "the deck"))


def centres(scene: Scene, a: Line, b: Line) -> float:
    """Return the largest centres of two joists where deck lies between them [mm]."""
    _, y0, _, y1 = scene.area.bounds
    ys = sorted({*a.kinks(y0, y1), *b.kinks(y0, y1)})
    sides = [(a.x(y), y) for y in ys] + [(b.x(y), y) for y in reversed(ys)]
    over = scene.area.intersection(Polygon(sides))
    # Joists that no deck lies on between them do not count.
    if thin(over, 1.0):
        return 0.0
    _, low, _, high = over.bounds
    return max(b.x(y) - a.x(y) for y in [*(y for y in ys if low < y < high), low, high])


def _place(scene: Scene, out: Verdicts) -> None:
    """Check that the largest centres are where the plan says."""
    said = scene.deck["thickness"]
    y = said["y"]
    # Where the deck lies on one joist, or between a joist and a wall, there are no centres.
    if said["centres"] == 0:
        return
    found = [
        bay.b.x(y) - bay.a.x(y)
        for bay in scene.bays
        if bay.bay == said["bay"] and bay.a.breadth and bay.b.breadth
    ]
    _, y0, _, y1 = scene.area.bounds
    here = any(abs(apart - said["centres"]) <= NEAR for apart in found)
    out.must(FIGURES, here and y0 - 1 <= y <= y1 + 1, f"bay {said['bay']}", "they are elsewhere")


def _others(scene: Scene, out: Verdicts) -> None:
    """Check what another thickness is said to need and to cost."""
    table = {thickness: limit for limit, thickness in scene.pack[RULE]}
    chosen = scene.board["thickness"]
    told = [other["thickness"] for other in scene.deck["thickness"]["others"]]
    own = sorted(t for t in table if t != chosen)
    out.must(FIGURES, sorted(told) == own, "the other boards", f"they are {own}")
    apart = [centres(scene, a, b) for a, b in pairwise(scene.ground.joists.values())]
    for other in scene.deck["thickness"]["others"]:
        if other["thickness"] in table:
            limit = table[other["thickness"]] + EXACT
            added = sum(max(math.ceil(c / limit) - 1, 0) for c in apart)
            where = f"{other['thickness']:g} mm boards"
            # Between bowed joists the even share of a straight one may still be too wide.
            out.at_least(FIGURES, other["added"], added, where, "The number of joists to add")
            most = added + sum(c > limit - 2 * EXACT for c in apart)
            out.at_most(FIGURES, other["added"], most, where, "The number of joists to add")
            cost, joist = _cost(scene, other["thickness"], other["added"])
            # An added joist may end before the deck does, so its length is known only so far; and
            # the strip at an edge that is left open is taken off after the boards are weighed.
            within = 0.01 * cost + added * joist / 2
            out.same(FIGURES, other["cost"], cost, where, "their cost", within)


def _cost(scene: Scene, thickness: float, added: int) -> tuple[float, float]:
    """Return what boards of a thickness and their joists cost, and one joist's timber alone."""
    pack, prices = scene.pack, scene.plan["choices"]["prices"]
    per_area = pack["price.board"][f"{thickness:g}"]
    if "board" in prices:
        per_area = prices["board"] / (scene.board["length"] * scene.board["width"] / 1e6)
    minute = prices.get("minute", pack["price.minute"])
    minutes = prices.get("minutes.joist", pack["price.minutes.joist"])
    metre = prices.get("timber", pack["price.timber"])
    # A joist goes on under boards that are laid, to the limit of the loft.
    whole = scene.ground.outline if scene.deck["deck"]["continues"] else scene.area
    _, y0, _, y1 = whole.bounds
    timber = metre * (y1 - y0) / 1000
    boards = scene.area.area / 1e6 * per_area
    return float(boards + added * (minutes * minute + timber)), float(timber)
