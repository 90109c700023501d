"""Added joists at openings: is each cut where it must be, and borne at both ends of every part?"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

from shapely.geometry import LineString, Point, Polygon, box

from baywalk.planning.check.area import thin
from baywalk.planning.check.noggins import WHOLE
from baywalk.planning.check.openings import LOOKS, RULE, TOUCH, trimmed_bay, trimmed_between
from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from baywalk.planning.check.ground import Line
    from baywalk.planning.check.scene import Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

FAR = 1e5
"""Beyond any loft [mm]."""
NEAR = 0.3
"""How far a rounded place may be from where it is worked out to be [mm]."""

Trimmer = tuple[str, Polygon]
"""A trimmer's id, and the room that it takes, seen from above."""


def check_tails(scene: Scene, out: Verdicts) -> None:
    """Check every added joist beside openings: whole and clear of them, or cut and hung."""
    there = _trimmers(scene)
    for joist in scene.deck["added_joists"]:
        line = scene.added[joist["bay"], joist["n"]]
        tails = joist.get("tails")
        ends = [(t["near"], t["far"]) for t in tails] if tails else [(joist["near"], joist["far"])]
        for near, far in ends:
            right = near[1] < far[1]
            if out.must(RULE, right, line.name, "a part of it ends before it begins"):
                _clear(scene, line, (near[1], far[1]), there, out)
        if tails:
            for tail in tails:
                _tail(scene, joist, line, tail, there, out)
            _covered(scene, joist, line, there, out)
    for opening, lines in zip(scene.deck["openings"], scene.stopped, strict=True):
        for line in lines:
            _spanned(scene, opening, line, out)
        _may_hang(scene, opening, lines, there, out)


def _trimmers(scene: Scene) -> list[Trimmer]:
    """Return every trimmer of the deck."""
    out = []
    for opening in scene.deck["openings"]:
        bay = trimmed_bay(scene, opening)
        for trimmer in opening["trimmers"]:
            left, right = bay.clear(trimmer["y"])
            half = trimmer["section"]["breadth"] * trimmer["plies"] / 2
            room = box(left, trimmer["y"] - half, right, trimmer["y"] + half)
            out.append((trimmer["id"], room))
    return out


def _clear(
    scene: Scene, line: Line, reach: tuple[float, float], there: list[Trimmer], out: Verdicts
) -> None:
    """Check that a part of an added joist stands in no opening and in no trimmer."""
    strip = line.strip(*reach)
    for name, shape in scene.ground.rectangles("opening"):
        free = thin(strip.intersection(shape), 1.0)
        out.must(RULE, free, line.name, f"it stands in the opening {name}")
    for name, room in there:
        out.must(RULE, thin(strip.intersection(room), TOUCH), line.name, f"it stands in {name}")


def _tail(
    scene: Scene, joist: Json, line: Line, tail: Json, there: list[Trimmer], out: Verdicts
) -> None:
    """Check one part: where it lies, that both its ends are borne, and its length."""
    name, hangs = line.name, []
    for key, side in (("near", 1), ("far", -1)):
        x, y = tail[key]
        out.same(RULE, x, line.x(y), name, "where a part of it ends", NEAR)
        if abs(y - joist[key][1]) > EXACT:
            found = _meets(line, y, side, there)
            out.must(RULE, found, name, f"a part of it hangs on nothing at y {y:.0f}")
            hangs += found[:1]
        else:
            under = scene.area.intersection(_beyond(line, y, side)).length
            out.at_most(RULE, under, WHOLE, name, "How far the deck goes on past its end")
    out.must(RULE, tail["hangs"] == hangs, name, f"a part of it hangs on {' and '.join(hangs)}")
    (_, y0), (_, y1) = tail["near"], tail["far"]
    lean = abs(line.slope((y0 + y1) / 2))
    # Sawn square, one that leans goes in by the shorter of its sides.
    room = (y1 - y0) * math.hypot(1, lean) - line.breadth * lean
    room -= float(scene.pack["noggin.fit"])
    out.at_most("opening.fit", tail["length"], room, name, "The length of a part")
    out.at_least("opening.fit", tail["length"], room - WHOLE, name, "The length of a part")


def _meets(line: Line, y: float, side: int, there: list[Trimmer]) -> list[str]:
    """Return the trimmers whose face a joist meets over its whole breadth at ``y``."""
    out = []
    for name, room in there:
        left, low, right, high = room.bounds
        face = high if side > 0 else low
        over = left - TOUCH <= line.left(y) and line.right(y) <= right + TOUCH
        if abs(y - face) <= NEAR and over:
            out.append(name)
    return out


