"""Timbers: do no two of them stand in one place?"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from shapely.geometry import box

from baywalk.planning.check.joints import carrier
from baywalk.planning.check.openings import TOUCH, beside, body, trimmed_bay, trimmed_between

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.planning.check.scene import Area, Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE = "noggin.list"


def check_clash(scene: Scene, out: Verdicts) -> None:
    """Check that noggins, cleats and trimmers keep out of each other's way."""
    by_bay: dict[int, list[tuple[str, Area]]] = {}
    for noggin in scene.deck["noggins"]:
        by_bay.setdefault(noggin["bay"], []).append((noggin["id"], body(scene, noggin)))
    for cleat in scene.deck["cleats"]:
        line = carrier(scene, cleat)
        if line:
            bay = cleat["joist"] - ("added" not in cleat and cleat["side"] == "left")
            by_bay.setdefault(bay, []).append((cleat["id"], beside(scene, cleat)))
    for opening in scene.deck["openings"]:
        for bay, trimmer in _across(scene, opening):
            by_bay.setdefault(bay, []).append(trimmer)
    for things in by_bay.values():
        for (name, one), (other, two) in combinations(things, 2):
            # Touching is what timbers side by side do.
            over = one.intersection(two).buffer(-TOUCH / 2, join_style="mitre")
            out.must(RULE, over.is_empty, f"{name} and {other}", "they stand in one place")


def _across(scene: Scene, opening: Json) -> Iterator[tuple[int, tuple[str, Area]]]:
    """Yield the trimmers of an opening and the room each takes, for every bay that it crosses."""
    bay = trimmed_bay(scene, opening)
    for trimmer in opening["trimmers"]:
        half = trimmer["section"]["breadth"] * trimmer["plies"] / 2
        left, right = bay.clear(trimmer["y"])
        room = box(left, trimmer["y"] - half, right, trimmer["y"] + half)
        for number in range(*trimmed_between(scene, opening)):
            yield number, (trimmer["id"], room)
