"""One cause behind many disagreements: a whole pass hooked at 100, a wrong line, wrong numbers.

When several readings disagree at once, each stretch of readings that a person takes in one go is
tried with one mistake undone for all of it. If that leaves markedly fewer disagreements than
setting readings aside one by one, the mistake is named once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import TYPE_CHECKING, Any

from baywalk.reconcile.adjust import Adjuster, Fit
from baywalk.reconcile.network import Entry, Network

if TYPE_CHECKING:
    from baywalk.fieldbook import Survey

Undo = Callable[[Entry], dict[str, Any] | None]
"""From a reading as written to the reading as it should have been; None where it has no part."""

_FEWEST = 3
_MOST_TRIES = 60

_CLEARLY = 1 - 1e-9
"""A sum of squares below another by less than this is the same but for rounding."""


@dataclass(frozen=True)
class Common:
    """A mistake shared by many readings.

    Attributes:
        cause: "hooked_at_100", "wrong_line", "wrong_numbers" or "numbered_from_other_wall".
        readings: their ids, sorted.
        would_read: for each of them the value it would have [mm], where that changes.

    """

    cause: str
    readings: list[str]
    would_read: dict[str, float]


@dataclass(frozen=True)
class Trial:
    """A mistake undone: what it was, and the network and fit without it."""

    common: Common
    network: Network
    adjuster: Adjuster
    fit: Fit


@dataclass(frozen=True)
class _Undone:
    """A mistake undone, not adjusted yet.

    Attributes:
        order: its number among those tried.
        least: the sum of squares that its straight rows leave by themselves.

    """

    common: Common
    network: Network
    adjuster: Adjuster
    order: int
    least: float


def best_trial(survey: Survey, network: Network, adjuster: Adjuster, limit: float) -> Trial | None:
    """Return the shared mistake that, undone, leaves the smallest sum of squares.

    Curved rows can only add to what the straight ones leave, so those that leave least are tried
    first and the rest mostly not at all.

    Args:
        survey: what was read.
        network: of one of its runs.
        adjuster: the network's.
        limit: a sum of squares that is too large already [-].

    """
    best: Trial | None = None
    order = 0
    for undone in sorted(_undone(survey, network, adjuster, limit), key=lambda u: u.least):
        if undone.least > (best.fit.chi2 if best else limit) / _CLEARLY:
            break
        fit = undone.adjuster.fit()
        # Of two alike the one that was thought of first counts.
        near = 1 / _CLEARLY if undone.order < order else _CLEARLY
        if fit.chi2 < (best.fit.chi2 * near if best else limit):
            best = Trial(undone.common, undone.network, undone.adjuster, fit)
            order = undone.order
    return best


def _undone(
    survey: Survey, network: Network, adjuster: Adjuster, limit: float
) -> Iterator[_Undone]:
    """Yield each mistake undone after which the straight rows may agree well enough."""
    known: dict[tuple[str, ...], float] = {}
    order = 0
    for cause, group, undo in islice(_hypotheses(network), _MOST_TRIES):
        key = tuple(e["id"] for e in group)
        # Whatever befell a group, all others must agree among themselves.
        if key not in known:
            known[key] = _straight(adjuster, [network.rows[i] for i in key])
        made = _try(survey, network, (cause, group, undo)) if known[key] < limit else None
        if made:
            yield _Undone(*made, order, _straight(made[2]))
            order += 1


def _straight(adjuster: Adjuster, aside: Sequence[int] = ()) -> float:
    """Return the sum of squares that the straight rows leave by themselves."""
    return adjuster.fit([*aside, *adjuster.equations.curves]).chi2


def _try(
    survey: Survey, before: Network, hypothesis: tuple[str, list[Entry], Undo]
) -> tuple[Common, Network, Adjuster] | None:
    cause, group, undo = hypothesis
    undone = {e["id"]: changed for e in group if (changed := undo(e)) is not None}
    if len(undone) < _FEWEST:
        return None
    entries = tuple(undone.get(e["id"], e) for e in survey.entries)
    network = Network(replace(survey, entries=entries), before.run, before.pack)
    if any(i in network.misplaced for i in undone):
        return None
    written = {e["id"]: e["value"] for e in group}
    changed = {i: float(e["value"]) for i, e in undone.items() if e["value"] != written[i]}
    common = Common(cause, sorted(undone), changed)
    return common, network, Adjuster(network.equations, network.settle)


# --- stretches and mistakes -------------------------------------------------------------------


def _hypotheses(network: Network) -> Iterator[tuple[str, list[Entry], Undo]]:
    """Yield each stretch with each mistake that could have befallen all of it."""
    placed = [network.entries[i] for i in sorted(network.rows)]
    across = [e for e in placed if e["kind"] == "across"]
    passes = list(_groups(across, _pass_key))
    lines = list(_groups(across, lambda e: (e.get("by"), e["line"])))
    devices = list(_groups(placed, lambda e: e.get("by")))
    for group in [*passes, *lines]:
        yield "hooked_at_100", group, _hooked
        for line in network.run.lines:
            yield "wrong_line", group, _to_line(line)
    for group in [*passes, *lines, *devices]:
        for step in (-1, 1):
            yield "wrong_numbers", group, _renumbered(network.end, step)
    for group in [*devices, *lines]:
        yield "numbered_from_other_wall", group, _mirrored(network.end)


def _pass_key(entry: Entry) -> object:
    """Return what readings of one tape set-up share: its mark, else line and zero."""
    return entry.get("hook") or (entry.get("by"), entry["line"], tuple(entry["from"]))


def _groups(entries: list[Entry], key: Callable[[Entry], object]) -> Iterator[list[Entry]]:
    groups: dict[object, list[Entry]] = defaultdict(list)
    for entry in entries:
        groups[key(entry)].append(entry)
    yield from (group for group in groups.values() if len(group) >= _FEWEST)


def _hooked(entry: Entry) -> dict[str, Any] | None:
    value = entry["value"] - 100
    return {**entry, "value": value} if value >= 0 else None


def _to_line(line: str) -> Undo:
    return lambda entry: {**entry, "line": line} if entry["line"] != line else None


def _renumbered(end: int, step: int) -> Undo:
    """Return what shifts joist numbers by ``step``; a wall keeps its number."""

    def moved(joist: int) -> int:
        return joist if joist in (0, end) else joist + step

    def undo(entry: Entry) -> dict[str, Any] | None:
        changed = _with_joists(entry, moved, lambda face: face)
        joists = _joists(changed)
        inside = all(0 <= j <= end for j in joists)
        return changed if inside and changed != entry else None

    return undo


def _mirrored(end: int) -> Undo:
    swap = {"left": "right", "right": "left"}
    return lambda entry: _with_joists(
        entry, lambda joist: end - joist, lambda face: swap.get(face, face)
    )


def _with_joists(
    entry: Entry, joist: Callable[[int], int], face: Callable[[str], str]
) -> dict[str, Any]:
    """Return the reading with its joist numbers and faces changed."""
    changed = dict(entry)
    if "joist" in entry:
        changed["joist"] = joist(entry["joist"])
    elif entry["kind"] == "diagonal":
        for end in ("from", "to"):
            changed[end] = [joist(entry[end][0]), entry[end][1]]
    else:
        for end in ("from", "to"):
            changed[end] = [joist(entry[end][0]), face(entry[end][1])]
    return changed


def _joists(entry: Entry) -> list[int]:
    if "joist" in entry:
        return [entry["joist"]]
    return [entry["from"][0], entry["to"][0]]