def _beyond(line: Line, y: float, side: int) -> LineString:
    """Return the joist's centre line beyond its end, as far as a deck could reach."""
    far = y - side * FAR
    return LineString([(line.x(y), y), (line.x(far), far)])


def _covered(scene: Scene, joist: Json, line: Line, there: list[Trimmer], out: Verdicts) -> None:
    """Check that a joist is left out only at openings, at trimmers, and where none could be cut."""
    ys = [joist["near"][1], *(t[k][1] for t in joist["tails"] for k in ("near", "far"))]
    ys.append(joist["far"][1])
    out.must(RULE, ys == sorted(ys), line.name, "its parts are out of order")
    limit = scene.pack["noggin.cut_least"] + scene.pack["noggin.fit"] + WHOLE
    taken = [room.bounds[1::2] for _, room in there if _crosses(line, room)]
    for opening, lines in zip(scene.deck["openings"], scene.stopped, strict=True):
        places = [y for _, y in opening["polygon"]]
        taken += [(min(places), max(places))] if line in lines else []
    for low, high in zip(ys[::2], ys[1::2], strict=True):
        bare = _longest_bare(low, high, sorted(taken))
        text = "The longest stretch where it is left out and nothing stands in its place"
        out.at_most(RULE, bare, limit, line.name, text)


def _crosses(line: Line, room: Polygon) -> bool:
    left, low, right, high = room.bounds
    return left <= line.x((low + high) / 2) <= right


def _longest_bare(low: float, high: float, taken: list[tuple[float, ...]]) -> float:
    """Return the longest part of a stretch that others leave bare [mm]."""
    reached, bare = low, 0.0
    for a, b in taken:
        bare = max(bare, min(a, high) - reached)
        reached = max(reached, min(b, high))
    return max(bare, high - reached)


def _spanned(scene: Scene, opening: Json, line: Line, out: Verdicts) -> None:
    """Check that boards beside an opening reach no further than they may without the joist cut."""
    low, high = (f(y for _, y in opening["polygon"]) for f in (min, max))
    whole = [joist for joist in scene.joists if joist not in scene.gone(opening)]
    allowed = [most for most, least in scene.pack["deck.thickness"] if least <= _thick(scene)]
    for k in range(1, LOOKS):
        y = low + (high - low) * k / LOOKS
        xs = sorted(joist.x(y) for joist in whole)
        for a, b in pairwise(xs):
            if a < line.x(y) < b:
                over = scene.area.intersection(LineString([(a, y), (b, y)]))
                parts = getattr(over, "geoms", [over])
                widest = max((part.length for part in parts), default=0.0)
                text = "Beside the opening, where it is cut away, the reach of the boards"
                out.at_most("deck.thickness", widest, max(allowed, default=0), line.name, text)


def _thick(scene: Scene) -> float:
    return float(scene.board["thickness"])


def _may_hang(
    scene: Scene, opening: Json, lines: list[Line], there: list[Trimmer], out: Verdicts
) -> None:
    """Check an opening with trimmers for added joists alone: between joists, with room for them."""
    if not lines or opening["joists_cut"]:
        return
    name, ids = opening["feature"], {trimmer["id"] for trimmer in opening["trimmers"]}
    first, last = trimmed_between(scene, opening)
    known = first in scene.ground.joists and last in scene.ground.joists
    out.must(RULE, known, name, "no joist stands on either side to carry it")
    spots = [Point(line.x(y), y) for line in lines for y in (opening["polygon"][0][1],)]
    bay = trimmed_bay(scene, opening)
    inside = all(bay.clear(spot.y)[0] < spot.x < bay.clear(spot.y)[1] for spot in spots)
    out.must(RULE, inside, name, "a joist that it cuts stands in another bay")
    for own, room in there:
        if own not in ids:
            continue
        inside = thin(room.difference(scene.ground.outline), TOUCH)
        out.must(RULE, inside, own, "it reaches beyond the outline")
        for kind in ("opening", "obstacle"):
            for other, shape in scene.ground.rectangles(kind):
                out.must(RULE, thin(room.intersection(shape), TOUCH), own, f"it stands in {other}")
        for other, taken in there:
            free = other in ids or thin(room.intersection(taken), TOUCH)
            out.must(RULE, free, own, f"it stands in {other}")
