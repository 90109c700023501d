"""Noggins: is each where it must be, and does it fit its own bay?"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from baywalk.planning.check.ground import Line
from baywalk.planning.check.scene import Bay
from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from baywalk.planning.check.scene import Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

WHOLE = 1.0
"""Noggins are cut to the whole millimetre, never longer than fits [mm]."""

SURE = 0.03
"""How far an uncertainty may be from what it can be [mm]: figures are rounded."""


def check_noggins(scene: Scene, out: Verdicts) -> None:
    """Check every noggin's place, length and section, and what it is said to carry."""
    ids = [n["id"] for n in scene.deck["noggins"]]
    out.must("noggin.list", len(ids) == len(set(ids)), "the noggins", "two have one id")
    out.looked("noggin.fit")
    for noggin in scene.deck["noggins"]:
        own = noggin.get("run", scene.deck["run"]) == scene.deck["run"]
        out.must("noggin.list", own, noggin["id"], "it is in another run")
        if noggin.get("along"):
            _along(scene, noggin, out)
        else:
            _across(scene, noggin, out)
    _serves(scene, out)


def _serves(scene: Scene, out: Verdicts) -> None:
    """Check that what a noggin is said to carry is there, and that a frame's are said to."""
    known = {"edge", "row", *scene.pieces, *(joint["id"] for joint in scene.deck["joints"])}
    known |= {frame["id"] for frame in scene.deck["frames"]}
    for noggin in scene.deck["noggins"]:
        out.must("noggin.list", noggin["serves"], noggin["id"], "it carries nothing")
        for name in noggin["serves"]:
            out.must("noggin.list", name in known, noggin["id"], f"{name} is not in the plan")
    for frame in scene.deck["frames"]:
        for name in frame["noggins"]:
            held = scene.noggins.get(name, {}).get("serves", ())
            right = frame["joint"] in held or frame["id"] in held
            out.must("noggin.list", right, name, f"it is not said to carry {frame['joint']}")


def bay_of(scene: Scene, noggin: Json) -> Bay | None:
    """Return the bay that a noggin across stands in, by the names of both its sides."""
    for bay in scene.bays:
        if bay.bay != noggin["bay"]:
            continue
        sides = [
            own if told == own.name else _timber(scene, told)
            for own, told in zip((bay.a, bay.b), noggin["between"], strict=True)
        ]
        left, right = sides
        if left is bay.a and right is bay.b:
            return bay
        # A timber along the bay may stand in for a joist, if it is there to be met.
        if left and right and (left is bay.a or right is bay.b):
            doubled = [
                d * (own is told)
                for d, own, told in zip(bay.doubled, (bay.a, bay.b), sides, strict=True)
            ]
            return Bay(bay.bay, left, right, (doubled[0], doubled[1]))
    return None


def _timber(scene: Scene, name: str) -> Line | None:
    """Return a noggin along the joists as a line, by its id."""
    noggin = scene.noggins.get(name, {})
    if not noggin.get("along") or "x" not in noggin:
        return None
    x, y, half = noggin["x"], noggin["y"], noggin["length"] / 2
    return Line(name, ((x, y - half), (x, y + half)), noggin["section"]["breadth"])


def middle(noggin: Json) -> tuple[float, float]:
    """Return the middle of a noggin's centre line."""
    (x0, y0), (x1, y1) = noggin["ends"]
    return ((x0 + x1) / 2, (y0 + y1) / 2)


def faces(noggin: Json, bay: Bay) -> tuple[float, float]:
    """Return the clear gap along a noggin's near and far face [mm]."""
    x, y = middle(noggin)
    half = noggin["section"]["breadth"] / 2 * math.hypot(1, noggin["slope"])
    near, far = (bay.gap((x, y + d), noggin["slope"]) for d in (-half, half))
    return near, far


def centre(noggin: Json, x: float) -> float:
    """Return where the centre line of a noggin across is at ``x`` [mm]."""
    mx, my = middle(noggin)
    return float(my + noggin["slope"] * (x - mx))


def _across(scene: Scene, noggin: Json, out: Verdicts) -> None:
    where = noggin["id"]
    bay = bay_of(scene, noggin)
    if (
        not out.must("noggin.list", bay, where, "its bay is not between what it names")
        or bay is None
    ):
        return
    # Cut square, it goes in only where the bay is at its narrower.
    near, far = faces(noggin, bay)
    fit = scene.pack["noggin.fit"]
    _fits(noggin, min(near, far) - fit, out)
    # Just at the limit either answer is right.
    taper = far - near
    if abs(taper) > scene.pack["noggin.out_of_square"] + EXACT:
        out.same("noggin.out_of_square", noggin["out_of_square"], taper, where, "its taper", 0.6)
    elif abs(taper) < scene.pack["noggin.out_of_square"] - EXACT:
        out.same("noggin.out_of_square", noggin["out_of_square"], 0.0, where, "its taper")
    out.same("noggin.list", noggin["y"], middle(noggin)[1], where, "its centre line", 0.2)
    (x0, y0), (x1, y1) = noggin["ends"]
    if not out.must("noggin.list", x1 > x0, where, "its ends are the wrong way round"):
        return
    out.same("noggin.list", noggin["slope"], (y1 - y0) / (x1 - x0), where, "its slope", 0.002)
    inside = bay.a.right(y0) - EXACT <= x0 < x1 <= bay.b.left(y1) + EXACT
    for name in noggin["between"]:
        beside = scene.noggins.get(name)
        if beside:
            reach = (beside["length"] + noggin["section"]["breadth"]) / 2
            inside = inside and abs(beside["y"] - noggin["y"]) <= reach
    out.must("noggin.list", inside, where, "its ends are not within its bay")
    _sureness(scene, noggin, out)
    _section(scene, noggin, bay, out)


