"""Breadths and depths against the tolerance of sawn timber."""

from __future__ import annotations

from typing import TYPE_CHECKING

from baywalk.reconcile import words
from baywalk.reconcile.findings.common import Finding
from baywalk.reconcile.questions import Figure

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.reconcile.findings.common import View


def timber(view: View) -> Iterator[Finding]:
    """Name joists that are not of the usual size, beyond their tolerance class."""
    member, pack = view.solved.run.member, view.solved.network.pack
    grade = member.get("class")
    name = f"timber.tolerance.{grade if grade in ('T1', 'T2') else 'T1'}"
    bands = pack[name]
    for size in ("breadth", "depth"):
        usual = member.get(size)
        if not usual:
            continue
        below, above = bands["upto100" if usual <= 100 else "over100"]
        sizes: dict[int, Figure] = getattr(view.geometry, size)
        for joist, figure in sorted(sizes.items()):
            if size == "breadth" and joist in view.solved.assumed:
                continue
            off = Figure(figure.value - usual, figure.sd)
            limit = above if off.value > 0 else below
            if _beyond(view, off, limit):
                yield _odd(view, joist, size, off, limit, name)


def _beyond(view: View, off: Figure, limit: float) -> bool:
    """Say whether a size is off by more than its tolerance, and surely so."""
    times = view.solved.network.pack["finding.significance"]
    return bool(abs(off.value) - limit > times * off.sd)


def _odd(view: View, joist: int, size: str, off: Figure, limit: float, rule: str) -> Finding:
    run = view.solved.run
    usual = run.member[size]
    way = "more" if off.value > 0 else "less"
    return Finding(
        f"{size}.odd",
        "note",
        f"{words.joist(joist, run.joists)} has a {size} of "
        f"{words.millimetres(usual + off.value)}, {words.millimetres(abs(off.value))} {way} "
        f"than the usual {usual:g}. Another timber?",
        where={"run": run.id, "joist": joist},
        figure=off,
        limit=limit,
        rule=rule,
    )
