"""Joists that lap over a beam: the jog there is how they lie, and no fault of theirs."""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.reconcile.book import computed
from tests.vectors.rig import Rig, rig

LINES = ("near", "beam near", "beam far", "far")
JOG = 47.0


def _book(laps: list[list[str]], jog: float = JOG) -> Rig:
    """Return five joists that lap over a beam, each beside the next by a breadth."""
    book = rig(5, LINES)
    book.shift = {(joist, line): jog for joist in range(1, 6) for line in LINES[2:]}
    book.bays()
    book.breadths()
    for line in LINES:
        book.whole(line)
    book.ties()
    book.edges()
    book.runs[0]["laps"] = laps
    return book


def _run(book: Rig) -> dict[str, Any]:
    run: dict[str, Any] = computed(book.survey())["runs"][0]
    return run


def _codes(run: dict[str, Any]) -> set[str]:
    return {finding["code"] for finding in run["findings"]}


def test_without_a_word_a_jog_is_a_bow_and_a_taper() -> None:
    assert {"joist.bowed", "bay.taper", "joists.out_of_square"} <= _codes(_run(_book([])))


@pytest.mark.parametrize("pair", [["beam near", "beam far"], ["beam far", "beam near"]])
def test_at_a_stated_lap_it_is_neither(pair: list[str]) -> None:
    run = _run(_book([pair]))
    assert run["laps"] == [["beam near", "beam far"]]
    assert not {"joist.bowed", "bay.taper", "joists.out_of_square"} & _codes(run)
    # The direction is that of the timbers before the lap, and they stand square.
    assert all(abs(joist["angle"]) < 0.02 for joist in run["joists"])


def test_a_bow_of_one_timber_is_still_told() -> None:
    lines = (*LINES[:3], "beyond", "far")
    book = rig(5, lines)
    book.shift = {(joist, line): JOG for joist in range(1, 6) for line in lines[2:]}
    book.shift[3, "beyond"] += 15
    book.bays()
    book.breadths()
    book.ties()
    book.runs[0]["laps"] = [["beam near", "beam far"]]
    found = [f for f in _run(book)["findings"] if f["code"] == "joist.bowed"]
    assert [(f["where"]["joist"], f["where"]["line"]) for f in found] == [(3, "beyond")]


def test_along_a_joist_across_a_lap_one_timber_is_measured() -> None:
    """A jog of 300 in 1500 would make 29 mm of it, were it read from the one to the other."""
    book = _book([["beam near", "beam far"]], jog=300.0)
    reading = book.along(3, "beam near", "beam far", 1500)
    run = _run(book)
    row = next(r for r in run["readings"] if r["id"] == reading)
    assert row["verdict"] == "agrees"
    assert abs(row["residual"]) < 1


@pytest.mark.parametrize("pair", [["near", "far"], ["near", "nowhere"]])
def test_a_lap_between_lines_that_are_no_neighbours_is_told(pair: list[str]) -> None:
    run = _run(_book([pair]))
    assert "lap.misplaced" in _codes(run)
    assert "laps" not in run
