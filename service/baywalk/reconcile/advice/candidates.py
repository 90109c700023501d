"""Readings that could be taken next: those that a person in a loft would think of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from baywalk.reconcile import words
from baywalk.reconcile.network import SIDES
from baywalk.reconcile.weights import sigma, tape_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.reconcile.solve import Solved

_MOST_JOISTS = 40
"""In a longer run only every second, third … joist is considered; the answer is hardly worse."""


@dataclass(frozen=True)
class Candidate:
    """A reading that could be taken.

    Attributes:
        take: its fields, as the entry would have them, without a value.
        say: what to measure, in words.
        terms: unknown and coefficient of the length it would give [mm].
        sigma: its standard deviation [mm].

    """

    take: dict[str, Any]
    say: str
    terms: list[tuple[int, float]]
    sigma: float


def candidates(solved: Solved) -> Iterator[Candidate]:
    """Yield the overall of each line, running readings from both walls, and breadths."""
    network, run = solved.network, solved.run
    step = max(1, -(-run.joists // _MOST_JOISTS))
    for line in run.lines:
        yield from _across(solved, line, (0, "face"), (network.end, "face"))
        for joist in range(1, run.joists + 1, step):
            yield from _across(solved, line, (0, "face"), (joist, "left"))
            yield from _across(solved, line, (joist, "right"), (network.end, "face"))
    for joist in range(1, run.joists + 1, step):
        yield from _breadth(solved, joist)


def again(solved: Solved, reading: str) -> Candidate | None:
    """Return the same reading taken once more; None where its row is a curve or not there."""
    network = solved.network
    row = network.rows.get(reading)
    if row is None or row in network.equations.curves:
        return None
    entry = network.entries[reading]
    names = ("kind", "run", "line", "joist", "from", "to", "end")
    terms = zip(network.equations.columns[row], network.equations.coefficients[row], strict=True)
    return Candidate(
        {name: entry[name] for name in names if name in entry},
        f"{words.reading(entry, network.run.joists)}, once more",
        list(terms),
        network.equations.sigmas[row],
    )


def _across(
    solved: Solved, line: str, a: tuple[int, str], b: tuple[int, str]
) -> Iterator[Candidate]:
    unknowns, end = solved.network.unknowns, solved.network.end
    terms: list[tuple[int, float]] = []
    for (joist, face), sign in ((a, -1.0), (b, 1.0)):
        if joist == 0:
            continue
        x = unknowns.get(("x", joist, line))
        breadth = unknowns.get(("breadth", joist))
        if x is None or (breadth is None and joist != end):
            return
        terms.append((x, sign))
        if breadth is not None and joist != end:
            terms.append((breadth, sign * SIDES[face]))
    take = {"kind": "across", "run": solved.run.id, "line": line, "from": list(a), "to": list(b)}
    if a[0] == 0 and b[0] == end:
        yield Candidate(take, f"wall to wall, {line} line", terms, _sigma(solved, take))
        return
    start = f"from the zero at the {words.joist(a[0], solved.run.joists)}"
    if a[0] not in (0, end):
        start = f"from the {a[1]} face of J{a[0]}"
    stop = f"to the {words.joist(b[0], solved.run.joists)}"
    if b[0] not in (0, end):
        stop = f"to the {b[1]} face of J{b[0]}"
    yield Candidate(take, f"{start} {stop}, {line} line", terms, _sigma(solved, take))


def _breadth(solved: Solved, joist: int) -> Iterator[Candidate]:
    number = solved.network.unknowns.get(("breadth", joist))
    if number is not None:
        take = {"kind": "breadth", "run": solved.run.id, "joist": joist}
        yield Candidate(take, f"the breadth of J{joist}", [(number, 1.0)], _sigma(solved, take))


def _sigma(solved: Solved, take: dict[str, Any]) -> float:
    pack, usual = solved.network.pack, solved.network.tape_usual
    return sigma(take, tape_of(take, usual, pack), pack, hooked=True)
