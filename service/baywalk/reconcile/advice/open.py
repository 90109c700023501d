"""Readings that would settle what is left open."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.reconcile import words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.reconcile.findings.common import View


def _advice(take: dict[str, Any], say: str, why: str) -> dict[str, Any]:
    return {"take": take, "say": say, "why": why, "gain": 1.0}


def positions(view: View) -> Iterator[dict[str, Any]]:
    """Read to the first joist on each line that has no place yet."""
    run = view.solved.run
    for line in run.lines:
        lost = [j for j in range(1, run.joists + 2) if (j, line) not in view.geometry.x]
        if not lost:
            continue
        joist = lost[0]
        face_from = "face" if joist == 1 else "right"
        face_to = "face" if joist > run.joists else "left"
        take = {
            "kind": "across",
            "run": run.id,
            "line": line,
            "from": [joist - 1, face_from],
            "to": [joist, face_to],
        }
        bay = words.bay(joist - 1, run.joists)
        name = words.joist(joist, run.joists)
        yield _advice(take, f"{bay}, {line} line", f"Nothing says yet where {name} stands there.")


def ties(view: View) -> Iterator[dict[str, Any]]:
    """Tie each further line to the first: two lengths along joists and one diagonal."""
    run = view.solved.run
    first, last = 1, run.joists
    for line in run.lines[1:]:
        if any(key[1] == line for key in view.geometry.points) or last < 1:
            continue
        why = f"It ties the {line} line to the {run.lines[0]} line."
        tied = {
            e["joist"]
            for i, e in view.solved.network.entries.items()
            if i in view.solved.network.rows
            and e["kind"] == "along"
            and {e["from"], e["to"]} == {run.lines[0], line}
        }
        for joist in dict.fromkeys((first, last)):
            if joist not in tied and len(tied) < 2:
                take = {"kind": "along", "run": run.id, "joist": joist}
                take |= {"from": run.lines[0], "to": line}
                name = words.joist(joist, run.joists)
                yield _advice(take, f"{name} from {run.lines[0]} to {line}", why)
        if last > first:
            ends = {"from": [first, run.lines[0]], "to": [last, line]}
            say = f"the diagonal J{first} {run.lines[0]} to J{last} {line}"
            yield _advice({"kind": "diagonal", "run": run.id, **ends}, say, why)


def edges(view: View) -> Iterator[dict[str, Any]]:
    """Read to the deck's edge on the first and the last joist, where it is not known at two places.

    A run of one joist has its other place along a wall.
    """
    run = view.solved.run
    if not run.lines:
        return
    for place, line in (("near_edge", run.lines[0]), ("far_edge", run.lines[-1])):
        have = [j for j in range(run.joists + 2) if (j, place) in view.geometry.ends]
        places = dict.fromkeys((1, run.joists, 0))
        wanted = [j for j in places if j not in have]
        for joist in wanted[: max(0, 2 - len(have))]:
            take = {"kind": "along", "run": run.id, "joist": joist, "from": line, "to": place}
            name = words.joist(joist, run.joists)
            say = f"{name} from the {line} line to the {words.place(place)}"
            yield _advice(take, say, "It says where the deck must stop.")
