"""Joists as the plan draws them: a screen has no geometry of its own, so they must be right."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING

from baywalk.planning.check.area import thin

if TYPE_CHECKING:
    from baywalk.planning.check.ground import Line
    from baywalk.planning.check.scene import Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE = "plan.joists"
BESIDE = 50.0
"""What lies no further beyond a joist's end than this lies at it [mm]."""


def check_shown(scene: Scene, out: Verdicts) -> None:
    """Check the joists drawn against the as-built and the joists added."""
    told = [shown["name"] for shown in scene.deck["joists"]]
    lines = {line.name: line for line in scene.joists}
    under = [line.name for line in scene.joists if _under(scene, line)]
    out.must(RULE, [n for n in told if n in under] == under, "the joists", "one is missing")
    out.must(RULE, len(told) == len(set(told)), "the joists", "one is drawn twice")
    for shown in scene.deck["joists"]:
        name = shown["name"]
        if out.must(RULE, name in lines, name, "there is no such joist"):
            _shown(scene, shown, lines[name], out)
    ids = [added["id"] for added in scene.deck["added_joists"]]
    out.must(RULE, len(ids) == len(set(ids)), "the added joists", "one is given twice")
    for added in scene.deck["added_joists"]:
        right = added["id"] == scene.added_name(added["bay"], added["n"])
        out.must(RULE, right, added["id"], "it has another joist's name")
        _added(scene, added, out)


def _under(scene: Scene, line: Line) -> bool:
    _, y0, _, y1 = scene.area.bounds
    return bool(line.strip(y0, y1).intersection(scene.area).area > 1)


def _shown(scene: Scene, shown: Json, line: Line, out: Verdicts) -> None:
    name = shown["name"]
    for x, y in shown["line"]:
        out.same(RULE, x, line.x(y), name, "its line", 0.1)
    out.same(RULE, shown["breadth"], line.breadth, name, "its breadth")
    _, y0, _, y1 = scene.area.bounds
    ys = [y for _, y in shown["line"]]
    out.must(RULE, ys == sorted(ys), name, "its line runs to and fro")
    if _under(scene, line):
        out.at_most(RULE, min(ys), y0 + 1, name, "Where its line begins")
        out.at_least(RULE, max(ys), y1 - 1, name, "Where its line ends")
        # Beyond its outermost places it goes on straight: it bends at those between alone.
        bends = [y for _, y in line.points[1:-1] if min(ys) + 1 < y < max(ys) - 1]
        kept = all(any(abs(y - own) <= 1 for y in ys) for own in bends)
        out.must(RULE, kept, name, "its line leaves out where it bends")
    own = f"J{shown['joist']}" if "added" not in shown else None
    if own is None:
        own = scene.added_name(shown["joist"], shown["added"])
    out.must(RULE, own == name, name, "its number is another")


def _added(scene: Scene, added: Json, out: Verdicts) -> None:
    """Check that an added joist stands in its bay, clear of both sides, and is long enough."""
    line = scene.added[added["bay"], added["n"]]
    for bay in scene.bays:
        if line in (bay.a, bay.b):
            for y in (added["near"][1], added["far"][1], *chain(*line.laps)):
                x0, x1 = bay.clear(y)
                out.must(RULE, x0 < x1, added["id"], "it does not fit in its bay")
    dx, dy = (added["far"][i] - added["near"][i] for i in (0, 1))
    out.same(RULE, added["length"], (dx**2 + dy**2) ** 0.5, added["id"], "its length", 1.0)
    _lapping(scene, added, line, out)
    _borne(scene, added, line, out)
    depths = [j["depth"]["value"] for j in scene.ground.run["joists"] if j["depth"]]
    if depths:
        text = "Its depth beside the joists'"
        out.at_most(RULE, added["section"]["depth"], max(depths), added["id"], text)


def _borne(scene: Scene, added: Json, line: Line, out: Verdicts) -> None:
    """Check that an added joist runs into no obstacle and ends at no deck that is laid already.

    Nothing would bear its end there: it reaches as far as the joists beside it do. What stands on
    a joist that was there stands over an added one as well.
    """
    near, far = added["near"][1], added["far"][1]
    strip = line.strip(near - BESIDE, far + BESIDE)
    for name, shape in scene.ground.rectangles("obstacle"):
        _, low, _, high = shape.bounds
        if any(shape.intersects(j.strip(low, high)) for j in scene.ground.joists.values()):
            continue
        free = thin(strip.intersection(shape), 1.0)
        out.must(RULE, free, added["id"], f"it runs into the obstacle {name}")
    for name, shape in scene.ground.rectangles("laid"):
        for low, high in ((near - BESIDE, near), (far, far + BESIDE)):
            free = thin(line.strip(low, high).intersection(shape), BESIDE / 2)
            out.must(RULE, free, added["id"], f"it ends under {name}, which is laid already")


def _lapping(scene: Scene, added: Json, line: Line, out: Verdicts) -> None:
    """Check that an added joist laps only where those beside it do, with timbers long enough."""
    name, lengths = added["id"], added.get("lengths", [])
    if "tails" in added:
        out.must(RULE, not line.laps, name, "it laps and is cut at an opening")
        own = [tail["length"] for tail in added["tails"]]
        out.must(RULE, lengths == own, name, "its timbers are not its tails")
        return
    out.must(RULE, len(lengths) == (len(line.laps) + 1 if line.laps else 0), name, "its timbers")
    beside = [scene.ground.joists.get(added["bay"] + k) for k in (0, 1)]
    for begins, ends in line.laps:
        known = [
            lap for one in beside if one for lap in one.laps if lap[0] < ends and begins < lap[1]
        ]
        right = bool(known) and begins <= max(a for a, _ in known) + 1
        right = right and ends >= min(b for _, b in known) - 1
        right = right and begins >= min(a for a, _ in known) - 1
        right = right and ends <= max(b for _, b in known) + 1
        out.must(RULE, right, name, "it laps where the joists beside it do not")
    starts = [added["near"][1], *(begins for begins, _ in line.laps)]
    stops = [*(ends for _, ends in line.laps), added["far"][1]]
    for length, start, stop in zip(lengths, starts, stops, strict=False):
        out.same(RULE, length, stop - start, name, "the length of a timber", 1.0)
