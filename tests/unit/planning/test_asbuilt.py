"""The as-built at the border: as little as the format asks for is enough; nonsense is named."""

from __future__ import annotations

import copy
import math
from typing import Any

import pytest

from baywalk.planning import BadAsBuilt, Choices, Refused, failed, plan
from baywalk.planning.asbuilt import sound
from tests.unit.planning.loft import as_built, rectangle, regular

QUICK = Choices(seconds=1)


def bare() -> dict[str, Any]:
    """Return an as-built with the fewest fields that a plan can be made from."""
    full = regular(8)["runs"][0]
    joists = [
        {"index": j["index"], "breadth": 47, "at": j["at"], "depth": 147} for j in full["joists"]
    ]
    run = {"id": "A", "joists": joists, "outline": full["outline"]}
    return {"format": "baywalk.as-built", "version": 1, "runs": [run]}


def test_the_fewest_fields_are_enough() -> None:
    """No title, lines, walls, bays, features or findings; sizes as bare numbers."""
    made = plan(bare(), QUICK)
    assert failed(made) == []
    assert made["survey"] == "not given"


def test_the_fewest_fields_give_the_same_layout() -> None:
    """What is left out is worked out from what is there."""
    full = regular(8)
    for joist in full["runs"][0]["joists"]:
        joist["span"] = joist["ends"] = None
    layouts = [
        [(p["id"], p["polygon"], p["board"]) for p in plan(d, QUICK)["decks"][0]["pieces"]]
        for d in (full, bare())
    ]
    assert layouts[0] == layouts[1]


def _on_one_line(angle: float | None) -> dict[str, Any]:
    document = bare()
    for joist in document["runs"][0]["joists"]:
        joist["at"] = {"near": {"x": joist["at"]["near"]["x"]}}
        joist["angle"] = angle
    return document


def test_a_place_on_the_first_line_needs_no_point() -> None:
    """There y is 0 by definition; one place and a direction are a line."""
    made = plan(_on_one_line(1.0), QUICK)
    assert failed(made) == []
    (x0, y0), *_, (x1, y1) = made["decks"][0]["joists"][2]["line"]
    assert (x1 - x0) / (y1 - y0) == pytest.approx(math.tan(math.radians(1)), abs=1e-4)


def test_one_place_alone_says_nothing_of_which_way_a_joist_runs() -> None:
    """Neither do two places in one: nobody guesses that joists stand square."""
    twice = bare()
    place = twice["runs"][0]["joists"][3]["at"]
    place["far"]["point"] = list(place["near"]["point"])
    for document in (_on_one_line(None), twice):
        with pytest.raises(Refused) as caught:
            plan(document, QUICK)
        assert [reason.code for reason in caught.value.reasons] == ["run.one_line"]


@pytest.mark.parametrize("walls", [None, {}, {"start": None}, {"start": {"at": {}}, "end": None}])
def test_a_wall_that_is_not_given_follows_the_outline(walls: Any) -> None:
    document = bare()
    document["runs"][0]["walls"] = walls
    assert failed(plan(document, QUICK)) == []


@pytest.mark.parametrize(
    "bays",
    [
        None,
        [{"bay": 2, "at": {"near": {"gap": 353}}}],
        [{"bay": 9, "at": {"far": {"centres": 400, "sd": 1}}}],
        [{"bay": 2, "at": {"elsewhere": {"centres": 410}}}],
    ],
)
def test_some_bays_or_none_are_enough(bays: Any) -> None:
    document = bare()
    document["runs"][0] |= {"bays": bays, "features": None, "lines": None, "laps": None}
    assert failed(plan(document, QUICK)) == []


HOLE = rectangle("opening", 1230, 1000, 1570, 1400)


@pytest.mark.parametrize(
    ("where", "twice"),
    [("runs/1/id", {"runs": [regular(8)["runs"][0]] * 2}), ("runs/0/features/1/id", None)],
)
def test_two_of_one_id_are_refused(where: str, twice: dict[str, Any] | None) -> None:
    document = bare()
    document["runs"][0]["features"] = [HOLE, HOLE]
    with pytest.raises(BadAsBuilt, match=f"field '{where}': is the id of another already"):
        plan(document | (twice or {}), QUICK)


def test_a_deck_on_one_joist_has_no_centres() -> None:
    made = plan(as_built([900], 1800, 2000), QUICK)
    assert failed(made) == []
    assert made["decks"][0]["thickness"]["centres"] == 0


