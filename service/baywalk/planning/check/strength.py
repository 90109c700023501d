"""What lies under the boards: the shortest pieces and the rows of strutting."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from shapely.geometry import Point, box

from baywalk.planning.check.area import corners
from baywalk.planning.check.noggins import bay_of, centre
from baywalk.planning.check.openings import trimmed
from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from baywalk.planning.check.ground import Line
    from baywalk.planning.check.scene import Bay, Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

MIDDLE = 50.0
"""How far a row of strutting may stand from its even share of the span [mm]."""


def check_shortest(scene: Scene, out: Verdicts) -> None:
    """Check each piece's length, or how it is borne where it is shorter."""
    out.looked("board.shortest.bays")
    limit = shortest(scene)
    for piece in short(scene):
        if not _all_round(scene, piece):
            text = f"Its length, on {borne_on(scene, piece)} joists,"
            out.at_least("board.shortest.bays", piece["length"], limit, piece["id"], text)


def shortest(scene: Scene) -> float:
    """Return the length from which a piece may lie anywhere [mm]."""
    spacing = scene.ground.spacing()
    return float(scene.pack["board.shortest.bays"] * spacing) if spacing else 0.0


def short(scene: Scene) -> list[Json]:
    """Return the pieces that are too short but for noggins under every edge."""
    limit = shortest(scene) - EXACT
    return [
        piece
        for piece in scene.deck["pieces"]
        if piece["length"] < limit and borne_on(scene, piece) < scene.pack["board.shortest.joists"]
    ]


def borne_on(scene: Scene, piece: Json) -> int:
    """Return on how many joists a piece has its bearing over its whole width."""
    x0, y0, x1, y1 = scene.shapes[piece["id"]].bounds
    # A piece that only touches a joist does not bear on it.
    least = scene.pack["joint.bearing"] - EXACT
    return sum(
        all(
            min(right, x1) - max(left, x0) >= min(least, line.breadth)
            for left, right in map(line.sure, line.kinks(y0, y1))
        )
        for line in scene.joists
    )


def _all_round(scene: Scene, piece: Json) -> bool:
    """Say whether every side of a piece lies on something over its length."""
    return all(_side_borne(scene, a, b) for a, b in corners(scene.shapes[piece["id"]]))


