"""Centres against the spacing that the joists were set out to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from baywalk.reconcile import words
from baywalk.reconcile.findings.common import Finding, View
from baywalk.reconcile.questions import Figure
from baywalk.reconcile.rounding import ranked

if TYPE_CHECKING:
    from collections.abc import Iterator


def spacing(view: View) -> Iterator[Finding]:
    """Name the bays off the spacing, and the widest centres, which decide the board."""
    yield from _irregular(view)
    yield from _widest(view)


def _irregular(view: View) -> Iterator[Finding]:
    if view.nominal is None:
        return
    tolerance = view.solved.network.pack["centres.tolerance"]
    for (bay, line), lengths in sorted(view.geometry.bays.items()):
        if lengths.centres is None:
            continue
        off = Figure(lengths.centres.value - view.nominal.centres, lengths.centres.sd)
        if not view.significant(off, tolerance):
            continue
        name = words.bay(bay, view.solved.run.joists)
        way = "wider" if off.value > 0 else "narrower"
        yield Finding(
            "centres.irregular",
            "note",
            f"{name}, {line} line: centres {words.millimetres(lengths.centres.value)}, "
            f"{words.millimetres(abs(off.value))} {way} than {view.nominal.centres:g}.",
            where={"run": view.solved.run.id, "line": line, "bay": bay},
            figure=off,
            limit=tolerance,
            rule="centres.tolerance",
        )


def _widest(view: View) -> Iterator[Finding]:
    known = {k: b.centres for k, b in view.geometry.bays.items() if b.centres is not None}
    if not known:
        return
    (bay, line), widest = ranked(known.items(), lambda item: item[1].value)[0]
    name = words.bay(bay, view.solved.run.joists)
    yield Finding(
        "centres.widest",
        "note",
        f"The widest centres are {words.millimetres(widest.value)}, at {name} on the {line} line. "
        "They decide how thick the boards must be.",
        where={"run": view.solved.run.id, "line": line, "bay": bay},
        figure=widest,
    )
