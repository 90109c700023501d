"""Noggin frames and cleats: is everything under a joint between joists, and under all of it?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from baywalk.planning.check.joints import carrier
from baywalk.planning.check.noggins import bay_of, centre
from baywalk.planning.check.openings import trimmed

if TYPE_CHECKING:
    from collections.abc import Callable

    from baywalk.planning.check.scene import Bay, Json, Scene
    from baywalk.planning.check.verdicts import Verdicts


def check_frames(scene: Scene, out: Verdicts) -> None:
    """Check every frame and every cleat."""
    used = {frame["id"] for frame in scene.deck["frames"]}
    for noggin in scene.deck["noggins"]:
        named = "frame" not in noggin or noggin["frame"] in used
        out.must("noggin.list", named, noggin["id"], "its frame is not in the plan")
    for frame in scene.deck["frames"]:
        _frame(scene, frame, out)
    by_joint: dict[str, list[Json]] = {}
    for cleat in scene.deck["cleats"]:
        by_joint.setdefault(cleat["joint"], []).append(cleat)
    for name, parts in by_joint.items():
        _cleat(scene, name, parts, out)


def _frame(scene: Scene, frame: Json, out: Verdicts) -> None:
    """Check the three pieces under a joint between joists."""
    where = frame["id"]
    joint = next((j for j in scene.deck["joints"] if j["id"] == frame["joint"]), None)
    parts = [scene.noggins.get(name) for name in frame["noggins"]]
    if (
        not out.must("noggin.frame", joint and all(parts), where, "a part of it is missing")
        or joint is None
    ):
        return
    # The format gives the two across first, the near one leading.
    near, far, *along = (p for p in parts if p)
    own = joint["support"].get("frame") == where
    out.must("noggin.frame", own, where, "its joint is carried by something else")
    out.same("noggin.frame", frame["x"], joint["x"], where, "where its joint lies")
    out.must("noggin.frame", all(p["bay"] == frame["bay"] for p in (near, far)), where, "its bay")
    for noggin, y in ((near, joint["y0"]), (far, joint["y1"])):
        _under(scene, noggin, joint["x"], y, where, out)
    under = all(a.get("along") and "x" in a for a in along)
    if out.must("noggin.frame", under, where, "no piece lies along under the joint"):
        tops = [(a["y"] - a["length"] / 2, a["y"] + a["length"] / 2) for a in along]
        middle_of = (joint["y0"] + joint["y1"]) / 2
        here = scene.bay_at(joint["x"], middle_of)
        _reaches(scene, joint, tops, lambda bay: bay == here, out)
    _clear_of_joists(scene, joint, where, out)


def _under(scene: Scene, noggin: Json, x: float, y: float, where: str, out: Verdicts) -> None:
    """Check that a noggin's top lies under one end of a joint."""
    bay = bay_of(scene, noggin)
    if (
        not out.must(
            "noggin.frame", bay and not noggin.get("along"), where, "a noggin is not across"
        )
        or bay is None
    ):
        return
    off = abs(centre(noggin, x) - y)
    half = noggin["section"]["breadth"] / 2
    out.at_most("noggin.frame", off, half, where, f"From {noggin['id']} to the joint's end")
    x0, x1 = bay.clear(y)
    out.must("noggin.frame", x0 < x < x1, where, f"the joint is not in {noggin['id']}'s bay")


def _clear_of_joists(scene: Scene, joint: Json, where: str, out: Verdicts) -> None:
    """Check that a frame is not where a cleat belongs."""
    limit = scene.pack["joint.bearing"]
    # So near to a joist the piece along has no room, and a cleat is simpler.
    for line in scene.joists:
        for y in line.kinks(joint["y0"], joint["y1"]):
            off = max(line.left(y) - joint["x"], joint["x"] - line.right(y))
            out.at_least("noggin.frame", off, limit, where, f"From {line.name} to the joint")


def _cleat(scene: Scene, name: str, parts: list[Json], out: Verdicts) -> None:
    """Check the cleat under a joint, in one part or in several that something parts."""
    where, side = parts[0]["id"], parts[0]["side"]
    joint = next((j for j in scene.deck["joints"] if j["id"] == name), None)
    line = carrier(scene, parts[0])
    own = joint and joint["support"].get("cleat") == where
    same = all(carrier(scene, part) == line and part["side"] == side for part in parts)
    if (
        not out.must("joint.cleat", own and line and same, where, "its joint or joist is another")
        or joint is None
    ):
        return
    held = [(p["y"] - p["length"] / 2, p["y"] + p["length"] / 2) for p in parts]
    # Beside the cleat, the noggin at the deck's edge butts against the joist in its place.
    left = side == "left"
    _reaches(scene, joint, held, lambda bay: (bay.b if left else bay.a) == line, out)
    least = scene.pack["noggin.breadth"]
    for part in parts:
        breadth = part["section"]["breadth"]
        out.at_least("noggin.breadth", breadth, least, part["id"], "Its breadth")


def _reaches(
    scene: Scene,
    joint: Json,
    held: list[tuple[float, float]],
    side: Callable[[Bay], bool],
    out: Verdicts,
) -> None:
    """Check that what is given, with the noggins across beside it, lies under the whole joint.

    Args:
        scene: the deck.
        joint: the end joint.
        held: from where to where something lies under it already [mm].
        side: says of a bay whether noggins in it help.
        out: takes what is found.
    """
    for noggin in scene.deck["noggins"]:
        bay = None if noggin.get("along") else bay_of(scene, noggin)
        if bay and side(bay):
            y, half = centre(noggin, joint["x"]), noggin["section"]["breadth"] / 2
            held.append((y - half, y + half))
    # A trimmer that butts against the joist takes the cleat's place as such a noggin does.
    near = scene.pack["joint.bearing"]
    held += [band for low, high, band in trimmed(scene) if low - near <= joint["x"] <= high + near]
    reached, bare = joint["y0"], 0.0
    for low, high in sorted(held):
        if reached < joint["y1"] and high > reached:
            bare = max(bare, min(low, joint["y1"]) - reached)
            reached = high
    bare = max(bare, joint["y1"] - reached)
    # The room between two timbers side by side takes no third one.
    limit = scene.pack["noggin.cut_least"]
    out.at_most("noggin.cut_least", bare, limit, joint["id"], "The joint's longest bare stretch")
