"""Where deck would hang beside a wall, or an added joist may meet an opening.

Worked out from an as-built with a pencil's means.

For tests: no code is shared with the planner or its checker. Openings lie square, and a strip is
measured half way along them; obstacles, and decks that are there already, are not looked at.
"""

from __future__ import annotations

import itertools
import math
from typing import Any

Json = dict[str, Any]


def hanging_at_wall(loft: Json, pack: Any) -> list[str]:
    """Return the runs in which an opening cuts the joist beside a wall and leaves a strip of deck.

    The gap is the pack's greatest form, 2 mm to the metre and no less than 10.
    """
    return [run["id"] for run in loft["runs"] if max(_strips(run, pack), default=0.0) > 0]


def wide_at_opening(loft: Json, pack: Any) -> list[str]:
    """Return the runs in which an opening lies where joists stand too far apart for any board.

    That is the least that can make a joist to be added meet an opening or its trimmers.
    """
    most = max(limit for limit, _ in pack["deck.thickness"])
    return [run["id"] for run in loft["runs"] if any(c > most for c in _at_openings(run))]


def _at_openings(run: Json) -> list[float]:
    """Return the largest centres of each bay that an opening lies in [mm]."""
    out = []
    for one, other in itertools.pairwise(run["joists"]):
        for feature in run["features"]:
            if feature["feature"] == "opening":
                (x0, y0), (x1, y1) = feature["polygon"][0], feature["polygon"][2]
                if any(_x_of(one, y) < x1 and x0 < _x_of(other, y) for y in (y0, y1)):
                    places = one["at"].keys() & other["at"].keys()
                    out.append(max(_apart(one, other, line) for line in places))
    return out


def _apart(one: Json, other: Json, line: str) -> float:
    return float(other["at"][line]["point"][0] - one["at"][line]["point"][0])


def _strips(run: Json, pack: Any) -> list[float]:
    """Return by how much each strip beside a wall is wider than one left open [mm]."""
    xs, ys = zip(*run["outline"], strict=True)
    longest = max(max(xs) - min(xs), max(ys) - min(ys)) / 1000
    gap = math.ceil(max(10, 2 * longest) - 1e-6)
    out = []
    for feature in run["features"]:
        if feature["feature"] == "opening":
            (x0, y0), (x1, y1) = feature["polygon"][0], feature["polygon"][2]
            ends = ("start", run["joists"][0], x0, 1), ("end", run["joists"][-1], x1, -1)
            for wall, joist, edge, sign in ends:
                half = joist["breadth"]["value"] / 2
                inner = [_x_of(joist, y) + sign * half for y in (y0, y1)]
                # The joist beside the wall is cut where it stands beyond the opening's edge.
                if max(sign * (x - edge) for x in inner) > 1 and _meets(joist, feature):
                    face = _x_of(run["walls"][wall], (y0 + y1) / 2)
                    out.append(sign * (edge - face) - gap - pack["deck.least.width"])
    return out


def _meets(joist: Json, feature: Json) -> bool:
    """Say whether a joist reaches into an opening by more than a graze of 1 mm."""
    (x0, y0), (x1, y1) = feature["polygon"][0], feature["polygon"][2]
    half = joist["breadth"]["value"] / 2
    faces = [(_x_of(joist, y) - half, _x_of(joist, y) + half) for y in (y0, y1)]
    return any(high - 1 > x0 and low + 1 < x1 for low, high in faces)


def _x_of(member: Json, y: float) -> float:
    """Return where a member's centre is at ``y`` [mm], straight between its outer tape lines."""
    points = sorted((p["point"] for p in member["at"].values()), key=lambda p: p[1])
    (xa, ya), (xb, yb) = points[0], points[-1]
    return float(xa + (xb - xa) * (y - ya) / (yb - ya))
