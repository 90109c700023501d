"""What leans: the joists together, one joist alone, and an edge, against the loft's own truth."""

from __future__ import annotations

import json
import math
import re
from typing import Any

from baywalk.fieldbook import load_survey
from baywalk.reconcile import reconcile
from tests.vectors.rig import APART, Rig, even

TWO = ("near", "far")
JOISTS = 6


def _read(lean: dict[int, float], edges: dict[int, float] | None = None) -> list[dict[str, Any]]:
    """Return the findings of a loft whose joists lean by so much [mm] between the lines."""
    book = Rig(even(JOISTS), 400.0 * JOISTS, TWO, lean=lean)
    book.bays()
    book.breadths()
    for line in TWO:
        book.whole(line)
    book.ties()
    for joist, off in (edges or {}).items():
        book.along(joist, "far", "far_edge", off)
    run = reconcile(load_survey(json.dumps(book.survey())))["runs"][0]
    return run["findings"]


def _of(found: list[dict[str, Any]], code: str) -> list[dict[str, Any]]:
    return [one for one in found if one["code"] == code]


def test_joists_that_lean_alike_are_told_of_once() -> None:
    found = _read(dict.fromkeys(range(1, JOISTS + 1), 30.0))
    (together,) = _of(found, "joists.out_of_square")
    assert abs(together["value"] - 1000 * 30 / APART) < 3 * together["sd"]
    assert _of(found, "joist.not_parallel") == []


def test_one_joist_alone_is_not_parallel() -> None:
    found = _read({3: 30.0})
    (alone,) = _of(found, "joist.not_parallel")
    assert alone["where"]["joist"] == 3
    assert abs(alone["value"] - 1000 * 30 / APART) < 3 * alone["sd"]
    assert re.search(r"by (29|30|31) ± \d+ towards the end wall", alone["say"])
    assert _of(found, "joists.out_of_square") == []


def test_an_edge_is_held_against_the_joists() -> None:
    found = _read({}, {1: 300.0, JOISTS: 340.0})
    (edge,) = _of(found, "edge.out_of_square")
    assert edge["where"]["edge"] == "far"
    assert math.isclose(edge["value"], 1000 * 40 / (400 * (JOISTS - 1)), abs_tol=3 * edge["sd"])
    assert "at the end wall it lies further" in edge["say"]


def test_an_edge_within_the_tolerance_is_not_told_of() -> None:
    assert _of(_read({}, {1: 300.0, JOISTS: 305.0}), "edge.out_of_square") == []
