"""Courses: do they tile the deck, and is none narrower than the least rip?"""

from __future__ import annotations

from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING

from shapely import unary_union
from shapely.geometry import LineString, box

from baywalk.planning.check.area import corners, thin
from baywalk.planning.check.ground import Line
from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from baywalk.planning.check.scene import Area, Json, Scene
    from baywalk.planning.check.verdicts import Verdicts


def check_courses(scene: Scene, out: Verdicts) -> None:
    """Check the rows: their order, their width, what lies in each, and their figures."""
    courses = scene.deck["courses"]
    out.must("course.rows", courses, "the deck", "it has no course")
    for index, course in enumerate(courses):
        where = f"course {course['index'] + 1}"
        out.must("course.rows", course["index"] == index, where, "courses are out of order")
        _width(scene, course, out, where, last=index in (0, len(courses) - 1))
        _narrowest(scene, course, out, where)
        _segments(scene, course, out, where)
        _scribed(scene, course, out, where)
    # Courses are counted in the order of laying, which may run against y.
    step = 1 if scene.deck["laid_from"] == "near" else -1
    for a, b in pairwise(courses):
        one, other = (a["y1"], b["y0"]) if step == 1 else (a["y0"], b["y1"])
        out.same("course.rows", one, other, f"course {b['index'] + 1}", "where it begins")
    for piece in scene.deck["pieces"]:
        _within(scene, piece, out)
    if courses:
        # The outer edges must reach as far as the deck does: scribed ones at their widest.
        ends = sorted((courses[0]["y0"], courses[-1]["y1"], courses[0]["y1"], courses[-1]["y0"]))
        reach = scene.area.bounds
        out.same("course.rows", ends[0], reach[1], "the near course", "its farthest reach")
        out.same("course.rows", ends[-1], reach[3], "the far course", "its farthest reach")
    _continues(scene, out)


def _width(scene: Scene, course: Json, out: Verdicts, where: str, *, last: bool) -> None:
    width, board = course["y1"] - course["y0"], scene.board["width"]
    # What is laid is as wide as its boards turned out.
    off = scene.off(scene.of_course(course["index"]))
    if last:
        out.at_most("course.rows", width, board + off, where, "Its width")
    else:
        out.same("course.rows", width, board, where, "its width", EXACT + off)


def _within(scene: Scene, piece: Json, out: Verdicts) -> None:
    course = scene.courses.get(piece["course"])
    if (
        not out.must("course.rows", course, piece["id"], "its course is not in the plan")
        or course is None
    ):
        return
    x0, y0, x1, y1 = scene.shapes[piece["id"]].bounds
    inside = y0 >= course["y0"] - EXACT and y1 <= course["y1"] + EXACT
    out.must("course.rows", inside, piece["id"], "it lies outside its course")
    out.same("piece.size", piece["length"], x1 - x0, piece["id"], "its length")
    out.same("piece.size", piece["width"], y1 - y0, piece["id"], "its width")


def _segments(scene: Scene, course: Json, out: Verdicts, where: str) -> None:
    rows = [scene.shapes[p["id"]] for p in scene.deck["pieces"] if p["course"] == course["index"]]
    ends = [x for segment in course["segments"] for x in segment]
    out.must("course.rows", ends == sorted(ends), where, "its stretches are out of order")
    for a, b in course["segments"]:
        inside = [s.bounds for s in rows if s.bounds[2] > a + EXACT and s.bounds[0] < b - EXACT]
        if out.must("course.rows", inside, where, f"nothing lies from x {a:.0f} to {b:.0f}"):
            out.same("course.rows", a, min(i[0] for i in inside), where, "where it starts")
            out.same("course.rows", b, max(i[2] for i in inside), where, "where it stops")
    for shape in rows:
        held = any(
            a - EXACT <= shape.bounds[0] and shape.bounds[2] <= b + EXACT
            for a, b in course["segments"]
        )
        out.must("course.rows", held, where, "a piece lies beyond its stretches")


def _scribed(scene: Scene, course: Json, out: Verdicts, where: str) -> None:
    """Check whether a long edge of a course leaves the straight."""
    out_of_line = 0.0
    for piece in scene.deck["pieces"]:
        if piece["course"] == course["index"]:
            for a, b in corners(scene.shapes[piece["id"]]):
                if abs(b[0] - a[0]) > abs(b[1] - a[1]):
                    out_of_line = max(out_of_line, abs(b[1] - a[1]))
    if out_of_line > 1:
        out.must("course.rows", course["scribed"], where, "a long edge is scribed")
    elif out_of_line < EXACT:
        out.must("course.rows", not course["scribed"], where, "no long edge is scribed")


def _narrowest(scene: Scene, course: Json, out: Verdicts, where: str) -> None:
    """Hold a course's least width, as the deck would have it without openings and obstacles."""
    own = _least_width(scene, course)
    if own is None:
        return
    out.at_least("board.rip.least", own, scene.pack["board.rip.least"], where, "Its narrowest")
    out.same("course.rows", course["narrowest"], own, where, "its narrowest place", 0.2)


