"""Which further readings would buy most: what settles a suspect, what is left open, what checks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.reconcile import words
from baywalk.reconcile.advice import open as left_open
from baywalk.reconcile.advice.candidates import Candidate, again, candidates
from baywalk.reconcile.advice.gain import Checks, checks, parting
from baywalk.reconcile.rounding import steady

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.reconcile.findings.common import View

_MOST = 8
_MOST_CHECKS = 3
_WORTH_PARTING = 0.05


def next_readings(view: View) -> list[dict[str, Any]]:
    """Return readings to take, the most useful first, each with why and what it buys."""
    steps = (_settling, left_open.positions, _checking, left_open.ties, left_open.edges)
    return _once([item for step in steps for item in step(view)])[:_MOST]


def _once(advice: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Drop what was advised already."""
    out: list[dict[str, Any]] = []
    for item in advice:
        if all(item["take"] != other["take"] for other in out):
            out.append(item)
    return out


# --- suspects ---------------------------------------------------------------------------------


def _settling(view: View) -> Iterator[dict[str, Any]]:
    """For each disagreement: the reading that parts its suspects best, then the first, again."""
    solved = view.solved
    for case in sorted({suspect.case for suspect in view.suspects}):
        group = [s for s in view.suspects if s.case == case]
        if len(group) > 1 and (best := _best_parting(view, case)) is not None:
            yield best
        entry = solved.network.entries[group[0].reading]
        names = ("kind", "run", "line", "joist", "from", "to", "end")
        take = {name: entry[name] for name in names if name in entry}
        say = f"{words.reading(entry, solved.run.joists)}, once more"
        yield {
            "take": take,
            "say": say,
            "why": "It disagrees with the other readings.",
            "gain": round(group[0].likelihood, 3),
            "case": case,
        }


def _best_parting(view: View, case: int) -> dict[str, Any] | None:
    solved = view.solved
    group = [s for s in view.suspects if s.case == case]
    repeats = [c for s in group if (c := again(solved, s.reading)) is not None]
    best: tuple[float, Candidate, list[list[int]]] | None = None
    for candidate in [*repeats, *candidates(solved)]:
        parted = parting(solved, case, candidate)
        if (
            parted
            and parted.nats > _WORTH_PARTING
            and (best is None or parted.nats > best[0] + 1e-9)
        ):
            best = (parted.nats, candidate, parted.groups)
    if best is None:
        return None
    nats, candidate, groups = best
    names = _names(view, groups)
    why = f"It tells {names[0]} from {names[1]}." if len(names) > 1 else "It parts the suspects."
    advice = {"take": candidate.take, "say": candidate.say, "why": why, "gain": round(nats, 3)}
    return {**advice, "case": case, "parts": True}


def _names(view: View, groups: list[list[int]]) -> list[str]:
    """Return the likeliest reading of each of the two likeliest groups, in words."""
    network = view.solved.network
    ids = {row: reading for reading, row in network.rows.items()}
    return [
        words.reading(network.entries[ids[group[0]]], network.run.joists) for group in groups[:2]
    ]


# --- checks -----------------------------------------------------------------------------------


def _checking(view: View) -> Iterator[dict[str, Any]]:
    """Advise the two or three readings that check most of what nothing checks."""
    solved = view.solved
    ranked: list[tuple[float, Candidate, Checks]] = []
    if _loose(view):
        able = list(candidates(solved))
        for candidate, bought in zip(able, checks(solved, able), strict=True):
            if bought is not None and bought.checked:
                ranked.append((bought.nats, candidate, bought))
    ranked.sort(key=lambda item: -steady(item[0]))
    covered: set[int] = set()
    given = 0
    for nats, candidate, bought in ranked:
        fresh = set(bought.checked) - covered
        if not fresh or given == _MOST_CHECKS:
            continue
        covered |= fresh
        given += 1
        count = len(bought.checked)
        yield {
            "take": candidate.take,
            "say": candidate.say,
            "why": f"It checks {count} reading{'s' if count > 1 else ''} that nothing checks yet.",
            "gain": round(nats, 3),
        }


def _loose(view: View) -> bool:
    """Say whether any reading has nothing to check it."""
    solved = view.solved
    floor = solved.network.pack["reading.unchecked"]
    return any(float(solved.fit.redundancy[r]) <= floor for r in solved.network.rows.values())
