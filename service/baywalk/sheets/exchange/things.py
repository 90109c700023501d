"""Everything of an as-built and a plan that has a shape in the plane: one list for every format."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from shapely import LineString, Point, Polygon

from baywalk.sheets import shape
from baywalk.sheets.courses import carried
from baywalk.sheets.plan_parts import polygon

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from shapely.geometry.base import BaseGeometry

    from baywalk.sheets.catalogue import Source
    from baywalk.sheets.plan_parts import Deck

LAYERS = (
    "walls",
    "joists",
    "joist centres",
    "tape lines",
    "measured points",
    "deck limit",
    "openings",
    "obstacles",
    "deck already laid",
    "boards",
    "end joints",
    "noggins",
    "cleats",
    "added joists",
)
"""Layers in plain words, in the order in which they are drawn."""

_FEATURES = {"opening": "openings", "obstacle": "obstacles", "laid": "deck already laid"}


@dataclass(frozen=True)
class Thing:
    """One thing: its layer, its name, its shape in the plane [mm], and what else is known of it."""

    layer: str
    name: str
    shape: BaseGeometry
    known: dict[str, Any] = field(default_factory=dict)


def things(source: Source) -> list[Thing]:
    """Return everything that has a shape: of the as-built, then of the plan where there is one."""
    found = [thing for run in source.as_built["runs"] for thing in _run(run)]
    return found + [thing for deck in source.decks for thing in _deck(deck)]


def _run(run: Mapping[str, Any]) -> Iterator[Thing]:
    for end, wall in run["walls"].items():
        line = shape.points(run, wall["at"])
        if len(line) > 1:
            yield Thing("walls", f"{end} wall", LineString(line), {"run": run["id"]})
    for joist in run["joists"]:
        yield from _joist(run, joist)
    for line in run["lines"]:
        yield from _tape(run, line)
    limit = shape.outline(run)
    if limit is not None:
        yield Thing("deck limit", f"limit {run['id']}", limit, {"run": run["id"]})
    for feature in run.get("features") or []:
        corners, kind = feature.get("polygon"), str(feature.get("feature"))
        if corners and len(corners) > 2:
            known = {"run": run["id"], "feature": kind, "id": feature.get("id")}
            yield Thing(_FEATURES.get(kind, "obstacles"), kind, Polygon(corners), known)


def _joist(run: Mapping[str, Any], joist: Mapping[str, Any]) -> Iterator[Thing]:
    line = shape.centre_line(run, joist)
    if not line:
        return
    name, wide = f"J{joist['index']}", shape.breadth(run, joist)
    depth = (joist.get("depth") or {}).get("value")
    known = {"run": run["id"], "index": joist["index"], "breadth": wide, "depth": depth}
    for timber in shape.timbers(run, joist):
        if wide:
            yield Thing("joists", name, Polygon(shape.body(timber, wide)), known)
        yield Thing("joist centres", name, LineString(timber), known)
    for tape, place in joist["at"].items():
        if place.get("point"):
            spot = {"run": run["id"], "line": tape, "x": place.get("x"), "sd": place.get("sd")}
            yield Thing("measured points", name, Point(place["point"]), spot)


def _tape(run: Mapping[str, Any], line: str) -> Iterator[Thing]:
    members = [*run["walls"].values(), *run["joists"]]
    points = [p for m in members if (p := (m["at"].get(line) or {}).get("point"))]
    if len(points) > 1:
        points.sort()
        ends = [points[0], points[-1]]
        yield Thing("tape lines", f"{line} line", LineString(ends), {"run": run["id"]})


def _deck(deck: Deck) -> Iterator[Thing]:
    about = {"deck": deck.data.get("id")}
    for piece in deck.data["pieces"]:
        kept = ("course", "board", "length", "width", "left", "right")
        known = about | {name: piece.get(name) for name in kept}
        yield Thing("boards", str(piece["id"]), polygon(piece), known)
    for joint in deck.many("joints"):
        low, high = joint.get("y0"), joint.get("y1")
        if low is not None and high is not None:
            line = LineString([(joint["x"], low), (joint["x"], high)])
            known = about | {"course": joint["course"], "on": carried(joint)}
            yield Thing("end joints", str(joint.get("id") or carried(joint)), line, known)
    for noggin in deck.noggins:
        yield from _timber("noggins", noggin, about)
    for cleat in deck.many("cleats"):
        yield from _cleat(deck, cleat, about)
    for added in deck.many("added_joists"):
        ends = [added.get("near"), added.get("far")]
        ends[1:1] = [point for lap in added.get("laps") or () for point in lap]
        tails = added.get("tails") or []
        for number, tail in enumerate(tails, start=1):
            named = {"id": f"{added['id']}.{number}", "length": tail["length"]}
            part = {**added, **named, "ends": [tail["near"], tail["far"]]}
            yield from _timber("added joists", part, about)
        if all(ends) and not tails:
            yield from _timber("added joists", {**added, "ends": ends}, about)


def _timber(layer: str, timber: Mapping[str, Any], about: dict[str, Any]) -> Iterator[Thing]:
    """Give a timber that is set out by both ends of its centre line."""
    ends, section = timber.get("ends"), timber.get("section") or {}
    wide = section.get("breadth")
    if not ends or len(ends) < 2 or not wide:
        return
    line = [(float(x), float(y)) for x, y in ends]
    known = about | {name: timber.get(name) for name in ("bay", "use", "length")}
    known |= {"breadth": wide, "depth": section.get("depth")}
    yield Thing(layer, str(timber["id"]), Polygon(shape.body(line, wide)), known)


def _cleat(deck: Deck, cleat: Mapping[str, Any], about: dict[str, Any]) -> Iterator[Thing]:
    timber = deck.named(deck.cleat_joist(cleat), left=True)
    section = cleat.get("section") or {}
    wide = section.get("breadth")
    if timber is None or not wide:
        return
    side = -1 if cleat.get("side") == "left" else 1
    off = side * (timber.breadth + wide) / 2
    half = cleat["length"] / 2
    ends = [timber.crossing(cleat["y"] + k * half) for k in (-1, 1)]
    line = [(x + off, y) for x, y in ends]
    known = about | {"joist": deck.cleat_joist(cleat), "side": cleat.get("side")}
    known |= {"length": cleat["length"], "breadth": wide, "depth": section.get("depth")}
    yield Thing("cleats", str(cleat["id"]), Polygon(shape.body(line, wide)), known)


def lines(geometry: BaseGeometry) -> Iterator[tuple[list[tuple[float, float]], bool]]:
    """Give a shape as rows of points [mm], and whether each is closed."""
    if isinstance(geometry, Polygon):
        for ring in (geometry.exterior, *geometry.interiors):
            yield [(x, y) for x, y, *_ in ring.coords[:-1]], True
    else:
        points = [(x, y) for x, y, *_ in geometry.coords]
        # A line of no length has no direction, and some readers refuse it.
        if len(points) == 1 or any(a != b for a, b in pairwise(points)):
            yield points, False
