"""The grid the joists were set out on: whether it creeps along the run, and where it restarts."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from baywalk.reconcile import words
from baywalk.reconcile.findings.common import Finding
from baywalk.reconcile.questions import Figure
from baywalk.reconcile.rounding import steady

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.reconcile.findings.common import View

_RUN_OF_REGULAR = 2


def grid(view: View) -> Iterator[Finding]:
    """Report drift and restarts along the first tape line."""
    if view.nominal is None:
        return
    line = view.solved.run.lines[0]
    stretches = _stretches(view, line)
    for first, last in stretches:
        yield from _drift(view, line, first, last)
    for (_, before), (after, last) in itertools.pairwise(stretches):
        if last - after >= _RUN_OF_REGULAR:
            yield from _restart(view, line, before, after)


def _stretches(view: View, line: str) -> list[tuple[int, int]]:
    """Return joists first to last of each stretch whose bays all follow the spacing."""
    pack, run = view.solved.network.pack, view.solved.run
    out: list[tuple[int, int]] = []
    start: int | None = None
    for bay in range(1, run.joists + 1):
        lengths = view.geometry.bays.get((bay, line))
        centres = lengths.centres if lengths else None
        follows = (
            centres is not None
            and view.nominal is not None
            and steady(abs(centres.value - view.nominal.centres)) <= pack["centres.tolerance"]
        )
        if follows and start is None:
            start = bay
        elif not follows and start is not None:
            out.append((start, bay))
            start = None
    return out


def _drift(view: View, line: str, first: int, last: int) -> Iterator[Finding]:
    """Compare a stretch's whole length with its bays at the spacing."""
    places = view.geometry.x
    if view.nominal is None or (first, line) not in places or (last, line) not in places:
        return
    a, b = places[first, line], places[last, line]
    bays = last - first
    crept = Figure(b.value - a.value - bays * view.nominal.centres, (a.sd**2 + b.sd**2) ** 0.5)
    limit = view.solved.network.pack["grid.drift"]
    if view.significant(crept, limit):
        way = "wide" if crept.value > 0 else "tight"
        yield Finding(
            "grid.drift",
            "note",
            f"From J{first} to J{last} the joists creep: every bay is a little {way}, together "
            f"{words.millimetres(abs(crept.value))} over {bays} bays of "
            f"{view.nominal.centres:g}. Board ends will miss them.",
            where={"run": view.solved.run.id, "line": line, "joists": [first, last]},
            figure=crept,
            limit=limit,
            rule="grid.drift",
        )


def _restart(view: View, line: str, before: int, after: int) -> Iterator[Finding]:
    """Tell that the spacing begins anew after bays that do not follow it."""
    places = view.geometry.x
    if view.nominal is None or (before, line) not in places or (after, line) not in places:
        return
    a, b = places[before, line], places[after, line]
    spacing = view.nominal.centres
    over = steady((b.value - a.value) / spacing)
    off = Figure((over - round(over)) * spacing, (a.sd**2 + b.sd**2) ** 0.5)
    if view.significant(off, view.solved.network.pack["centres.tolerance"]):
        yield Finding(
            "grid.restart",
            "note",
            f"The spacing starts anew at J{after}: the joists after it are "
            f"{words.millimetres(abs(off.value))} off the grid of those before J{before}.",
            where={"run": view.solved.run.id, "line": line, "joists": [before, after]},
            figure=off,
            limit=view.solved.network.pack["centres.tolerance"],
            rule="centres.tolerance",
        )
