"""An as-built of the fewest fields made whole, so that drawing need not ask at every step.

What is not known stays unknown: nothing here makes a length up. Only the order of tape lines, the
emptiness of what is absent, and a figure written as a bare number are put into their usual form.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

UNNAMED = "not named"
"""What stands for the survey of an as-built that names none."""

_FIGURES = ("breadth", "depth", "span")
_LISTS = ("bays", "findings", "next_readings", "features", "readings")


def filled(as_built: Mapping[str, Any]) -> dict[str, Any]:
    """Return an as-built with every field that sheets read; lengths in mm."""
    return {
        **as_built,
        "title": as_built.get("title") or "As-built",
        "survey": as_built.get("survey") or UNNAMED,
        "runs": [_run(run) for run in as_built["runs"]],
    }


def _run(run: Mapping[str, Any]) -> dict[str, Any]:
    lines = list(run.get("lines") or _lines(run))
    out: dict[str, Any] = {**run, "lines": lines, "member": run.get("member") or {}}
    out |= {name: list(run.get(name) or []) for name in _LISTS}
    out["joists"] = [_joist(joist, lines) for joist in run["joists"]]
    walls = run.get("walls") or {}
    out["walls"] = {end: {**walls[end], "at": _at(walls[end], lines)} for end in walls}
    if not out["bays"]:
        out["bays"] = [{"bay": k, "at": {}} for k in range(len(out["joists"]) + 1)]
    return out


def _lines(run: Mapping[str, Any]) -> list[str]:
    """Return the tape lines that the joists name, the first named first."""
    return list(dict.fromkeys(line for joist in run["joists"] for line in joist["at"]))


def _joist(joist: Mapping[str, Any], lines: list[str]) -> dict[str, Any]:
    figures = {name: _figure(joist.get(name)) for name in _FIGURES}
    level = joist.get("level")
    return {
        **joist,
        **figures,
        "at": _at(joist, lines),
        "level": {k: _figure(v) for k, v in level.items()} if level else None,
    }


def _figure(value: Any) -> dict[str, Any] | None:
    """Return a figure as value and standard deviation, whichever way it was written [mm]."""
    return {"value": value} if isinstance(value, int | float) else value


def _at(member: Mapping[str, Any], lines: list[str]) -> dict[str, Any]:
    """Return the places of a joist or wall; on the first line a place is a point of the plane."""
    out = {}
    for line, place in member["at"].items():
        x, point = place.get("x"), place.get("point")
        if point is None and x is not None and lines and line == lines[0]:
            # The plane's x axis is the first tape line itself.
            point = [x, 0.0]
        out[line] = {**place, "x": x, "point": point}
    return out
