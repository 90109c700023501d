"""Where joists lap over a beam or a wall: nothing stands there that needs to know which ends where.

Between the tape lines on both sides of a lap either timber may be there, or both. How much bearing
is sure there is asked where the bearing of joints is; here, that no timber is fitted there.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from baywalk.planning.check.joints import carrier
from baywalk.planning.check.noggins import bay_of

if TYPE_CHECKING:
    from baywalk.planning.check.scene import Bay, Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE = "noggin.lap"


def check_laps(scene: Scene, out: Verdicts) -> None:
    """Check that no noggin, cleat or trimmer ends on a joist, or stands in it, where it laps."""
    if not any(line.laps for line in scene.joists):
        return
    out.looked(RULE)
    for noggin in scene.deck["noggins"]:
        if noggin.get("along"):
            _along(scene, noggin, out)
        elif bay := bay_of(scene, noggin):
            _across(noggin, bay, out)
    for cleat in scene.deck["cleats"]:
        line = carrier(scene, cleat)
        low, high = (cleat["y"] + d * cleat["length"] / 2 for d in (-1, 1))
        free = line is not None and not line.lapping(low, high)
        out.must(RULE, free, cleat["id"], "its joist laps beside it")
    cut = [opening["feature"] for opening in scene.deck["openings"] if opening["joists_cut"]]
    out.must(RULE, not cut, "the deck", "joists that lap are cut for an opening")


def _across(noggin: Json, bay: Bay, out: Verdicts) -> None:
    half = noggin["section"]["breadth"] / 2 * math.hypot(1, noggin["slope"])
    for line, (_, y) in zip((bay.a, bay.b), noggin["ends"], strict=True):
        free = not line.lapping(y - half, y + half)
        out.must(RULE, free, noggin["id"], f"{line.name} laps where it ends")


def _along(scene: Scene, noggin: Json, out: Verdicts) -> None:
    """Check a piece along the joists, which may pass a lap, but clear of both timbers there."""
    low, high = (noggin["y"] + d * noggin["length"] / 2 for d in (-1, 1))
    half = noggin["section"]["breadth"] / 2
    for line in scene.joists:
        if line.lapping(low, high):
            clear = all(
                noggin["x"] + half <= line.left(y) or line.right(y) <= noggin["x"] - half
                for y in line.kinks(low, high)
            )
            out.must(RULE, clear, noggin["id"], f"it stands where {line.name} laps")
