"""What the readings leave open, gathered so that one gap in the field book is told once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from baywalk.reconcile import words
from baywalk.reconcile.findings.common import Finding, View

if TYPE_CHECKING:
    from collections.abc import Iterator


def missing(view: View) -> Iterator[Finding]:
    """Tell which positions, which lines' places and which breadths are not determined."""
    yield from _lines(view)
    yield from _positions(view)
    yield from _plane(view)
    yield from _breadths(view)


def _spans(numbers: list[int], joists: int) -> str:
    """Return numbers as "J4, J7 to J9"."""
    parts: list[str] = []
    start = 0
    for i in range(1, len(numbers) + 1):
        if i < len(numbers) and numbers[i] == numbers[i - 1] + 1:
            continue
        first, last = (words.joist(numbers[k], joists) for k in (start, i - 1))
        parts.append(first if first == last else f"{first} to {last}")
        start = i
    return ", ".join(parts)


def _lines(view: View) -> Iterator[Finding]:
    run = view.solved.run
    if not run.lines:
        yield Finding(
            "run.no_line",
            "settle",
            "This run has no tape line yet. Add one, and readings can be taken along it.",
            where={"run": run.id},
        )


def _positions(view: View) -> Iterator[Finding]:
    run = view.solved.run
    for line in run.lines:
        lost = [j for j in range(1, run.joists + 2) if (j, line) not in view.geometry.x]
        if lost:
            yield Finding(
                "position.undetermined",
                "settle",
                f"{line} line: the readings do not say where {_spans(lost, run.joists)} "
                f"{'stands' if len(lost) == 1 else 'stand'}.",
                where={"run": run.id, "line": line, "joists": lost},
            )


def _plane(view: View) -> Iterator[Finding]:
    run = view.solved.run
    for line in run.lines[1:]:
        if not any(joist and name == line for joist, name in view.geometry.points):
            yield Finding(
                "line.undetermined",
                "settle",
                f"The readings do not tie the {line} line to the {run.lines[0]} line: "
                "square or not cannot be told.",
                where={"run": run.id, "line": line},
            )


def _breadths(view: View) -> Iterator[Finding]:
    run = view.solved.run
    open_ = [j for j in range(1, run.joists + 1) if j not in view.geometry.breadth]
    if open_ and not run.member.get("breadth"):
        yield Finding(
            "breadth.undetermined",
            "look",
            f"No breadth is known for {_spans(open_, run.joists)}.",
            where={"run": run.id, "joists": open_},
        )
    if view.solved.assumed:
        yield Finding(
            "breadth.usual",
            "note",
            f"No breadth was read for {_spans(sorted(view.solved.assumed), run.joists)}: "
            f"the usual timber's {run.member['breadth']:g} stands in, and is less sure.",
            where={"run": run.id, "joists": sorted(view.solved.assumed)},
            rule="usual.breadth.each",
        )
