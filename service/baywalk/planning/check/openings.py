"""Openings: are the right joists cut and trimmed, and do the timbers fit?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely.geometry import LineString, Polygon, box

from baywalk.planning.check.area import thin
from baywalk.planning.check.joints import carrier
from baywalk.planning.check.noggins import WHOLE, bay_of, centre
from baywalk.planning.check.scene import Bay
from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from baywalk.planning.check.ground import Line
    from baywalk.planning.check.scene import Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE = "opening.trim"
TOUCH = 1.5
"""How far two timbers may seem to stand in each other: each is cut to the whole millimetre [mm]."""
LOOKS = 20
"""At how many places less one the deck beside an opening is looked at."""
FAR = 1e6
"""Beyond any loft [mm]."""


def check_openings(scene: Scene, out: Verdicts) -> None:
    """Check every opening that touches the deck, and the timbers round it."""
    told = {opening["feature"]: opening for opening in scene.deck["openings"]}
    out.looked(RULE)
    for name, shape in scene.ground.rectangles("opening"):
        if name not in told and shape.distance(scene.area) < 1:
            out.must(RULE, not _cut(scene, shape), name, "joists are cut and it is not trimmed")
    for name, shape in scene.ground.rectangles("opening"):
        _clear(scene, name, shape, out)
    for name, opening in told.items():
        _opening(scene, name, opening, out)


def _clear(scene: Scene, name: str, shape: Polygon, out: Verdicts) -> None:
    """Check that nothing the plan sets up stands in an opening."""
    for cleat in scene.deck["cleats"]:
        free = thin(beside(scene, cleat).intersection(shape), TOUCH)
        out.must(RULE, free, cleat["id"], f"it stands in the opening {name}")
    for noggin in scene.deck["noggins"]:
        # One along its edge may stand out by what it had to give way.
        free = thin(body(scene, noggin).intersection(shape), scene.pack["opening.edge"])
        out.must(RULE, free, noggin["id"], f"it passes through the opening {name}")


def body(scene: Scene, noggin: Json) -> Polygon:
    """Return the room that a noggin takes, seen from above."""
    half = noggin["section"]["breadth"] / 2
    if noggin.get("along"):
        low, high = (noggin["y"] + d * noggin["length"] / 2 for d in (-1, 1))
        return box(noggin["x"] - half, low, noggin["x"] + half, high)
    bay = bay_of(scene, noggin)
    if bay is None:
        return Polygon()
    left, right = bay.clear(noggin["y"])
    a, b = centre(noggin, left), centre(noggin, right)
    return Polygon([(left, a - half), (right, b - half), (right, b + half), (left, a + half)])


def beside(scene: Scene, cleat: Json) -> Polygon:
    """Return the room that a cleat takes at its joist's side."""
    line = carrier(scene, cleat)
    low, high = (cleat["y"] + d * cleat["length"] / 2 for d in (-1, 1))
    if line is None or low >= high:
        return Polygon()
    wide = cleat["section"]["breadth"]
    ys = line.kinks(low, high)
    left = cleat["side"] == "left"
    inner = [(line.left(y) if left else line.right(y), y) for y in ys]
    outer = [(x - wide if left else x + wide, y) for x, y in reversed(inner)]
    return Polygon(inner + outer)


def _cut(scene: Scene, shape: Polygon) -> list[int]:
    """Return the joists that stand in an opening."""
    _, y0, _, y1 = shape.bounds
    return [
        number
        for number, line in scene.ground.joists.items()
        if not thin(line.strip(y0, y1).intersection(shape), 1.0)
    ]


def _opening(scene: Scene, name: str, opening: Json, out: Verdicts) -> None:
    shape = Polygon(opening["polygon"])
    known = dict(scene.ground.rectangles("opening"))
    if name in known:
        same = thin(shape.symmetric_difference(known[name]))
        out.must(RULE, same, name, "it is not where the survey has it")
    out.must(RULE, thin(shape.intersection(scene.area)), name, "the deck lies over it")
    cut = _cut(scene, shape)
    out.must(RULE, sorted(opening["joists_cut"]) == cut, name, f"the joists in it are {cut}")
    gone = scene.gone(opening)
    if not gone:
        bare = not (opening["trimmers"] or opening["trimming"] or opening["hangers"])
        out.must(RULE, bare, name, "nothing hangs there, and it is trimmed")
        return
    roof = scene.plan["choices"]["roof"]
    # Such joists hold the roof together: nobody may plan to cut them from a phone. Nor may what is
    # hung on a truss be, though none of it is cut.
    held = roof == "trussed" or (roof == "tied" and bool(cut))
    out.must(RULE, not held, name, f"joists of a {roof} roof are cut, or carry what they did not")
    ends = trimmed_between(scene, opening)
    sides = {n for n in ends if n in scene.ground.joists}
    doubled = sorted(t["joist"] for t in opening["trimming"])
    out.must(RULE, doubled == sorted(sides), name, f"the joists beside it are {sorted(sides)}")
    away = {n for other in scene.deck["openings"] for n in other["joists_cut"]}
    out.must(RULE, not sides & away, name, "a joist that carries it is cut for another opening")
    _trimmers(scene, name, opening, ends, out)
    if cut:
        _at_walls(scene, name, shape, cut, out)
    for noggin in scene.deck["noggins"]:
        _hangs(scene, noggin, opening, out)
    for joint in scene.deck["joints"]:
        _carried(scene, joint, out)
    # Every cut joist hangs at its trimmer, and every trimmer at the joists beside it.
    hung = sum(h["count"] for h in opening["hangers"])
    wanted = len(opening["trimmers"]) * (len(cut) + len(sides)) + len(_hung_on(scene, opening))
    out.at_least("opening.hangers", hung, wanted, name, "The number of hangers")
    _hung(scene, name, opening, out)


