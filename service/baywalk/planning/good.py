"""An as-built made good: what another writer left out, worked out from what is there."""

from __future__ import annotations

import statistics
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

Json = dict[str, Any]

_NONE: Json = {"gap": None, "sd": None, "centres": None, "centres_sd": None}
"""A bay on a tape line of which nothing is known."""


def value(figure: Any) -> float | None:
    """Return the length of a figure, or of a bare number [mm]; None where there is none."""
    if isinstance(figure, dict):
        figure = figure.get("value")
    return None if figure is None else float(figure)


def made_good(data: Mapping[str, Any]) -> Json:
    """Return an as-built with every field that planning reads; lengths in mm.

    Nothing is guessed that bears on where a joist lies: a place that is not there stays null.
    """
    runs = [_run(run) for run in data["runs"]]
    return {
        **data,
        "survey": data.get("survey") or "not given",
        "title": data.get("title") or "",
        "runs": runs,
        "findings": data.get("findings") or [],
        "settled": data.get("settled", all(run["settled"] for run in runs)),
    }


def _run(run: Mapping[str, Any]) -> Json:
    lines = run.get("lines") or _lines(run)
    joists = [_joist(joist, lines) for joist in run["joists"]]
    outline = run.get("outline")
    return {
        **run,
        "title": run.get("title") or "",
        "lines": lines,
        "laps": run.get("laps") or [],
        "member": run.get("member") or {},
        "joists": joists,
        "walls": _walls(run, lines, outline),
        "bays": _told(_bays(joists, lines), run.get("bays") or []),
        "nominal": run.get("nominal") or {"centres": None},
        "outline": outline,
        "features": run.get("features") or [],
        "findings": run.get("findings") or [],
        "suspects": run.get("suspects") or [],
        "settled": run.get("settled", not run.get("suspects")),
    }


def _lines(run: Mapping[str, Any]) -> list[str]:
    """Return the tape lines that any joist has a place on, in the order in which they come."""
    names = [line for joist in run["joists"] for line in joist["at"]]
    return list(dict.fromkeys(names))


def _figure(figure: Any) -> Json | None:
    length = value(figure)
    if length is None:
        return None
    known = figure if isinstance(figure, dict) else {}
    return {**known, "value": length, "sd": known.get("sd") or 0.0}


def _figures(record: Any) -> Json | None:
    if not isinstance(record, dict):
        return None
    known = {name: figure for name, one in record.items() if (figure := _figure(one))}
    return known or None


def _joist(joist: Mapping[str, Any], lines: list[str]) -> Json:
    return {
        **joist,
        "at": _at(joist["at"], lines),
        "breadth": _figure(joist.get("breadth")),
        "depth": _figure(joist.get("depth")),
        "span": _figure(joist.get("span")),
        "ends": _figures(joist.get("ends")),
        "level": _figures(joist.get("level")),
    }


def _at(at: Mapping[str, Any], lines: list[str]) -> Json:
    """Return places with a point wherever the first line gives one: there y is 0."""
    out = {}
    for line in lines:
        place = at.get(line) or {}
        x, point = place.get("x"), place.get("point")
        if line == lines[0]:
            point = [x, 0.0] if point is None and x is not None else point
            x = point[0] if x is None and point is not None else x
        out[line] = {"x": x, "sd": place.get("sd"), "point": point}
    return out


def _walls(run: Mapping[str, Any], lines: list[str], outline: Any) -> Json:
    """Return both walls; one that is not given follows the outline's own side."""
    given = run.get("walls") or {}
    last = len(run["joists"]) + 1
    out = {}
    for name, index in (("start", 0), ("end", last)):
        wall = given.get(name)
        at = _at(wall["at"], lines) if wall else {}
        angle = wall.get("angle") if wall else None
        known = sum(place["point"] is not None for place in at.values())
        # One place alone says as little of which way a wall runs.
        if known + (angle is not None) < 2 and outline:
            at, angle = _side(outline, start=name == "start"), None
        out[name] = {"index": index, "at": at, "angle": angle}
    return out


def _side(outline: list[list[float]], *, start: bool) -> Json:
    """Return a wall through the outermost corners of an outline, near and far."""
    low = min(y for _, y in outline)
    high = max(y for _, y in outline)
    middle = (low + high) / 2
    pick = min if start else max
    ends = []
    for side in (True, False):
        half = [p for p in outline if (p[1] <= middle) == side] or outline
        ends.append(pick(half, key=lambda p: p[0]))
    return {
        name: {"x": None, "sd": None, "point": list(point)}
        for name, point in zip(("near", "far"), ends, strict=True)
    }


def _bays(joists: list[Json], lines: list[str]) -> list[Json]:
    """Return bays between the joists, with the centres that their places give."""
    out = []
    for bay in range(len(joists) + 1):
        at = {line: _between(joists, bay, line) for line in lines}
        out.append({"bay": bay, "at": at})
    return out


def _told(bays: list[Json], told: list[Json]) -> list[Json]:
    """Return bays with what is told of some of them put in."""
    for bay in told:
        if bay["bay"] < len(bays):
            bays[bay["bay"]]["at"] |= {line: _NONE | place for line, place in bay["at"].items()}
    return bays


def _between(joists: list[Json], bay: int, line: str) -> Json:
    if not 0 < bay < len(joists):
        return _NONE
    places = [joists[k]["at"][line] for k in (bay - 1, bay)]
    xs = [place["x"] for place in places]
    if None in xs:
        return _NONE
    sds = [place["sd"] for place in places if place["sd"] is not None]
    sd = statistics.fmean(sds) * 2**0.5 if sds else None
    return {**_NONE, "centres": xs[1] - xs[0], "centres_sd": sd, "sd": sd}
