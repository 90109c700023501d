"""The zone that a new opening is wanted in: given in the plane, or set out from a joist's face."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from shapely import Polygon, box

from baywalk.planning.refused import BadChoice

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.choices import Choices, Zone

_SIDES = {"left": -0.5, "centre": 0.0, "right": 0.5}
"""Where a face lies from a joist's centre, in breadths."""


def the_run(runs: Sequence[dict[str, Any]], choices: Choices) -> dict[str, Any]:
    """Return the run that the opening is wanted in; else raise :class:`BadChoice`."""
    wanted = choices.zone.run if choices.zone else None
    known = [run for run in runs if wanted in (None, run["id"])]
    if len(known) == 1:
        return known[0]
    names = ", ".join(run["id"] for run in runs)
    raise BadChoice("zone", f"name its run, one of {names}, as {runs[0]['id']}:0,0,1500,1500")


def zone_of(run: dict[str, Any], choices: Choices) -> Polygon:
    """Return the zone in the plane [mm]; the whole run where none is given."""
    zone = choices.zone
    if zone is None:
        return Polygon(run["outline"])
    if zone.start is None:
        return box(*zone.figures)
    return _set_out(run, zone)


def _set_out(run: dict[str, Any], zone: Zone) -> Polygon:
    """Return a rectangle set out from a joist's face along the joist, as features are."""
    number, face, line = zone.start or (0, "centre", "")
    walls = {0: run["walls"]["start"], len(run["joists"]) + 1: run["walls"]["end"]}
    member = walls.get(number) or next((j for j in run["joists"] if j["index"] == number), None)
    at = (member or {"at": {}})["at"].get(line) or {}
    if member is None or at.get("point") is None:
        raise BadChoice("zone", f"joist {number} has no place on the tape line {line!a}")
    (x, y), (ux, uy) = at["point"], _direction(run, line)
    breadth = 0.0 if number in walls else _breadth(run, member)
    turn = math.radians(member.get("angle") or 0.0)
    vx, vy = math.sin(turn), math.cos(turn)
    across, along, width, length = zone.figures
    a0 = across + _SIDES[face] * breadth
    corners = [(a0, along), (a0 + width, along)]
    corners += [(a, along + length) for a, _ in reversed(corners)]
    return Polygon([(x + a * ux + b * vx, y + a * uy + b * vy) for a, b in corners])


def _breadth(run: dict[str, Any], joist: dict[str, Any]) -> float:
    known = joist["breadth"] or {}
    return float(known.get("value") or run["member"].get("breadth") or 0)


def _direction(run: dict[str, Any], line: str) -> tuple[float, float]:
    """Return the unit vector along a tape line, towards the end wall."""
    members = [run["walls"]["start"], *run["joists"], run["walls"]["end"]]
    points = [p for m in members if (p := (m["at"].get(line) or {}).get("point")) is not None]
    (xa, ya), (xb, yb) = points[0], points[-1]
    length = math.dist((xa, ya), (xb, yb))
    return ((xb - xa) / length, (yb - ya) / length) if length else (1.0, 0.0)