def _hung_on(scene: Scene, opening: Json) -> list[float]:
    """Return the breadth [mm] of each end of an added joist that hangs from an opening's trimmers.

    Where such parts really end is checked for itself.
    """
    ids = {trimmer["id"] for trimmer in opening["trimmers"]}
    return [
        joist["section"]["breadth"]
        for joist in scene.deck["added_joists"]
        for tail in joist.get("tails", ())
        for name in tail["hangs"]
        if name in ids
    ]


def _at_walls(scene: Scene, name: str, shape: Polygon, cut: list[int], out: Verdicts) -> None:
    """Check that no deck lies between an opening and a wall where the joist between them is cut."""
    _, y0, _, y1 = shape.bounds
    joists, limit = scene.ground.joists, scene.pack["deck.least.width"]
    for number, wall in ((1, scene.ground.start), (len(joists), scene.ground.end)):
        if number not in cut:
            continue
        text = f"J{number} is cut; the deck between there and the wall"
        for k in range(1, LOOKS):
            y = y0 + (y1 - y0) * k / LOOKS
            near = shape.intersection(LineString([(-FAR, y), (FAR, y)])).bounds
            if near:
                edge = near[0] if number == 1 else near[2]
                across = LineString([(edge, y), (wall.x(y), y)])
                wide = scene.area.intersection(across).length
                out.at_most("deck.least.width", wide, limit, name, text)


def _hangs(scene: Scene, noggin: Json, opening: Json, out: Verdicts) -> None:
    """Check that a noggin across does not end on a joist where an opening has cut it away."""
    bay = None if noggin.get("along") else bay_of(scene, noggin)
    if bay is None:
        return
    ys = [y for _, y in opening["polygon"]]
    for trimmer in opening["trimmers"]:
        half = trimmer["section"]["breadth"] * trimmer["plies"] / 2
        ys += [trimmer["y"] - half, trimmer["y"] + half]
    half = noggin["section"]["breadth"] / 2
    for line, (_, y) in zip((bay.a, bay.b), noggin["ends"], strict=True):
        gone = line in scene.gone(opening)
        clear = y + half <= min(ys) + WHOLE or y - half >= max(ys) - WHOLE
        out.must(RULE, clear or not gone, noggin["id"], f"{line.name} is cut away where it ends")


def _carried(scene: Scene, joint: Json, out: Verdicts) -> None:
    """Check that no end joint lies on a joist, or on its cleat, where an opening cuts it away."""
    cleat = joint["support"].get("cleat")
    support = next((c for c in scene.deck["cleats"] if c["id"] == cleat), joint["support"])
    line = carrier(scene, support) if "joist" in support else None
    # The joint may end at the opening's edge, over the trimmer.
    low, high = joint["y0"] + WHOLE, joint["y1"] - WHOLE
    if line and low < high:
        gone = any(scene.cut_at(line, low + (high - low) * k / LOOKS) for k in range(LOOKS + 1))
        out.must(RULE, not gone, joint["id"], f"{line.name} is cut away under it")


def trimmed_between(scene: Scene, opening: Json) -> tuple[int, int]:
    """Return the numbers of the members that an opening's trimmers reach to.

    They are joists or walls that were there: what is added carries no trimmer.
    """
    cut = opening["joists_cut"]
    if cut:
        return min(cut) - 1, max(cut) + 1
    x, y = Polygon(opening["polygon"]).centroid.coords[0]
    first = sum(line.x(y) < x for line in scene.ground.joists.values())
    return first, first + 1


