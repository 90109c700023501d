"""End joints: what carries each, how much bearing each board has, how they are staggered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely.geometry import LineString

from baywalk.planning.check.ground import Line, least
from baywalk.planning.check.scene import touching
from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from baywalk.planning.check.scene import Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

BESIDE = 10.0
"""Less than this past an edge is still at the edge [mm]."""


def check_joints(scene: Scene, out: Verdicts) -> None:
    """Check every end joint there is, found from the pieces themselves."""
    found = _found(scene)
    # Joints are found from where pieces meet: one left out of the list is found all the same.
    told = {(j["left"], j["right"]): j for j in scene.deck["joints"]}
    out.must(
        "joint.list", len(told) == len(scene.deck["joints"]), "the joints", "one is given twice"
    )
    for pair in found:
        out.must("joint.list", pair in told, " and ".join(pair), "their joint is not in the plan")
    for pair, joint in told.items():
        if out.must("joint.list", pair in found, joint["id"], "no such pieces meet"):
            _joint(scene, joint, found[pair], out)
    _stagger(scene, out)
    _stagger_to_laid(scene, out)


Stretch = tuple[float, float, float]
"""Where an end joint lies: x, and from y to y [mm]."""


def _found(scene: Scene) -> dict[tuple[str, str], Stretch]:
    """Return every pair of pieces of one course that meet end to end, left one first."""
    rows: dict[int, list[str]] = {}
    for piece in scene.deck["pieces"]:
        rows.setdefault(piece["course"], []).append(piece["id"])
    out = {}
    for row in rows.values():
        row.sort(key=lambda name: scene.shapes[name].bounds[0])
        for i, left in enumerate(row):
            for right in row[i + 1 :]:
                stretch = _meeting(scene, left, right)
                if stretch:
                    out[left, right] = stretch
    return out


def _meeting(scene: Scene, left: str, right: str) -> Stretch | None:
    a, b = scene.shapes[left], scene.shapes[right]
    if a.distance(b) > EXACT:
        return None
    parts = [
        (p, q)
        for p, q in touching(a, b, EXACT)
        if abs(p[1] - q[1]) > 4 * EXACT and abs(p[0] - q[0]) <= 4 * EXACT
    ]
    if not parts:
        return None
    ys = [y for part in parts for _, y in part]
    return a.bounds[2], min(ys), max(ys)


def carrier(scene: Scene, support: Json) -> Line | None:
    """Return the joist that a support names, added ones too; None where there is none such."""
    joist: int = support["joist"]
    if "added" in support:
        return scene.added.get((joist, support["added"]))
    return scene.ground.joists.get(joist)


def bearing(line: Line, joint: Json, widen: tuple[float, float] = (0, 0)) -> tuple[float, float]:
    """Return the least bearing of the left and the right board over the whole joint [mm].

    Args:
        line: the joist, as it lies.
        joint: the end joint.
        widen: how much a cleat adds on the joist's left and right side [mm].
    """
    ys = line.kinks(joint["y0"], joint["y1"])
    return (
        least(joint["x"] - line.sure(y)[0] + widen[0] for y in ys),
        least(line.sure(y)[1] + widen[1] - joint["x"] for y in ys),
    )


def _joint(scene: Scene, joint: Json, own: Stretch, out: Verdicts) -> None:
    where = joint["id"]
    for name, value in zip(("x", "y0", "y1"), own, strict=True):
        out.same("joint.list", joint[name], value, where, f"its {name}", 0.2)
    left, right = scene.pieces[joint["left"]], scene.pieces[joint["right"]]
    same = left["course"] == right["course"] == joint["course"]
    out.must("joint.list", same, where, "its course is another")
    _mates(joint, left, right, out)
    held = _bearing(scene, joint)
    if (
        not out.must("joint.support", held, where, "what carries it is not in the plan")
        or held is None
    ):
        return
    for side, figure in zip(("left", "right"), held, strict=True):
        text = f"The bearing of the board on its {side} [mm]"
        out.at_least("joint.bearing", figure, scene.pack["joint.bearing"], where, text)
        out.same("joint.list", joint["bearing"][side], figure, where, f"its {side} bearing", 0.2)


def _mates(joint: Json, left: Json, right: Json, out: Verdicts) -> None:
    """Check that tongue meets groove; a sawn end only on a joist, against sawn or a groove."""
    # Two like ends make a set of one: tongue on tongue, or groove on groove.
    ends = {left["right"], right["left"]}
    butted = "cut" in ends
    where = joint["id"]
    out.must("joint.butted", butted == joint["butted"], where, "it is marked wrongly as butted")
    if butted:
        out.must("joint.butted", "joist" in joint["support"], where, "sawn ends meet off a joist")
        out.must("joint.butted", "tongue" not in ends, where, "a sawn end meets a tongue")
    else:
        out.must("joint.butted", len(ends) == 2, where, "tongue meets tongue, or groove groove")


def _bearing(scene: Scene, joint: Json) -> tuple[float, float] | None:
    support = joint["support"]
    if "joist" in support:
        line = carrier(scene, support)
        return bearing(line, joint) if line else None
    if "cleat" in support:
        return _on_cleat(scene, joint)
    return _on_frame(scene, joint)


def _on_cleat(scene: Scene, joint: Json) -> tuple[float, float] | None:
    wanted = joint["support"]["cleat"]
    cleat = next((c for c in scene.deck["cleats"] if c["id"] == wanted), None)
    line = cleat and carrier(scene, cleat)
    if not cleat or not line or cleat["joint"] != joint["id"]:
        return None
    wide = cleat["section"]["breadth"]
    return bearing(line, joint, (wide, 0) if cleat["side"] == "left" else (0, wide))


def _on_frame(scene: Scene, joint: Json) -> tuple[float, float] | None:
    wanted = joint["support"]["frame"]
    frame = next((f for f in scene.deck["frames"] if f["id"] == wanted), None)
    if not frame or frame["joint"] != joint["id"]:
        return None
    along = [scene.noggins.get(name) for name in frame["noggins"][2:]]
    lines = [
        Line(n["id"], ((n["x"], n["y"] - 1), (n["x"], n["y"] + 1)), n["section"]["breadth"])
        for n in along
        if n and n.get("along") and "x" in n
    ]
    if len(lines) != len(frame["noggins"]) - 2:
        return None
    both = [bearing(line, joint) for line in lines]
    return least(b[0] for b in both), least(b[1] for b in both)


def _stagger_to_laid(scene: Scene, out: Verdicts) -> None:
    """Check the distance of end joints to an end of a laid deck in the course beside theirs."""
    boarded = scene.area.buffer(1)
    for name, laid in scene.ground.rectangles("laid"):
        x0, y0, x1, y1 = laid.bounds
        for x in (x0, x1):
            if boarded.intersection(LineString([(x, y0), (x, y1)])).length < BESIDE:
                continue
            for joint in scene.deck["joints"]:
                if min(abs(joint["y0"] - y1), abs(joint["y1"] - y0)) < BESIDE:
                    where = f"{joint['id']} and the end of the laid deck {name[:4]}"
                    apart, limit = abs(joint["x"] - x), scene.pack["joint.stagger"]
                    out.at_least("joint.stagger", apart, limit, where, "Their distance [mm]")


def _stagger(scene: Scene, out: Verdicts) -> None:
    """Check the distance between end joints of neighbouring courses, and that joists differ."""
    out.looked("joint.stagger")
    rows: dict[int, list[Json]] = {}
    for joint in scene.deck["joints"]:
        rows.setdefault(joint["course"], []).append(joint)
    for index, row in rows.items():
        for a in row:
            for b in rows.get(index + 1, ()):
                where = f"{a['id']} and {b['id']}"
                apart = abs(a["x"] - b["x"])
                limit = scene.pack["joint.stagger"]
                out.at_least("joint.stagger", apart, limit, where, "Their distance [mm]")
                # A broad or leaning joist could hold two joints that are far enough apart.
                on_joist = "joist" in a["support"] and a["support"] == b["support"]
                out.must("joint.stagger", not on_joist, where, "both are on one joist")
