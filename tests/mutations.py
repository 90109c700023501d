"""Spoils plans: finds every kind of field in a plan and changes it into something wrong.

A kind of field is its path with list indices left out, as ``decks.joints.x``. So a new field of
the format is spoilt too, without a word added here.
"""

from __future__ import annotations

import copy
from collections import defaultdict
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import random
    from collections.abc import Iterator

Json = Any
Path = tuple[str | int, ...]

HARMLESS = {
    "choices.stock": "a length that could have been bought and was not",
    "choices.anyway": "told to go on where nothing stood in the way",
    "choices.seconds": "a time limit",
    "choices.roof": "asked only where joists are cut",
    "choices.use": "another use has the same boards",
    "choices.first": "the first course is what it is",
    "decks.id": "nothing else names a deck",
    "decks.timbers.id": "nothing else names a length of timber",
    "decks.cutting.optimal": "held where a bound is reached",
    "decks.joints.id": "nothing else names a joint that a joist carries",
    "decks.thickness.y": "the same centres are found beside it where joists are parallel",
    "decks.alternatives[]": "a plan that could have been told of",
    "decks.joists.line[]": "a place on a straight line, left out",
    "decks.sequence.marks[]": "a measure more, or one of several",
}
"""Kinds of field that may be changed without harm, each with why."""

WORDS = {
    "say",
    "what",
    "why",
    "title",
    "method",
    "scope",
    "hook",
    "along",
    "to",
    "for",
    "told",
    "mark",
    "unit",
    "name",
    "seconds",
}
"""Last names of fields that hold words for people, or the clock: nothing hangs on them."""

OTHER = {
    "tongue": "groove",
    "groove": "cut",
    "cut": "tongue",
    "left": "right",
    "right": "left",
    "near": "far",
    "far": "near",
}


def kind_of(path: Path) -> str:
    """Return a path's kind."""
    return ".".join(str(part) for part in path if not isinstance(part, int))


def leaves(value: Json, path: Path = ()) -> Iterator[tuple[Path, Json]]:
    """Yield every place of a plan, containers among them."""
    if path:
        yield path, value
    if isinstance(value, dict):
        for name, part in value.items():
            yield from leaves(part, (*path, name))
    elif isinstance(value, list):
        for index, part in enumerate(value):
            yield from leaves(part, (*path, index))


def places(plan: Json) -> dict[str, list[Path]]:
    """Return the places of a plan by kind; those of list items have a kind of their own."""
    out: dict[str, list[Path]] = defaultdict(list)
    for path, value in leaves(plan):
        if path[0] in ("rules", "cautions") or "checks" in path or "cautions" in path:
            continue
        if any(part in WORDS for part in path if isinstance(part, str)):
            continue
        whole = isinstance(value, dict | list)
        if whole and not isinstance(path[-1], int):
            continue
        out[kind_of(path) + ("[]" if isinstance(path[-1], int) and whole else "")].append(path)
    return out


def at(plan: Json, path: Path) -> Json:
    """Return what stands at a path."""
    for part in path:
        plan = plan[part]
    return plan


def put(plan: Json, path: Path, value: Json) -> Json:
    """Return a copy of a plan with something else at a path."""
    out = copy.deepcopy(plan)
    at(out, path[:-1])[path[-1]] = value
    return out


def drop(plan: Json, path: Path) -> Json:
    """Return a copy of a plan without the item at a path."""
    out = copy.deepcopy(plan)
    del at(out, path[:-1])[path[-1]]
    return out


def twice(plan: Json, path: Path) -> Json:
    """Return a copy of a plan with the item at a path given twice."""
    out = copy.deepcopy(plan)
    at(out, path[:-1]).append(copy.deepcopy(at(out, path)))
    return out


def spoils(plan: Json, path: Path) -> list[tuple[str, Json]]:
    """Return wrong versions of a plan, each with what was done, spoilt at one place."""
    value = at(plan, path)
    if isinstance(value, dict | list):
        if _is_point(value):
            # A corner given twice is the same corner.
            return [("dropped", drop(plan, path))]
        return [("dropped", drop(plan, path)), ("given twice", twice(plan, path))]
    if isinstance(value, bool):
        return [(f"{value} turned round", put(plan, path, not value))]
    if isinstance(value, int | float):
        # Lengths off by a finger's breadth, counts by one, shares and deviations by a tenth.
        fine = {"sd", "slope", "gap", "share", "area", "volume", "joints", "supports", "cost"}
        step = 1.0 if isinstance(value, int) else 9.0
        if path[-1] in fine and not isinstance(value, int):
            step = max(abs(value) * 0.4, 0.1)
        more, less = put(plan, path, value + step), put(plan, path, value - step)
        return [(f"{value} made {value + step}", more), (f"{value} made {value - step}", less)]
    if isinstance(value, str):
        new = OTHER.get(value, value + "?")
        return [(f"{value} made {new}", put(plan, path, new))]
    return []


def _is_point(value: Json) -> bool:
    return isinstance(value, list) and len(value) == 2 and isinstance(value[0], float)


def swapped(plan: Json, draw: random.Random) -> list[tuple[str, Json]]:
    """Return versions of a plan in which two things of a kind have changed places."""
    out = []
    for kind, name in (
        ("pieces", "board"),
        ("joints", "x"),
        ("noggins", "length"),
        ("noggins", "bay"),
        ("noggins", "y"),
        ("pieces", "polygon"),
        ("pieces", "course"),
        ("pieces", "at"),
        ("boards", "cuts"),
    ):
        wrong = copy.deepcopy(plan)
        things = [t for t in draw.choice(wrong["decks"])[kind] if name in t]
        if len(things) < 2:
            continue
        a, b = draw.sample(things, 2)
        if _far_apart(a[name], b[name]):
            a[name], b[name] = b[name], a[name]
            out.append((f"{kind}.{name} of {a['id']} and {b['id']} swapped", wrong))
    return out


def _far_apart(a: Json, b: Json) -> bool:
    return abs(a - b) > 9 if isinstance(a, int | float) else a != b
