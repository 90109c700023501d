"""The run drawn from above: what every sheet that shows the loft has in common."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from shapely import LineString, Polygon, clip_by_rect

from baywalk.sheets import dims, shape
from baywalk.sheets.ink import BROKEN, MEDIUM, SMALL, THICK, THIN, Box, Page, Point, Words
from baywalk.sheets.view import SCALES, View, fitting, view_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from shapely.geometry.base import BaseGeometry


_EDGE = 1.0
"""How far past its edge a window still shows what lies along it [mm]."""
_STEP = 6.0
"""How far along its joist a name moves where its neighbour's is in the way [mm, on the page]."""


def windows(bounds: Box, room: Box, figures: int) -> tuple[int, list[Box]]:
    """Return the scale 1:n and the windows on the plane, one a page, that show all of ``bounds``.

    ``room`` is the paper there is [mm]; ``figures`` is how many figures stand side by side along
    the rod. A run too long for its figures goes on on further pages, at one scale.
    """
    scale = max(fitting(bounds.width, room.width), fitting(bounds.height, room.height))
    if dims.fits(figures, room.width):
        return scale, [bounds]
    tight = figures * dims.pitch() * 1.1
    roomy = [n for n in SCALES if n < scale and bounds.width / n >= tight]
    low = [n for n in roomy if bounds.height / n <= room.height]
    scale = max(low) if low else fitting(bounds.height, room.height)
    # Some paper at both ends stays free for figures that have moved apart.
    pages = math.ceil(bounds.width / scale / (room.width - 10))
    step = bounds.width / pages
    edges = [bounds.left + k * step for k in range(pages + 1)]
    return scale, [bounds._replace(left=a, right=b) for a, b in pairwise(edges)]


def view(window: Box, room: Box, scale: int) -> View:
    """Return the view of a window [mm, in the loft] in the middle of a room [mm, on the page]."""
    return view_of(window, room, scale)


def clipped(geometry: BaseGeometry, window: Box) -> Iterator[tuple[Point, ...]]:
    """Give the parts of a line or polygon that lie in a window, as rows of points [mm]."""
    # What lies along the window's own edge belongs to it: cutting there would lose it.
    inside = clip_by_rect(geometry, *window.less(-_EDGE, -_EDGE, -_EDGE, -_EDGE))
    for part in getattr(inside, "geoms", [inside]):
        if part.is_empty:
            continue
        outer = part.exterior if isinstance(part, Polygon) else part
        yield tuple((x, y) for x, y, *_ in outer.coords)


def outline(page: Page, seen: View, run: Mapping[str, Any], window: Box) -> None:
    """Draw the deck's limit and the two walls, as far as they are known."""
    limit = shape.outline(run)
    if limit is not None:
        for part in clipped(limit.exterior, window):
            page.line(*seen.ring(part), pen=MEDIUM)
    for wall in run["walls"].values():
        known = shape.points(run, wall["at"])
        if len(known) < 2:
            continue
        line = shape.centre_line(run, wall) if limit is not None else known
        for part in clipped(LineString(line), window):
            page.line(*seen.ring(part), pen=THICK)


def joists(page: Page, seen: View, run: Mapping[str, Any], window: Box) -> None:
    """Draw the joists of a window from above; broken where unsure."""
    for joist in run["joists"]:
        if not _within(shape.points(run, joist["at"]), window):
            continue
        wide = shape.breadth(run, joist)
        sure = wide is not None and shape.direction(run, joist) is not None
        dash = () if sure else BROKEN
        for timber in shape.timbers(run, joist):
            if wide:
                page.shape(seen.ring(shape.body(timber, wide)), pen=THIN, fill=1.0, dash=dash)
            else:
                page.line(*seen.ring(timber), dash=dash)


def names(page: Page, seen: View, run: Mapping[str, Any], window: Box) -> None:
    """Write the joists' numbers on them."""
    for joist in run["joists"]:
        if _within(shape.points(run, joist["at"]), window):
            middle = _middle(shape.centre_line(run, joist))
            name(page, seen.at(middle), f"J{joist['index']}")


def name(page: Page, at: Point, text: str) -> None:
    """Write a timber's name across its middle; beside other words, some steps along it."""
    for step in (0, 1, -1, 2, -2, 3, -3):
        place = (at[0] + SMALL / 2, at[1] + step * _STEP)
        one = Words(place, text, SMALL, "middle", bold=True, up=True)
        if page.free(one.box):
            page.words(place, text, SMALL, "middle", up=True, bold=True, clear=True)
            return


def _middle(line: Sequence[Point]) -> Point:
    half = LineString(line).interpolate(0.5, normalized=True)
    return (half.x, half.y)


def _within(line: Sequence[Point], window: Box) -> bool:
    """Say whether a joist belongs to a window: by its middle, so that it is drawn but once."""
    if not line:
        return False
    middle = sum(p[0] for p in line) / len(line)
    return window.left - 1e-6 <= middle <= window.right + 1e-6


def features(page: Page, seen: View, run: Mapping[str, Any], window: Box) -> None:
    """Draw openings, obstacles and laid decks, told apart by their hatch and their word."""
    for feature in run.get("features") or []:
        corners = feature.get("polygon")
        if not corners or len(corners) < 3:
            continue
        area = Polygon(corners)
        parts = [seen.ring(ring) for ring in clipped(area, window)] if area.is_valid else []
        for ring in parts:
            page.shape(ring, pen=MEDIUM, fill=1.0)
            _marked(page, ring, feature["feature"])


def _marked(page: Page, ring: tuple[Point, ...], kind: str) -> None:
    """Mark an area by its kind: crossed for a hole, hatched for a body, its word in the middle."""
    xs, ys = [p[0] for p in ring], [p[1] for p in ring]
    box = Box(min(xs), min(ys), max(xs), max(ys))
    if kind == "opening":
        page.many([((box.left, box.top), (box.right, box.bottom))])
        page.many([((box.left, box.bottom), (box.right, box.top))])
    else:
        page.many(_hatch(ring, box, 1.5 if kind == "obstacle" else 4.0))
    x, y = (box.left + box.right) / 2, (box.top + box.bottom) / 2 + SMALL / 2
    tries = [Words((x, y + k * _STEP / 2), kind, SMALL, "middle") for k in (0, 1, -1, 2, -2)]
    one = next((one for one in tries if page.free(one.box)), None)
    if one:
        page.words(one.at, kind, SMALL, "middle", clear=True)


def _hatch(ring: tuple[Point, ...], box: Box, step: float) -> list[tuple[Point, ...]]:
    """Return the lines that hatch an area, ``step`` [mm] apart."""
    area = Polygon(ring)
    reach = box.width + box.height
    count = int(reach / step)
    lines = [
        LineString([(box.left + k * step, box.top), (box.left + k * step - box.height, box.bottom)])
        for k in range(1, count + 1)
    ]
    out: list[tuple[Point, ...]] = []
    for line in lines:
        part = line.intersection(area)
        out += [tuple(p.coords) for p in getattr(part, "geoms", [part]) if p.length > 0]
    return out
