"""Bays that are wider at one tape line than at another."""

from __future__ import annotations

import math
from itertools import product
from typing import TYPE_CHECKING

from baywalk.reconcile import words
from baywalk.reconcile.findings.common import Finding, View
from baywalk.reconcile.questions import Figure

if TYPE_CHECKING:
    from collections.abc import Iterator


def taper(view: View) -> Iterator[Finding]:
    """Compare each bay's clear gap at the first line with that at the last.

    Where joists lap, the gap may be another beyond the lap: each side is looked at by itself.
    """
    run = view.solved.run
    sides = [(side[0], side[-1]) for side in run.sides if len(side) > 1]
    tolerance = view.solved.network.pack["taper.tolerance"]
    for bay, (first, last) in product(range(run.joists + 1), sides):
        gaps = [view.geometry.bays[bay, line].gap for line in (first, last)]
        if gaps[0] is None or gaps[1] is None:
            continue
        grows = Figure(gaps[1].value - gaps[0].value, math.hypot(gaps[0].sd, gaps[1].sd))
        if view.significant(grows, tolerance):
            yield Finding(
                "bay.taper",
                "note",
                f"{words.bay(bay, run.joists)} is {words.millimetres(gaps[0].value)} at the "
                f"{first} line and {words.millimetres(gaps[1].value)} at the {last} line. "
                "Cut its noggins each to their own place.",
                where={"run": run.id, "bay": bay},
                figure=grows,
                limit=tolerance,
                rule="taper.tolerance",
            )
