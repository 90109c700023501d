"""Measures: does each lead from something a tape hooks on to where the thing really is?"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from shapely.geometry import LineString, Point

from baywalk.planning.check.area import corners
from baywalk.planning.check.noggins import WHOLE
from baywalk.planning.check.timbers import wanted
from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from baywalk.planning.check.ground import Point as Place
    from baywalk.planning.check.scene import Area, Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE = "plan.marks"
BESIDE = 2.0
"""How far a measure may be taken beside a corner, where a slanting edge is still itself [mm]."""

DIAGONALS = {
    ("left", "near"): (-1, -1),
    ("right", "near"): (1, -1),
    ("right", "far"): (1, 1),
    ("left", "far"): (-1, 1),
}
"""Outer corners of a piece by the two sides that meet there, and which way each lies."""


def check_marks(scene: Scene, out: Verdicts) -> None:
    """Check every measure of every step."""
    out.looked(RULE)
    timber = {item["id"]: item for kind in ("noggins", "cleats") for item in scene.deck[kind]}
    known = {*scene.pieces, *timber, *wanted(scene.deck)}
    known |= {opening["feature"] for opening in scene.deck["openings"]}
    known |= {item["id"] for kind in ("raise", "added_joists") for item in scene.deck[kind]}
    known |= {f"course {index + 1}" for index in scene.courses}
    for step in scene.deck["sequence"]:
        where = f"step {step['step']}"
        for mark in step["marks"]:
            out.must(RULE, mark["item"] in known, where, f"{mark['item']} is not in the plan")
            own = math.dist(mark["from"], mark["at"])
            out.same(RULE, mark["value"], own, where, f"the measure to {mark['to']}", 0.6)
        for name in step["noggins"]:
            if name in timber:
                _timber(scene, timber[name], _of(step, name), out)
        for name in step["pieces"]:
            if name in scene.pieces:
                _piece(scene, name, _of(step, name), out)


def _of(step: Json, name: str) -> list[Json]:
    return [mark for mark in step["marks"] if mark["item"] == name]


def _timber(scene: Scene, item: Json, marks: list[Json], out: Verdicts) -> None:
    """Check that a timber has a measure to its centre line, from a wall or a joist's face."""
    name = item["id"]
    out.must(RULE, marks, name, "no measure says where it goes")
    for mark in marks:
        if "ends" in item:
            off = LineString(item["ends"]).distance(Point(mark["at"]))
        else:
            off = abs(mark["at"][1] - item["y"])
        out.at_most(RULE, off, BESIDE, name, "From its centre to where its measure ends")
        # A tape hooks on an edge. A centre line or a point in the air has none.
        hooked = hookable(scene, mark["from"])
        out.must(RULE, hooked, name, "its measure begins where no tape can be hooked")


def hookable(scene: Scene, place: Place) -> bool:
    """Say whether a place is on the outline, on the face of a joist or on a deck already laid."""
    x, y = place
    spot = Point(place)
    if scene.ground.outline.exterior.distance(spot) <= BESIDE:
        return True
    if any(shape.exterior.distance(spot) <= BESIDE for _, shape in scene.ground.rectangles("laid")):
        return True
    faces = [f for line in scene.bearers for f in (line.left(y), line.right(y))]
    return any(abs(x - face) <= BESIDE for face in faces)


def _piece(scene: Scene, name: str, marks: list[Json], out: Verdicts) -> None:
    """Check that a piece's measures end at its corners, and that no sawn corner lacks one."""
    shape, piece = scene.shapes[name], scene.pieces[name]
    places = [a for a, _ in corners(shape)]
    for mark in marks:
        near = min(math.dist(mark["at"], place) for place in places)
        out.at_most(RULE, near, BESIDE, name, f"From a corner of it to {mark['to']}")
    # A piece that something is cut out of has more corners than its ends have.
    if len(shape.simplify(EXACT).exterior.coords) > len(DIAGONALS) + 1 or shape.interiors:
        sawn = "cut" in (piece["left"], piece["right"])
        out.must(RULE, marks or not sawn, name, "no measure says where to cut it")
        return
    ends = outer(shape)
    for side in ("left", "right", "near", "far"):
        if piece[side] == "cut":
            _side([ends[pair] for pair in ends if side in pair], side, name, marks, out)


def _side(ends: list[Place], side: str, name: str, marks: list[Json], out: Verdicts) -> None:
    """Check that a sawn side has a measure to both its corners, or to one where it is square."""
    found = [any(math.dist(m["at"], end) <= BESIDE for m in marks) for end in ends]
    axis = 0 if side in ("left", "right") else 1
    square = abs(ends[0][axis] - ends[1][axis]) <= WHOLE
    enough = any(found) if square else all(found)
    out.must(RULE, enough, name, f"no measure leads to a corner of its {side} side")


def outer(shape: Area) -> dict[tuple[str, str], Place]:
    """Return the outer corners of an area of four sides, by the sides that meet there."""
    places = [a for a, _ in corners(shape)]

    def farthest(dx: int, dy: int) -> Place:
        return max(places, key=lambda place: dx * place[0] + dy * place[1])

    return {sides: farthest(dx, dy) for sides, (dx, dy) in DIAGONALS.items()}
