"""Packers and counter-battens: is the deck level, and clear of the insulation?"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from shapely.geometry import Point

from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from baywalk.planning.check.scene import Json, Scene
    from baywalk.planning.check.verdicts import Verdicts


def check_raised(scene: Scene, out: Verdicts) -> None:
    """Check the packers by the levels read, and the battens by the depth of insulation."""
    _packers(scene, out)
    _battens(scene, out)


def _packers(scene: Scene, out: Verdicts) -> None:
    """Check that every joist that is too low is packed by what it is low, and no other."""
    rule = scene.pack["raise.packer"]
    out.looked("raise.packer")
    read = {
        (joist["index"], line): figure["value"]
        for joist in scene.ground.run["joists"]
        for line, figure in (joist["level"] or {}).items()
        if joist["at"].get(line, {}).get("point")
    }
    under = scene.area.buffer(1)
    # A level is read downwards from a level line: the smallest belongs to the highest joist.
    highest = min(read.values(), default=0.0)
    told = [p for p in scene.deck["raise"] if p["kind"] == "packer"]
    wanted = 0
    for (number, line), value in read.items():
        low = math.floor((value - highest) / rule["step"] + 1e-6) * rule["step"]
        point = scene.ground.joist_json(number)["at"][line]["point"]
        if low < rule["least"] or not under.contains(Point(point)):
            continue
        wanted += 1
        y = point[1]
        here = [p for p in told if p["joist"] == number and abs(p["y"] - y) <= 1]
        if out.must("raise.packer", here, f"J{number}", f"it is {low:g} low and not packed"):
            out.same("raise.packer", here[0]["thickness"], low, f"J{number}", "its packer")
    out.must("raise.packer", len(told) == wanted, "the packers", "one is not needed")


def need(scene: Scene) -> float:
    """Return how far insulation stands above the joists beside it [mm]; 0 where it does not."""
    most = 0.0
    for feature in scene.ground.run["features"]:
        depth = feature.get("depth")
        if feature["feature"] != "insulation" or not isinstance(depth, int | float):
            continue
        bay = feature.get("bay")
        beside = [
            joist["depth"]["value"]
            for joist in scene.ground.run["joists"]
            if joist["depth"] and (not isinstance(bay, int) or joist["index"] in (bay, bay + 1))
        ]
        if beside:
            most = max(most, depth + scene.pack["raise.clear"] - min(beside))
    return most


def _battens(scene: Scene, out: Verdicts) -> None:
    out.looked("raise.batten")
    high = need(scene)
    _stands(scene, out)
    told = [b for b in scene.deck["raise"] if b["kind"] == "batten"]
    if high <= EXACT:
        return
    _, y0, _, y1 = scene.area.bounds
    lines = {(number, 0): line for number, line in scene.ground.joists.items()} | scene.added
    for place, line in lines.items():
        over = line.strip(y0, y1).intersection(scene.area)
        if over.area < 1:
            continue
        own = [b for b in told if (b["joist"], b.get("added", 0)) == place]
        where = line.name
        if out.must("raise.batten", own, where, "insulation stands above it and no batten"):
            over_size = scene.pack["timber.tolerance.T1"]["upto100"][1]
            _batten(
                own, line.breadth - over_size, over.bounds[3] - over.bounds[1], high, where, out
            )


def _batten(
    own: list[Json], breadth: float, length: float, high: float, where: str, out: Verdicts
) -> None:
    for batten in own:
        out.at_least("raise.batten", batten["thickness"], high, where, "Its batten's height")
        text = "Its batten's breadth"
        out.at_least("raise.batten", batten["breadth"], breadth, where, text)
    total = sum(batten["length"] for batten in own)
    out.at_most("raise.batten", total, length + 1, where, "The length of its battens")


def _stands(scene: Scene, out: Verdicts) -> None:
    """Check that noggins and cleats under a raised deck are raised as the battens are."""
    # Boards lie on battens of one height, or they rock.
    heights = {b["thickness"] for b in scene.deck["raise"] if b["kind"] == "batten"}
    out.must("raise.batten", len(heights) < 2, "the battens", "they are not of one height")
    height = max(heights, default=0.0)
    for kind in ("noggins", "cleats"):
        for item in scene.deck[kind]:
            # Strutting that nothing lies on stays between the joists.
            if item.get("use") != "strutting" or item["serves"] != ["row"]:
                out.same("raise.batten", item.get("raised", 0), height, item["id"], "how raised")
