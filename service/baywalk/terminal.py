"""An as-built in plain words, with a small drawing, for a terminal."""

from __future__ import annotations

import textwrap
from typing import Any, TextIO

_WIDTH = 76


def report(as_built: dict[str, Any]) -> str:
    """Return the whole report of an as-built."""
    parts = [f"{as_built['title']}\n"]
    parts += [_run(run) for run in as_built["runs"]]
    parts += [_bullets("Besides", [f["say"] for f in as_built["findings"]])]
    parts.append(
        "Settled: nothing stands in doubt.\n"
        if as_built["settled"]
        else "Not settled yet: take the doubtful reading again, or strike it out.\n"
    )
    return "\n".join(part for part in parts if part)


def _run(run: dict[str, Any]) -> str:
    nominal = run["nominal"]
    spacing = (
        f"set out to {nominal['centres']:g} mm centres"
        if nominal["centres"]
        else "set out to no spacing we know"
    )
    joists = len(run["joists"])
    head = f"{run['title']} ({run['id']}): {joists} joists, {spacing}, {_readings(run)}.\n"
    parts = [textwrap.fill(head, _WIDTH) + "\n", drawing(run)]
    parts.append(_bullets("What was found", [f["say"] for f in run["findings"]]))
    parts.append(_bullets("Take next", [f"{r['say']}. {r['why']}" for r in run["next_readings"]]))
    return "\n".join(part for part in parts if part)


def _readings(run: dict[str, Any]) -> str:
    count = len(run["readings"])
    unchecked = sum(r["verdict"] == "unchecked" for r in run["readings"])
    tail = f", {unchecked} with nothing to check them" if unchecked else ", every one checked"
    return f"{count} readings{tail}"


def _bullets(title: str, sentences: list[str]) -> str:
    if not sentences:
        return ""
    lines = [
        textwrap.fill(s, _WIDTH, initial_indent="  – ", subsequent_indent="    ") for s in sentences
    ]
    return "\n".join([title, *lines, ""])


def drawing(run: dict[str, Any]) -> str:
    """Return each tape line as a rod: walls, joists to scale, and the running dimensions."""
    end = max(
        (at["x"] for wall in run["walls"].values() for at in wall["at"].values() if at["x"]),
        default=None,
    )
    if end is None:
        return ""
    rods = [_rod(run, line, (_WIDTH - 8) / end) for line in reversed(run["lines"])]
    return "\n".join(rods) + "\n"


def _rod(run: dict[str, Any], line: str, scale: float) -> str:
    """Return one rod: a row of marks and a row of joist numbers under it."""
    row, numbers = ["─"] * (_WIDTH - 7), [" "] * (_WIDTH - 4)
    doubtful = {f["where"].get("bay") for f in run["findings"] if f["code"] == "centres.irregular"}
    for joist in run["joists"]:
        x = joist["at"][line]["x"]
        if x is None:
            continue
        place = min(round(x * scale), len(row) - 1)
        row[place] = "┃"
        label = f"{joist['index']}{'*' if joist['index'] in doubtful else ''}"
        numbers[place : place + len(label)] = label
    row[0] = "▐"
    stop = run["walls"]["end"]["at"][line]["x"]
    if stop is not None:
        at = min(round(stop * scale), len(row) - 1)
        row[at:] = ["▌"]
    return f"{line[:6]:>6} {''.join(row)}\n{'':>6} {''.join(numbers).rstrip()}"


class Bar:
    """A bar that fills as a plan nears its bound, on one line of a terminal."""

    _CELLS = 30

    def __init__(self, out: TextIO) -> None:
        """Take the terminal."""
        self._out = out

    def show(self, best: float, bound: float) -> bool:
        """Draw how near the best plan is to its bound; both in the money of the rules."""
        share = min(max(bound / best, 0.0), 1.0) if best > 0 else 1.0
        full = round(share * self._CELLS)
        bar = "█" * full + "·" * (self._CELLS - full)
        self._out.write(f"\r{bar} {100 * share:5.1f} % of the best plan is proven needed")
        if share > 1 - 1e-9:
            self._out.write("\n")
        self._out.flush()
        return True
