"""A new opening: does it lie in its zone, of its clear size, clear of what stands, cut as said?"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from shapely.geometry import Polygon, box

from baywalk.planning.check.area import thin
from baywalk.planning.check.openings import trimmed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.check.ground import Ground
    from baywalk.planning.check.scene import Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE = "opening.place"
FACES = {"left": -0.5, "centre": 0.0, "right": 0.5}


def _chosen(hatch: Json) -> Json | None:
    """Return the place that the plan has chosen for a new opening; None where there is none."""
    places: list[Json] = hatch["places"]
    return places[hatch["chosen"]] if hatch["chosen"] < len(places) else None


def put_in(plan: Json, as_built: Json) -> None:
    """Put the new opening of a plan into an as-built, which is changed, where there is one."""
    hatch = plan.get("hatch")
    place = _chosen(hatch) if hatch else None
    for run in as_built["runs"]:
        if hatch and place and run["id"] == hatch["run"]:
            own = {"id": hatch["feature"], "feature": "opening", "polygon": place["polygon"]}
            run["features"] = [*run["features"], own]


def check_hatch(plan: Json, scenes: Sequence[Scene], out: Verdicts) -> None:
    """Check the place of a new opening in the run of some decks."""
    hatch = plan.get("hatch")
    ground = scenes[0].ground
    if not hatch or hatch["run"] != ground.run["id"]:
        return
    place = _chosen(hatch)
    name = hatch["feature"]
    if not out.must(RULE, place, name, "no place is chosen") or place is None:
        return
    twins = [f for f in ground.run["features"] if f["id"] == name]
    out.must(RULE, len(twins) == 1, name, "a feature of the survey goes by its name")
    shape = Polygon(place["polygon"])
    _size(plan, hatch, shape, name, out)
    _zone(plan, ground, shape, name, out)
    _clear(scenes, place, shape, name, out)
    _set_out(ground, place, shape, name, out)
    shown = [o for scene in scenes for o in scene.deck["openings"] if o["feature"] == name]
    same = [o["joists_cut"] for o in shown] == [place["joists_cut"]]
    out.must(RULE, same, name, "no deck has it, or with other joists cut")
    fewer = any(len(p["joists_cut"]) < len(place["joists_cut"]) for p in _others(hatch))
    out.must(RULE, not fewer, name, "another place that it compares with cuts fewer joists")


def _others(hatch: Json) -> list[Json]:
    """Return the places that the one chosen is compared with, those passed over left out."""
    places: list[Json] = hatch["places"]
    return places[hatch["chosen"] :]


def _size(plan: Json, hatch: Json, shape: Polygon, name: str, out: Verdicts) -> None:
    x0, y0, x1, y1 = shape.bounds
    asked = plan["choices"].get("hatch") or {}
    for word, figure in (("across", x1 - x0), ("along", y1 - y0)):
        out.same(RULE, hatch[word], asked.get(word, -1.0), name, f"the size {word}")
        out.same(RULE, hatch[word], figure, name, f"the size {word}")
    # A hatch is square at its corners, however the joists beside it lean.
    out.must(RULE, thin(box(*shape.bounds).difference(shape)), name, "it is not square")


def _zone(plan: Json, ground: Ground, shape: Polygon, name: str, out: Verdicts) -> None:
    asked = plan["choices"].get("zone")
    limit = ground.outline
    out.must(RULE, thin(shape.difference(limit)), name, "it reaches beyond the outline")
    if asked:
        known = asked["run"] in (None, ground.run["id"])
        out.must(RULE, known, name, "it lies in another run than was asked for")
        zone = _asked(asked, ground)
        inside = zone is not None and thin(shape.difference(zone))
        out.must(RULE, inside, name, "it reaches beyond its zone")


def _asked(zone: Json, ground: Ground) -> Polygon | None:
    """Return the zone in the plane as it was asked for; None where it cannot be set out."""
    a, b, c, d = zone["figures"]
    start = zone["from"]
    if start is None:
        return box(a, b, c, d)
    number, line = start["joist"], start["line"]
    run = ground.run
    rows = [run["walls"]["start"], *run["joists"], run["walls"]["end"]]
    if not 0 <= number < len(rows):
        return None
    own = ((rows[number].get("at") or {}).get(line) or {}).get("point")
    known = [p for row in rows if (p := ((row.get("at") or {}).get(line) or {}).get("point"))]
    if own is None or len(known) < 2:
        return None
    # Along the tape line, and along the joist as it leans.
    course = math.atan2(known[-1][1] - known[0][1], known[-1][0] - known[0][0])
    lean = math.radians(rows[number].get("angle") or 0.0)
    breadth = (rows[number].get("breadth") or {"value": 0.0})["value"]
    first = a + FACES[start["face"]] * breadth
    ends = [(first, b), (first + c, b), (first + c, b + d), (first, b + d)]
    return Polygon(
        [
            (
                own[0] + u * math.cos(course) + v * math.sin(lean),
                own[1] + u * math.sin(course) + v * math.cos(lean),
            )
            for u, v in ends
        ]
    )


def _set_out(ground: Ground, place: Json, shape: Polygon, name: str, out: Verdicts) -> None:
    """Check the measures that a person marks the corner with."""
    x0, y0, x1, y1 = shape.bounds
    lines = {0: ground.start, **ground.joists, len(ground.joists) + 1: ground.end}
    low, high = place["between"]
    cut = place["joists_cut"]
    known = low in lines and high in lines and list(range(low + 1, high)) == sorted(cut)
    middle = (y0 + y1) / 2
    between = known and lines[low].x(middle) < x0 < x1 < lines[high].x(middle)
    out.must(RULE, between, name, "it does not lie between the members named")
    told = place["set_out"]
    number = told["from"][0]
    if out.must(RULE, number in lines, name, "it is set out from no joist"):
        out.same(RULE, told["across"], x0 - lines[number].right(y0), name, "its corner across")
    out.must(RULE, told["line"] == ground.run["lines"][0], name, "another tape line is named")
    out.same(RULE, told["along"], y0, name, "its corner along")


def _clear(scenes: Sequence[Scene], place: Json, shape: Polygon, name: str, out: Verdicts) -> None:
    """Check that nothing stands in the clear opening but the joists that are cut for it."""
    ground = scenes[0].ground
    low, high = shape.bounds[1], shape.bounds[3]
    for number, line in ground.joists.items():
        meets = not thin(line.strip(low, high).intersection(shape))
        told = number in place["joists_cut"]
        out.must(
            RULE, told or not meets, name, f"{line.name} stands in it and is not said to be cut"
        )
        out.must(RULE, meets or not told, name, f"{line.name} is said to be cut and is not in it")
    cut = [ground.joists[n] for n in place["joists_cut"] if n in ground.joists]
    for scene in scenes:
        for line in scene.bearers:
            free = line in cut or thin(line.strip(low, high).intersection(shape))
            out.must(RULE, free, name, f"{line.name} stands in it")
    for kind in ("opening", "obstacle", "laid"):
        for other, area in ground.rectangles(kind):
            free = other == name or thin(shape.intersection(area))
            out.must(RULE, free, name, f"it lies over {other}")
    for left, right, (near, far) in [band for scene in scenes for band in trimmed(scene)]:
        free = thin(shape.intersection(box(left, near, right, far)))
        out.must(RULE, free, name, "a trimmer stands in it")
