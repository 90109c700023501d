"""Two surveys of one run side by side: what differs, and whether it could be the tape alone."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from baywalk.reconcile import words
from baywalk.sheets import lengths
from baywalk.sheets.table import Column, Table, note, print_table

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from baywalk.sheets.paper import Book

_LIMIT = 1.96
_HOW = (
    "First and second survey of one run, joist by joist. A difference is called real where chance "
    "alone would make one so large in fewer than 1 of 20 cases; else the tapes may explain it. "
    "Among twenty joists one such difference is to be expected where nothing has moved."
)


def draw(book: Book, first: Mapping[str, Any], second: Mapping[str, Any]) -> list[Table]:
    """Print how two as-builts differ; return the schedule of differences."""
    table = differences(first, second, book.units)
    page = book.page("First and second survey", notes=[_HOW])
    for text in _unlike(first, second):
        page = note(book, page, text)
    print_table(book, table, page)
    return [table]


def _pairs(
    first: Mapping[str, Any], second: Mapping[str, Any]
) -> Iterator[tuple[Mapping[str, Any], Mapping[str, Any]]]:
    """Give the runs that both have, by their names."""
    later = {run["id"]: run for run in second["runs"]}
    for run in first["runs"]:
        if run["id"] in later:
            yield run, later[run["id"]]


def _unlike(first: Mapping[str, Any], second: Mapping[str, Any]) -> Iterator[str]:
    names = [{run["id"] for run in one["runs"]} for one in (first, second)]
    for alone, which in ((names[0] - names[1], "first"), (names[1] - names[0], "second")):
        if alone:
            yield f"Only in the {which} survey: run {', '.join(sorted(alone))}."
    for a, b in _pairs(first, second):
        if len(a["joists"]) != len(b["joists"]):
            counts = f"{len(a['joists'])} joists, then {len(b['joists'])}"
            yield f"Run {a['id']} has {counts}. Joists are compared by their numbers."


def differences(first: Mapping[str, Any], second: Mapping[str, Any], units: str) -> Table:
    """Return every length that both surveys have, with its difference and what that means."""
    names = ["run", "what", "line", "first", "second", "difference", "±", "in words"]
    columns = [Column(n, right=n not in ("run", "what", "line", "in words")) for n in names]
    table = Table("differences", columns)
    table.heads = ["run", "what", "line", "first", "first_sd", "second", "second_sd"]
    table.heads += ["difference", "sd", "real"]
    for a, b in _pairs(first, second):
        for what, line, before, after in _lengths(a, b):
            _row(table, str(a["id"]), (what, line), before, after, units)
    return table


Figure = tuple[float, float]


def _lengths(
    a: Mapping[str, Any], b: Mapping[str, Any]
) -> Iterator[tuple[str, str, Figure, Figure]]:
    """Give each bay's clear gap and each joist's place that both runs have."""
    count = len(a["joists"])
    for one, other in zip(a["bays"], b["bays"], strict=False):
        for line in a["lines"]:
            pair = [_figure(bay["at"].get(line), "gap") for bay in (one, other)]
            if pair[0] and pair[1]:
                yield f"clear gap {words.bay(one['bay'], count)}", line, pair[0], pair[1]
    for one, other in zip(a["joists"], b["joists"], strict=False):
        for line in a["lines"]:
            pair = [_figure(joist["at"].get(line), "x") for joist in (one, other)]
            if pair[0] and pair[1]:
                yield f"place of J{one['index']}", line, pair[0], pair[1]


def _figure(place: Mapping[str, Any] | None, name: str) -> Figure | None:
    if not place or place.get(name) is None:
        return None
    return float(place[name]), float(place.get("sd") or 0.0)


def _row(
    table: Table, run: str, where: Sequence[str], before: Figure, after: Figure, units: str
) -> None:
    change = after[0] - before[0]
    sd = math.hypot(before[1], after[1])
    real = abs(change) > _LIMIT * sd
    said = [lengths.say(v, units) for v in (before[0], after[0])]
    signed = ("+" if change > 0 else "") + lengths.say(change, units)
    word = "REAL" if real else "may be the tapes"
    table.add(
        [run, *where, *said, signed, lengths.spread(sd, units), word],
        [run, *where, *before, *after, change, sd, int(real)],
    )
