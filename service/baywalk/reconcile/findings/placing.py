"""Readings and features that have no place in the run they name."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.reconcile.findings.common import Finding, View
from baywalk.reconcile.outline import NEEDED, RECTANGLES

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from baywalk.fieldbook import Run


def misplaced(view: View) -> Iterator[Finding]:
    """Tell of every reading that stands but cannot be placed, and why."""
    network = view.solved.network
    for reading, why in sorted(network.misplaced.items()):
        entry = network.entries[reading]
        yield Finding(
            "reading.misplaced",
            "look",
            f"A reading of {entry['value']:.10g} ({entry['kind']}) is left out: {why}.",
            where={"run": network.run.id, "reading": reading},
        )


def laps(view: View) -> Iterator[Finding]:
    """Tell of every lap that is stated between tape lines that are no neighbours."""
    run = view.solved.run
    for one, other in run.laps:
        if not {(one, other), (other, one)} & {*run.lapped}:
            yield Finding(
                "lap.misplaced",
                "look",
                f"The lap between the {one} and the {other} line is left out: they are not"
                " neighbouring tape lines.",
                where={"run": run.id},
            )


def left_out(view: View) -> Iterator[Finding]:
    """Tell of every feature that names what the run has not, or that lacks a length."""
    run = view.solved.run
    for feature in view.features:
        why = _nowhere(feature, run)
        if why:
            yield Finding(
                "feature.misplaced",
                "look",
                f"A feature ({feature.get('feature')}) is left out: {why}.",
                where={"run": run.id, "feature": feature["id"]},
            )


def _nowhere(feature: Mapping[str, Any], run: Run) -> str | None:
    """Return why a feature has no place in a run; None where it has one."""
    least, joist, most = 0, feature.get("bay", 0), run.joists
    if feature.get("feature") in RECTANGLES:
        lacking = [name for name in NEEDED if name not in feature]
        if lacking:
            return f"it has no “{lacking[0]}”"
        if feature["line"] not in run.lines:
            return f"the run has no tape line “{feature['line']}”"
        joist, most = feature["from"][0], run.joists + 1
    elif "joist" in feature:
        least, joist = 1, feature["joist"]
    return None if least <= joist <= most else f"the run has no J{joist}"