def _least_width(scene: Scene, course: Json) -> float | None:
    """Return a course's least width between the walls, corners cut off by a wall left aside."""
    y0, y1 = course["y0"], course["y1"]
    gap = scene.deck["deck"]["gap"]
    whole: Area = scene.ground.outline.buffer(-gap, join_style="mitre")
    # A laid deck parts courses as a wall does; openings and obstacles are let off by the rule.
    taken = unary_union([laid for _, laid in scene.ground.rectangles("laid")])
    whole = whole.difference(taken)
    x0, _, x1, _ = scene.area.bounds
    # The outline follows a wall straight from the first of its places to the last.
    start, end = (
        Line(wall.name, (wall.points[0], wall.points[-1]))
        for wall in (scene.ground.start, scene.ground.end)
    )
    x0 = max(x0, *(start.x(y) + gap for y in (y0, y1)))
    x1 = min(x1, *(end.x(y) - gap for y in (y0, y1)))
    row = whole.intersection(box(x0, y0, x1, y1))
    if thin(row) or x1 - x0 < 1:
        return None
    # Where a row only grazes the walls there are bare lines beside the areas.
    parts = [p for p in getattr(row, "geoms", [row]) if p.geom_type == "Polygon"]
    # The width changes evenly between corners, so the least of it is at one of them.
    xs = {x + d for part in parts for x, _ in part.exterior.coords for d in (-0.01, 0.01)}
    # Corners cut off by the slanting end of a laid deck, or by a wall that stands into the room,
    # are left aside like those of the walls at the ends.
    slants = [*_slants(scene, y0, y1), *_inner_walls(whole, y0, y1)]
    xs |= {x for low, high in slants for x in (low - 0.03, high + 0.03)}
    xs = {x for x in xs if not any(low - 0.02 < x < high + 0.02 for low, high in slants)}
    # Where an outline steps back there is no row to be narrow.
    reach = [(part.bounds[0], part.bounds[2]) for part in parts]
    xs = {x for x in xs if any(low < x < high for low, high in reach)}
    cuts = [LineString([(x, y0), (x, y1)]) for x in xs if x0 < x < x1]
    # Where the laid deck has all of it, nothing is left to lay.
    left = [cut for cut in cuts if not (cut.intersects(taken) and _bare_at(row, cut))]
    widths: list[float] = [row.intersection(cut).length for cut in left]
    return min(widths, default=None)


def _slants(scene: Scene, y0: float, y1: float) -> list[tuple[float, float]]:
    """Return from which x to which the ends of laid decks lie within a course [mm]."""
    return [
        (min(a[0], b[0]), max(a[0], b[0]))
        for _, laid in scene.ground.rectangles("laid")
        for a, b in corners(laid)
        if abs(b[1] - a[1]) > abs(b[0] - a[0]) and min(a[1], b[1]) < y1 and max(a[1], b[1]) > y0
    ]


def _inner_walls(whole: Area, y0: float, y1: float) -> list[tuple[float, float]]:
    """Return from which x to which walls that run with the joists lie within a course [mm]."""
    out = []
    for part in getattr(whole, "geoms", [whole]):
        for a, b in corners(part) if part.geom_type == "Polygon" else ():
            low, high = max(min(a[1], b[1]), y0), min(max(a[1], b[1]), y1)
            if abs(b[1] - a[1]) > abs(b[0] - a[0]) and low < high:
                lean = (b[0] - a[0]) / (b[1] - a[1])
                xs = [a[0] + lean * (y - a[1]) for y in (low, high)]
                out.append((min(xs), max(xs)))
    return out


def _bare_at(row: Area, cut: LineString) -> bool:
    """Say whether next to nothing of a row lies on a line."""
    return bool(row.intersection(cut).length <= EXACT)


def _continues(scene: Scene, out: Verdicts) -> None:
    """Check that a deck that goes on from a laid one mates with an edge of it."""
    goes_on = scene.deck["deck"]["continues"]
    laid = dict(scene.ground.rectangles("laid"))
    if not goes_on:
        return
    if not out.must(
        "deck.continues", goes_on["feature"] in laid, "the deck", "no such deck is laid"
    ):
        return
    near = scene.deck["laid_from"] == "near"
    ys = [y for _, y in laid[goes_on["feature"]].exterior.coords]
    edge = max(ys) if near else min(ys)
    out.same("deck.continues", goes_on["y"], edge, "the laid deck", "where its edge lies", 0.5)
    if scene.deck["courses"]:
        begins = [course["y0"] if near else course["y1"] for course in scene.deck["courses"]]
        beside = (goes_on["y"] - begins[0]) * (1 if near else -1)
        # Beside a deck that has only part of the length, courses lie in line with its own.
        rows = min(ceil(max(beside - EXACT, 0.0) / scene.board["width"]), len(begins) - 1)
        where = f"course {rows + 1}"
        out.same("deck.continues", begins[rows], goes_on["y"], where, "where it begins")
        side = "near" if near else "far"
        for piece in scene.deck["pieces"]:
            if piece["course"] == rows:
                held = piece[side] == scene.ends[side]
                out.must("deck.continues", held, piece["id"], "its edge does not mate")
