"""The as-built as the checker reads it: fields that others leave out filled in from what is there.

An as-built need not come from this service; what its format does not promise is not relied on.
"""

from __future__ import annotations

from typing import Any

Json = dict[str, Any]


def given(as_built: Json) -> Json:
    """Return an as-built in which every field that the checker reads is there."""
    runs = [_run(run) for run in as_built["runs"]]
    # Without a word on it, a survey is settled where no reading is under suspicion.
    settled = as_built.get("settled")
    if settled is None:
        settled = all(run["settled"] for run in runs)
    return {"survey": as_built.get("survey"), "settled": settled, "runs": runs}


def _run(run: Json) -> Json:
    member = run.get("member") or {}
    joists = [_joist(joist, member) for joist in run["joists"]]
    lines = run.get("lines") or list(joists[0]["at"])
    outline = run.get("outline")
    return {
        "id": run["id"],
        "lines": lines,
        "laps": run.get("laps") or [],
        "walls": _walls(run.get("walls"), outline, len(joists)),
        "joists": joists,
        "bays": _bays(run.get("bays") or [], len(joists)),
        "nominal": run.get("nominal") or {"centres": None},
        "outline": outline,
        "features": run.get("features") or [],
        "settled": run.get("settled", not run.get("suspects")),
    }


def _figure(value: Any) -> Json | None:
    """Return a length given as a number, or as a value and its deviation, in the second form."""
    if isinstance(value, int | float):
        return {"value": float(value), "sd": 0.0}
    return value or None


def _joist(joist: Json, member: Json) -> Json:
    at = {
        line: {"point": place.get("point"), "x": place.get("x")}
        for line, place in joist["at"].items()
    }
    # The first tape line is the x axis, so a place on it needs no point of its own.
    first = next(iter(at))
    if at[first]["point"] is None and at[first]["x"] is not None:
        at[first]["point"] = [at[first]["x"], 0.0]
    out = {
        name: _figure(joist.get(name)) or _figure(member.get(name)) for name in ("breadth", "depth")
    }
    ends = {k: _figure(v) for k, v in (joist.get("ends") or {}).items()}
    return {
        "index": joist["index"],
        **out,
        "at": at,
        "angle": joist.get("angle"),
        "span": _figure(joist.get("span")),
        "ends": {k: v for k, v in ends.items() if v} or None,
        "level": {k: v for k, old in (joist.get("level") or {}).items() if (v := _figure(old))},
    }


def _walls(told: Json | None, outline: list[list[float]] | None, joists: int) -> Json:
    """Return the walls as they are given, each that has no line by the outline's own side."""
    own = _sides(outline, joists)
    out = {}
    for name, index in (("start", 0), ("end", joists + 1)):
        wall = (told or {}).get(name) or {"at": {}}
        at = {k: {"point": place.get("point")} for k, place in wall["at"].items()}
        known = [place for place in at.values() if place["point"] is not None]
        line = len(known) > 1 or (known and wall.get("angle") is not None)
        given = {"index": index, "angle": wall.get("angle"), "at": at}
        out[name] = given if line or outline is None else own[name]
    return out


def _sides(outline: list[list[float]] | None, joists: int) -> Json:
    """Return the walls that an outline's sides along the joists stand for."""
    sides = [] if outline is None else list(zip(outline, outline[1:] + outline[:1], strict=True))
    # Walls run with the joists, so they are the steep sides of the outline.
    along = [s for s in sides if abs(s[1][1] - s[0][1]) > abs(s[1][0] - s[0][0])]
    along.sort(key=lambda s: s[0][0] + s[1][0])
    ends = {"start": along[:1], "end": along[-1:]}
    return {
        name: {
            "index": index,
            "angle": None,
            "at": {str(i): {"point": p} for side in found for i, p in enumerate(side)},
        }
        for index, (name, found) in zip((0, joists + 1), ends.items(), strict=True)
    }


def _bays(told: list[Json], joists: int) -> list[Json]:
    """Return every bay by its number, with what is told of it."""
    out: list[Json] = [{"bay": bay, "at": {}} for bay in range(joists + 1)]
    for one in told:
        if one["bay"] <= joists:
            out[one["bay"]] = _bay(one)
    return out


def _bay(bay: Json) -> Json:
    at = {
        line: {"sd": place.get("sd"), "centres": place.get("centres")}
        for line, place in (bay.get("at") or {}).items()
    }
    return {"bay": bay["bay"], "at": at}