def _fits(noggin: Json, length: float, out: Verdicts) -> None:
    """Hold a length to cut to the one worked out here, or to the whole millimetre below it."""
    where = noggin["id"]
    out.at_most("noggin.fit", noggin["length"], length, where, "Its length")
    out.at_least("noggin.fit", noggin["length"], length - WHOLE, where, "Its length")


def _sureness(scene: Scene, noggin: Json, out: Verdicts) -> None:
    """Hold a noggin's uncertainty between that of tape lines apart and of tape lines as one."""
    places = scene.ground.run["bays"][noggin["bay"]]["at"]
    lines = scene.ground.run["walls"]["start"]["at"]
    known = sorted(
        (lines[name]["point"][1], place["sd"])
        for name, place in places.items()
        if place["sd"] is not None and lines.get(name, {}).get("point")
    )
    if len(known) < 2:
        return
    y = noggin["y"]
    index = next((i for i in range(1, len(known)) if y <= known[i][0]), len(known) - 1)
    (y0, a), (y1, b) = known[index - 1], known[index]
    far = (y - y0) / (y1 - y0)
    parts = (abs(1 - far) * a, abs(far) * b)
    # An added joist stands where it is measured off one side, so its bays can only be surer.
    split = any(bay == noggin["bay"] for bay, _ in scene.added)
    low = math.hypot(*parts) * (0.5 if split else 1.0) - SURE
    out.at_least("noggin.sd", noggin["sd"], low, noggin["id"], "Its uncertainty")
    out.at_most("noggin.sd", noggin["sd"], sum(parts) + SURE, noggin["id"], "Its uncertainty")


def _section(scene: Scene, noggin: Json, bay: Bay, out: Verdicts) -> None:
    depths = [
        j["depth"]["value"]
        for j in scene.ground.run["joists"]
        if j["depth"] and f"J{j['index']}" in bay.names
    ]
    own = noggin["section"]
    if depths:
        text = "Its depth, beside its joists',"
        out.at_most("noggin.depth", own["depth"], max(depths), noggin["id"], text)
    # Strutting steadies joists and carries no edge, so it may be thinner.
    least = scene.pack["strutting.breadth" if noggin["use"] == "strutting" else "noggin.breadth"]
    out.at_least("noggin.breadth", own["breadth"], least, noggin["id"], "Its breadth")
    if noggin["use"] == "strutting" and depths:
        limit = scene.pack["strutting.depth"] * min(depths)
        out.at_least("strutting.depth", own["depth"], limit, noggin["id"], "Its depth")


def _along(scene: Scene, noggin: Json, out: Verdicts) -> None:
    """Check a piece along the joists: it fits between the two things across that it names."""
    where = noggin["id"]
    pair = [across(scene, name) for name in noggin["between"]]
    held = all(p and not p.get("along") for p in pair) and "x" in noggin
    if not out.must("noggin.list", held, where, "what holds it is missing"):
        return
    first, second = (n for n in pair if n)
    half = noggin["section"]["breadth"] / 2
    gaps = [_between(first, second, noggin["x"] + d) for d in (-half, half)]
    _fits(noggin, min(gaps) - scene.pack["noggin.fit"], out)
    own = (centre(first, noggin["x"]) + centre(second, noggin["x"])) / 2
    own += (_thick(first) - _thick(second)) / 2
    out.same("noggin.list", noggin["y"], own, where, "the middle of its length", 0.6)
    for name in ("slope", "sd", "out_of_square"):
        out.same("noggin.list", noggin[name], 0.0, where, f"its {name}", SURE)
    for point in noggin["ends"]:
        out.same("noggin.list", point[0], noggin["x"], where, "where it ends", 0.2)
    apart = abs(noggin["ends"][1][1] - noggin["ends"][0][1])
    out.same("noggin.list", apart, noggin["length"], where, "from end to end", 6)
    bays = [bay for bay in scene.bays if bay.bay == noggin["bay"]]
    inside = any(
        low - EXACT <= noggin["x"] - half and noggin["x"] + half <= high + EXACT
        for bay in bays
        for low, high in (_open(scene, bay, noggin["y"]),)
    )
    out.must("noggin.list", inside, where, "it does not fit beside the joist")


def _open(scene: Scene, bay: Bay, y: float) -> tuple[float, float]:
    """Return the room in a bay at a place, that of joists cut away there as well [mm]."""
    left, right = bay.clear(y)
    if scene.cut_at(bay.a, y):
        left = bay.a.left(y)
    if scene.cut_at(bay.b, y):
        right = bay.b.right(y)
    return left, right


def across(scene: Scene, name: str) -> Json | None:
    """Return a noggin or a trimmer by its id, the trimmer as a noggin of its whole breadth."""
    if name in scene.noggins:
        return scene.noggins[name]
    for opening in scene.deck["openings"]:
        for trimmer in opening["trimmers"]:
            if trimmer["id"] == name:
                x, y = opening["polygon"][0][0], trimmer["y"]
                wide = trimmer["section"]["breadth"] * trimmer["plies"]
                section = {"breadth": wide, "depth": trimmer["section"]["depth"]}
                return {"ends": [[x, y], [x + 1, y]], "slope": 0.0, "section": section}
    return None


def _thick(noggin: Json) -> float:
    """Return half the room a thing across takes along the joists [mm]."""
    return float(noggin["section"]["breadth"] / 2 * math.hypot(1, noggin["slope"]))


def _between(near: Json, far: Json, x: float) -> float:
    """Return the clear gap between two things across, along the joists at ``x`` [mm]."""
    return centre(far, x) - centre(near, x) - _thick(near) - _thick(far)