def _side_borne(scene: Scene, a: tuple[float, float], b: tuple[float, float]) -> bool:
    # Along the deck's edge the rule of the edge decides, and it is checked for itself.
    middle = Point((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    if scene.area.boundary.distance(middle) <= 4 * EXACT:
        return True
    if abs(b[0] - a[0]) < abs(b[1] - a[1]):
        return _end_borne(scene, a, b)
    (x0, y0), (x1, y1) = sorted((a, b))
    for bay in scene.bays:
        left, right = bay.clear(y0)
        for low, high in _bare(scene, max(left, x0), min(right, x1), (y0 + y1) / 2):
            if high - low > scene.pack["noggin.cut_least"] and not _stands_out(
                scene, bay, low, high, y0
            ):
                x = (low + high) / 2
                if not _noggin_at(scene, bay, (x, y0 + (y1 - y0) * (x - x0) / (x1 - x0))):
                    return False
    return True


def _stands_out(scene: Scene, bay: Bay, low: float, high: float, y: float) -> bool:
    """Say whether a board ends so near beyond a joist that it carries its own edge."""
    left, right = bay.clear(y)
    beside = (low - left <= EXACT and bay.a.breadth > 0) or (
        right - high <= EXACT and bay.b.breadth > 0
    )
    whole = high - low >= right - left - EXACT
    return beside and not whole and high - low <= scene.pack["noggin.edge.overhang"] + EXACT


def _bare(scene: Scene, low: float, high: float, y: float) -> list[tuple[float, float]]:
    """Return the parts of a long side within a bay that lie on no timber along the bay [mm]."""
    parts = [(low, high)]
    for noggin in scene.deck["noggins"]:
        half = noggin["section"]["breadth"] / 2
        if noggin.get("along") and abs(noggin["y"] - y) <= noggin["length"] / 2 + half:
            a, b = noggin["x"] - half, noggin["x"] + half
            parts = [p for s, e in parts for p in ((s, min(e, a)), (max(s, b), e)) if p[1] > p[0]]
    return parts


def _end_borne(scene: Scene, a: tuple[float, float], b: tuple[float, float]) -> bool:
    """Say whether a short side lies on a joist, a cleat, a frame, or near enough to a joist."""
    middle = (a[1] + b[1]) / 2
    if any(
        abs(j["x"] - a[0]) <= 2 * EXACT and j["y0"] - 1 <= middle <= j["y1"] + 1
        for j in scene.deck["joints"]
    ):
        return True
    limit = scene.pack["noggin.edge.overhang"]
    return any(
        line.left(middle) - limit <= a[0] <= line.right(middle) + limit for line in scene.joists
    )


def _noggin_at(scene: Scene, bay: Bay, place: tuple[float, float]) -> bool:
    """Say whether a noggin of a bay, or a trimmer, lies under a place."""
    x, y = place
    if any(a <= x <= b and low <= y <= high for a, b, (low, high) in trimmed(scene)):
        return True
    return any(
        not n.get("along")
        and n["bay"] == bay.bay
        and n["ends"][0][0] <= x <= n["ends"][1][0]
        and abs(centre(n, x) - y) <= n["section"]["breadth"] / 2 + EXACT
        for n in scene.deck["noggins"]
    )


def check_strutting(scene: Scene, out: Verdicts) -> None:
    """Check rows of strutting by the larger span of each bay's joists."""
    out.looked("strutting.rows")
    for bay in scene.bays:
        sides = [parts for line in (bay.a, bay.b) if (parts := _spans(scene, line))]
        own = [
            n
            for n in scene.deck["noggins"]
            if n["use"] == "strutting" and not n.get("along") and bay_of(scene, n) == bay
        ]
        # Joists that lap have a span on each side of what they lap over.
        for spans in zip(*sides, strict=False):
            start, span = max(spans, key=lambda s: s[1])
            rows = rows_for(scene, span)
            for row in range(1, rows + 1):
                _row(scene, bay, start + span * row / (rows + 1), own, out)


def rows_for(scene: Scene, span: float) -> int:
    """Return how many rows of strutting a span [mm] takes."""
    table = scene.pack["strutting.rows"]
    # Below the first span none; up to the second, that itself included, one; beyond it one more.
    if span < table[0][0]:
        return int(table[0][1])
    return int(table[1][1]) if span <= table[1][0] else int(table[1][1]) + 1


def _spans(scene: Scene, line: Line) -> list[tuple[float, float]]:
    """Return where each span of a joist begins and how long it is, where it is known [mm]."""
    whole = _span(scene, line)
    if whole is None:
        return []
    start, end = whole[0], sum(whole)
    # What they lap over is taken to lie midway between the lines on both sides of it.
    middles = sorted((begins + ends) / 2 for begins, ends in line.laps)
    marks = [start, *(y for y in middles if start < y < end), end]
    return [(a, b - a) for a, b in pairwise(marks)]


def _span(scene: Scene, line: Line) -> tuple[float, float] | None:
    """Return where a joist's span begins and how long it is, where the as-built knows [mm]."""
    joist = next((n for n, known in scene.ground.joists.items() if known == line), None)
    if joist is None:
        return None
    known = scene.ground.joist_json(joist)
    ends = known["ends"] or {}
    if not known["span"] or "near_support" not in ends:
        return None
    return ends["near_support"]["value"], known["span"]["value"]


def _row(scene: Scene, bay: Bay, y: float, own: list[Json], out: Verdicts) -> None:
    x0, x1 = bay.clear(y)
    spot = box(x0, y - MIDDLE, x1, y + MIDDLE)
    blocked = any(
        feature.intersects(spot)
        for kind in ("opening", "obstacle")
        for _, feature in scene.ground.rectangles(kind)
    )
    # Where an opening cuts a joist away there is nothing to steady.
    blocked = blocked or scene.cut_at(bay.a, y) or scene.cut_at(bay.b, y)
    if blocked or x1 - x0 < scene.pack["noggin.cut_least"]:
        return
    where = f"{'–'.join(bay.names)} at y {y:.0f}"
    held = any(abs(n["y"] - y) <= MIDDLE for n in own) or _trimmer_at(scene, (x0 + x1) / 2, y)
    out.must("strutting.rows", held, where, "a row of strutting is missing there")


def _trimmer_at(scene: Scene, x: float, y: float) -> bool:
    """Say whether a trimmer stands where a row of strutting would, and does its work."""
    for opening in scene.deck["openings"]:
        xs = [corner[0] for corner in opening["polygon"]]
        for trimmer in opening["trimmers"]:
            reach = trimmer["section"]["breadth"] * trimmer["plies"] / 2 + MIDDLE
            beside = min(xs) - trimmer["length"] <= x <= max(xs) + trimmer["length"]
            if beside and abs(trimmer["y"] - y) <= reach:
                return True
    return False