def _spoil(*steps: Any, value: Any) -> dict[str, Any]:
    document = copy.deepcopy(bare())
    inner: Any = document
    for step in steps[:-1]:
        inner = inner[step]
    inner[steps[-1]] = value
    return document


NAN = float("nan")
RUN = ("runs", 0)
JOIST = (*RUN, "joists", 0)


@pytest.mark.parametrize(
    ("document", "named"),
    [
        (None, "object"),
        ([], "object"),
        (_spoil("format", value="baywalk.survey"), "format"),
        (_spoil("version", value=2), "version"),
        (_spoil("version", value=True), "version"),
        (_spoil("runs", value={}), "runs"),
        (_spoil(*RUN, "id", value=""), "runs/0/id"),
        (_spoil(*RUN, "joists", value=None), "runs/0/joists"),
        (_spoil(*JOIST, "index", value=2), "runs/0/joists"),
        (_spoil(*JOIST, "at", value=[]), "runs/0/joists/0/at"),
        (_spoil(*JOIST, "at", "near", "point", value=[1]), "point"),
        (_spoil(*JOIST, "at", "near", "point", value=[NAN, 0]), "point"),
        (_spoil(*JOIST, "at", "near", "point", value=["0", 0]), "point"),
        (_spoil(*JOIST, "at", "near", "point", value=[1e7, 0]), "point"),
        (_spoil(*JOIST, "breadth", value=-47), "breadth"),
        (_spoil(*JOIST, "breadth", value={"value": NAN}), "breadth"),
        (_spoil(*JOIST, "breadth", value={"sd": 1}), "breadth"),
        (_spoil(*JOIST, "breadth", value=4700), "breadth"),
        (_spoil(*JOIST, "depth", value=True), "depth"),
        (_spoil(*JOIST, "level", value={"near": NAN}), "level"),
        (_spoil(*RUN, "outline", value=[[0, 0], [1, 1]]), "outline"),
        (_spoil(*RUN, "outline", value=[[0, 0], [1, 1], [0, NAN]]), "outline"),
        (_spoil(*RUN, "features", value=[{"feature": "opening"}]), "features"),
        (_spoil(*RUN, "settled", value="yes"), "settled"),
    ],
)
def test_nonsense_is_named(document: Any, named: str) -> None:
    """One line that names the field."""
    with pytest.raises(BadAsBuilt) as fault:
        sound(document)
    assert named in str(fault.value)
    assert "\n" not in str(fault.value)


@pytest.mark.parametrize(
    ("document", "says"),
    [
        (_spoil(*RUN, "outline", value=None), "edge"),
        (_spoil(*RUN, "joists", value=[]), "no joists"),
        (_spoil(*JOIST, "breadth", value=None), "breadth"),
        (_spoil(*JOIST, "at", value={"near": {"x": None}}), "cannot be placed"),
        (_spoil("runs", value=[]), "no run"),
        (_spoil(*RUN, "outline", value=[[0, 0], [9, 9], [9, 0], [0, 9]]), "crosses itself"),
        (
            _spoil(*RUN, "outline", value=[[0, 0], [3200, 0], [3200, 15], [0, 15]]),
            "nothing is left",
        ),
    ],
)
def test_what_cannot_be_planned_is_said(document: Any, says: str) -> None:
    """A sentence that says what to read or do."""
    with pytest.raises(Refused, match=says):
        plan(document, QUICK)


def test_joists_that_cross_are_refused() -> None:
    """Two joists in one place, or out of their order, are a reading to take again."""
    document = bare()
    document["runs"][0]["joists"][3]["at"]["far"]["point"][0] = 100.0
    with pytest.raises(Refused, match=r"J3.*J4|J4"):
        plan(document, QUICK)


def test_an_unsettled_survey_waits_for_a_word() -> None:
    """Refused with the doubt; told to go on, it says that it was told."""
    document = bare()
    document["settled"] = False
    doubt = {"severity": "settle", "say": "J4–J5 reads 538. Take it again."}
    document["runs"][0]["findings"] = [doubt]
    with pytest.raises(Refused, match="J4–J5 reads 538"):
        plan(document, QUICK)
    told = plan(document, Choices(seconds=1, anyway=True))["told"]
    assert "told to go on" in told[0]
    assert doubt["say"] in told
