"""Findings: what the as-built shows that a person should know, each with its rule."""

from __future__ import annotations

from baywalk.reconcile.findings.bow import bow
from baywalk.reconcile.findings.closure import closure
from baywalk.reconcile.findings.common import Finding, View
from baywalk.reconcile.findings.grid import grid
from baywalk.reconcile.findings.levels import levels
from baywalk.reconcile.findings.missing import missing
from baywalk.reconcile.findings.placing import laps, left_out, misplaced
from baywalk.reconcile.findings.spacing import spacing
from baywalk.reconcile.findings.square import square
from baywalk.reconcile.findings.taper import taper
from baywalk.reconcile.findings.timber import timber

__all__ = ["Finding", "View", "findings"]


def findings(view: View) -> list[Finding]:
    """Return every finding of one run, in the order in which they should be read."""
    steps = (
        closure,
        misplaced,
        laps,
        left_out,
        spacing,
        grid,
        taper,
        square,
        bow,
        levels,
        timber,
        missing,
    )
    return [finding for step in steps for finding in step(view)]