def trimmed_bay(scene: Scene, opening: Json) -> Bay:
    """Return the space between the two members that an opening's trimmers reach to."""
    joists = scene.ground.joists
    first, last = trimmed_between(scene, opening)
    a, b = joists.get(first, scene.ground.start), joists.get(last, scene.ground.end)
    return Bay(first, a, b, (scene.doubling(a, "right"), scene.doubling(b, "left")))


def trimmed(scene: Scene) -> list[tuple[float, float, tuple[float, float]]]:
    """Return from where to where each trimmer reaches across, and along the joists [mm]."""
    out = []
    for opening in scene.deck["openings"]:
        for trimmer in opening["trimmers"]:
            left, right = trimmed_bay(scene, opening).clear(trimmer["y"])
            half = trimmer["section"]["breadth"] * trimmer["plies"] / 2
            out.append((left, right, (trimmer["y"] - half, trimmer["y"] + half)))
    return out


def _doubled(scene: Scene, name: str, timber: Json, near: str, out: Verdicts) -> None:
    """Check what doubles a joist: towards the opening if it can be, and in no opening."""
    line = scene.ground.joists.get(timber["joist"])
    if line is None:
        return
    wide, deep = timber["section"]["breadth"], timber["section"]["depth"]
    out.must(RULE, deep > 0, name, f"what doubles {line.name} has no depth")
    side = timber["side"]
    free = _free_beside(scene, line, side, wide, 1.5)
    out.must(RULE, free, name, f"what doubles {line.name} stands in an opening")
    near_is_free = side != near and _free_beside(scene, line, near, wide, 0.5)
    out.must(RULE, not near_is_free, name, "a joist is doubled on the side away from the opening")


def _free_beside(scene: Scene, line: Line, side: str, wide: float, by: float) -> bool:
    """Say whether a timber at a joist's side stands in no opening by more than so much [mm]."""
    out = -1 if side == "left" else 1
    for _, shape in scene.ground.rectangles("opening"):
        ys = line.kinks(shape.bounds[1], shape.bounds[3])
        face = [(line.left(y) if side == "left" else line.right(y), y) for y in ys]
        strip = Polygon([*face, *((x + out * wide, y) for x, y in reversed(face))])
        if not thin(strip.intersection(shape), by):
            return False
    return True


def _hung(scene: Scene, name: str, opening: Json, out: Verdicts) -> None:
    """Check that every cut joist has a hanger of its own breadth at every trimmer.

    So has every end of an added joist that hangs from one.
    """
    cut = [
        scene.ground.joists[n].breadth for n in opening["joists_cut"] if n in scene.ground.joists
    ]
    added, ends = _hung_on(scene, opening), len(opening["trimmers"])
    for breadth in {round(b) for b in [*cut, *added]}:
        wanted = ends * sum(round(b) == breadth for b in cut)
        wanted += sum(round(b) == breadth for b in added)
        there = sum(h["count"] for h in opening["hangers"] if abs(h["breadth"] - breadth) < 1)
        text = f"The number of hangers for joists of {breadth}"
        out.at_least("opening.hangers", there, wanted, name, text)


def _trimmers(
    scene: Scene, name: str, opening: Json, sides: tuple[int, int], out: Verdicts
) -> None:
    """Check the timbers across at the ends of an opening: number, plies, place and length."""
    bay = trimmed_bay(scene, opening)
    _, y0, _, y1 = Polygon(opening["polygon"]).bounds
    # An opening that runs out to the deck's limit has no trimmer there.
    _, low, _, high = scene.ground.outline.bounds
    ends = sum((y0 > low + EXACT, y1 < high - EXACT))
    out.same(RULE, len(opening["trimmers"]), ends, name, "the number of trimmers", 0)
    ids = {trimmer["id"] for trimmer in opening["trimmers"]}
    out.must(RULE, len(ids) == len(opening["trimmers"]), name, "two trimmers have one id")
    for timber in opening["trimming"]:
        _doubled(scene, name, timber, "right" if timber["joist"] == sides[0] else "left", out)
    for trimmer in opening["trimmers"]:
        plies = scene.pack["opening.trim"]["plies"]
        out.at_least(RULE, trimmer["plies"], plies, trimmer["id"], "Its thicknesses")
        half = trimmer["section"]["breadth"] * trimmer["plies"] / 2
        beyond = trimmer["y"] + half <= y0 + EXACT or trimmer["y"] - half >= y1 - EXACT
        out.must(RULE, beyond, trimmer["id"], "it stands in the opening")
        gaps = [bay.gap((bay.a.right(trimmer["y"]), trimmer["y"] + d), 0.0) for d in (-half, half)]
        own = min(gaps) - scene.pack["noggin.fit"]
        out.at_most("opening.fit", trimmer["length"], own, trimmer["id"], "Its length")
        out.at_least("opening.fit", trimmer["length"], own - WHOLE, trimmer["id"], "Its length")
