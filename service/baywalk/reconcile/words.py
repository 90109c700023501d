"""Short words for places and lengths, the same in every sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.reconcile.rounding import steady

if TYPE_CHECKING:
    from collections.abc import Mapping


def joist(number: int, joists: int) -> str:
    """Return "J4", or "start wall" and "end wall" for the numbers outside the run."""
    if number <= 0:
        return "start wall"
    return "end wall" if number > joists else f"J{number}"


def bay(number: int, joists: int) -> str:
    """Return a bay by its joists: "J4–J5", "wall–J1", "J14–wall"."""
    left = "wall" if number == 0 else f"J{number}"
    right = "wall" if number == joists else f"J{number + 1}"
    return f"{left}–{right}"


def millimetres(length: float) -> str:
    """Return a length [mm] as it is said: whole, without a unit."""
    return str(round(steady(length)))


def place(name: str) -> str:
    """Return a place along a joist in words: "near support", "far edge", a line's own name."""
    return name.replace("_", " ")


def reading(entry: Mapping[str, Any], joists: int) -> str:
    """Return what a reading measured, in the fewest words."""
    kind = entry["kind"]
    if kind == "across":
        return f"{_across(entry, joists)}, {entry['line']} line"
    if kind == "along":
        where = joist(entry["joist"], joists)
        return f"{where} from {place(entry['from'])} to {place(entry['to'])}"
    if kind == "diagonal":
        ends = [f"{joist(j, joists)} {line}" for j, line in (entry["from"], entry["to"])]
        return f"the diagonal {ends[0]} to {ends[1]}"
    return f"the {kind} of {joist(entry['joist'], joists)}"


def _across(entry: Mapping[str, Any], joists: int) -> str:
    (a, a_face), (b, b_face) = sorted(
        ((e[0], e[1]) for e in (entry["from"], entry["to"])), key=lambda e: e[0]
    )
    if b == a + 1 and a_face in ("right", "face") and b_face in ("left", "face"):
        return bay(a, joists)
    if a == 0 and b > joists:
        return "wall to wall"
    if b == a + 1 and a_face == b_face == "centre":
        return f"centres {bay(a, joists)}"
    return f"{_end(a, a_face, joists)} to {_end(b, b_face, joists)}"


def _end(number: int, face: str, joists: int) -> str:
    name = joist(number, joists)
    return name if number in (0, joists + 1) else f"{name} {face}"
