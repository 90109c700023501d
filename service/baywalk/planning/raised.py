"""A deck raised above insulation, and packers where joist tops are out of level."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from shapely import Point

from baywalk.planning.courses import sections
from baywalk.planning.refused import Reason, Refused

if TYPE_CHECKING:
    from shapely import Polygon

    from baywalk.planning.ground import Ground, Member
    from baywalk.rules import Pack


def raised(
    run: dict[str, Any], ground: Ground, polygon: Polygon, pack: Pack
) -> list[dict[str, Any]]:
    """Return battens along the joists where insulation stands above them, and packers."""
    rows = _battens(run, ground, polygon, pack) + _packers(run, ground, polygon, pack)
    for number, row in enumerate(rows, start=1):
        row["id"] = f"R{number}"
    return rows


def rise(run: dict[str, Any], ground: Ground, pack: Pack) -> float:
    """Return how far the deck must stand above the joists [mm]; 0 where it lies on them.

    The deepest insulation of the run decides: a deck never presses insulation down.
    """
    most = 0.0
    for feature in run["features"]:
        depth = feature.get("depth")
        if feature["feature"] != "insulation" or isinstance(depth, bool):
            continue
        if isinstance(depth, int | float):
            beside = [m.depth for m in ground.joists if m.index in _bay(feature) and m.depth > 0]
            most = max(most, depth + pack["raise.clear"] - min(beside, default=depth))
    return most


def _bay(feature: dict[str, Any]) -> tuple[int, int]:
    bay = feature.get("bay")
    number = bay if isinstance(bay, int) else 0
    return number, number + 1


def _battens(
    run: dict[str, Any], ground: Ground, polygon: Polygon, pack: Pack
) -> list[dict[str, Any]]:
    need = rise(run, ground, pack)
    if need <= 0:
        return []
    if ground.laps:
        say = (
            f"{run['title'] or run['id']}: the insulation stands above joists that lap. Battens on"
            " them would have to lap as well, and are not planned. Take the insulation out under"
            " the deck, or strike out its depth."
        )
        raise Refused(Reason("lap.raised", say))
    sold = [depth for depth in pack["timber.depths"] if depth >= need]
    tall = min(sold) if sold else math.ceil(need)
    return [
        {
            "id": "",
            "kind": "batten",
            **member.label(),
            "y": round((low + high) / 2, 1),
            "length": round(high - low, 1),
            "breadth": _broad(member.breadth, pack),
            "thickness": tall,
            "say": f"On {member.name}: a batten {tall:g} mm high along the joist, for the"
            f" insulation stands {need:.0f} mm above it.",
        }
        for member in ground.joists
        for low, high in _under(member, polygon)
    ]


def _broad(joist: float, pack: Pack) -> float:
    """Return how broad a batten is on a joist so broad [mm].

    The usual one also where the joist is no more over its size than sawn timber may be; on a
    broader joist it is as broad as that, for joints come to lie anywhere on it.
    """
    usual, over = pack["raise.batten"]["breadth"], pack["timber.tolerance.T1"]["upto100"][1]
    return float(usual if joist <= usual + over else math.ceil(joist))


def _under(member: Member, polygon: Polygon) -> list[tuple[float, float]]:
    """Return the stretches [mm] of a member that a deck lies on, if only on one side of it."""
    middle = (polygon.bounds[1] + polygon.bounds[3]) / 2
    # Along a movement gap a deck ends on its own half of the joist.
    places = (member.centre(middle), member.left(middle) + 1, member.right(middle) - 1)
    return next((found for x in places if (found := sections(polygon, x))), [])


def lift(rows: list[dict[str, Any]]) -> float:
    """Return how far battens raise a deck [mm]; 0 where there are none."""
    return max((float(r["thickness"]) for r in rows if r["kind"] == "batten"), default=0.0)


def _packers(
    run: dict[str, Any], ground: Ground, polygon: Polygon, pack: Pack
) -> list[dict[str, Any]]:
    """Return what lifts low joists to the highest one, at each place where a level was read."""
    rule = pack["raise.packer"]
    read = [
        (joist, line, figure["value"])
        for joist in run["joists"]
        for line, figure in (joist.get("level") or {}).items()
        if joist["at"].get(line, {}).get("point")
    ]
    if not read:
        return []
    # A level is read downwards: the least is the highest joist.
    top = min(value for _, _, value in read)
    rows = []
    for joist, line, value in read:
        low = math.floor((value - top) / rule["step"] + 1e-9) * rule["step"]
        x, y = joist["at"][line]["point"]
        if low >= rule["least"] and polygon.buffer(1).contains(Point(x, y)):
            rows.append(_packer(ground, joist["index"], y, line, low))
    return rows


def _packer(ground: Ground, index: int, y: float, line: str, low: float) -> dict[str, Any]:
    member = next(m for m in ground.joists if m.index == index and not m.added)
    return {
        "id": "",
        "kind": "packer",
        "joist": index,
        "y": round(y, 1),
        "length": 100.0,
        "breadth": round(member.breadth, 1),
        "thickness": low,
        "say": f"On {member.name} at the {line} line: pack up {low:g} mm, tapering to nothing where"
        " the tops are level.",
    }
