"""A whole number is one however it is written, at every border.

JSON Schema 2020-12 (Validation, 6.1.1) takes any number with a zero fractional part for an
``integer``; other tools, and other languages, write 14 as 14.0.
"""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from baywalk import places, rules
from baywalk.capacity import capacity, load_as_built, read_setting
from baywalk.fieldbook import load_survey
from baywalk.fieldbook.entry import entry_fault
from baywalk.fieldbook.head import head_fault
from baywalk.fieldbook.text import parse, plain
from baywalk.http.shared_schemas import shared
from baywalk.planning import Choices, plan, plan_again
from baywalk.reconcile import reconcile
from baywalk.sheets import Source, make, possible, sound
from tests.sheet_sources import head as sheet_head
from tests.support.sample import bare, entry, head
from tests.unit.planning.loft import regular

DEMO = (places.fixtures() / "demo-loft.json").read_text(encoding="utf-8")
LONG = {"time": ["20"]}


def pointed(document: Any) -> str:
    """Return a document as JSON text with each of its numbers written with a point."""
    return json.dumps(json.loads(json.dumps(document), parse_int=float))


@cache
def made() -> tuple[dict[str, Any], dict[str, Any]]:
    """Return an as-built, and its plan."""
    as_built = regular(8)
    return as_built, plan(as_built, Choices(seconds=20))


def test_a_survey_is_reconciled_alike() -> None:
    usual = reconcile(load_survey(DEMO))
    other = reconcile(load_survey(pointed(json.loads(DEMO))))
    assert plain(other) == plain(usual)


def test_an_as_built_is_planned_and_checked_alike() -> None:
    as_built, planned = made()
    other = plan(parse(pointed(as_built)), Choices(seconds=20))
    for one in (other, planned):
        for deck in one["decks"]:
            deck["proof"] = deck["proof"] | {"seconds": 0}
    assert plain(other) == plain(planned)
    setting = read_setting({}, rules.load())
    assert capacity(load_as_built(pointed(as_built)), setting) == capacity(as_built, setting)


def test_a_plan_and_what_is_laid_are_gone_on_from() -> None:
    as_built, planned = made()
    piece = planned["decks"][0]["pieces"][0]
    edge = {"course": 1, "edge": planned["decks"][0]["courses"][0]["y1"] + 1}
    deck = {"id": "D1", "pieces": [{"id": piece["id"]}], "courses": [edge], "in_hand": 20}
    laid = {"format": "baywalk.as-laid", "version": 1, "decks": [deck]}
    usual = plan_again(as_built, planned, laid, LONG)
    other = plan_again(as_built, parse(pointed(planned)), parse(pointed(laid)), LONG)
    assert other["changes"] == usual["changes"]
    assert plain(other["decks"][0]["pieces"]) == plain(usual["decks"][0]["pieces"])


def test_sheets_are_drawn_alike() -> None:
    as_built, planned = made()
    usual = Source(sound(as_built, "baywalk.as-built"), sound(planned, "baywalk.plan"))
    other = Source(
        sound(parse(pointed(as_built)), "baywalk.as-built"),
        sound(parse(pointed(planned)), "baywalk.plan"),
    )
    for name in possible(usual):
        pages = [make(name, source, sheet_head(source)).pages for source in (usual, other)]
        assert pages[0] == pages[1], name


WHOLE = [
    entry(n=14.0),
    entry(**{"from": [14.0, "left"]}),
    bare("along", run="A", joist=14.0, **{"from": "near", "to": "far"}, value=3602),
    bare("diagonal", run="A", **{"from": [1.0, "near"], "to": [14.0, "far"]}, value=6310),
    bare("photo", run="A", bay=-0.0, sha256="a" * 64, width=1600.0),
]


@pytest.mark.parametrize("given", WHOLE, ids=lambda e: f"{e['kind']}")
def test_the_entrys_schema_and_the_service_take_it(given: dict[str, Any]) -> None:
    entries = Draft202012Validator(shared()["entry.schema.json"])
    read = json.loads(json.dumps(given))
    assert entries.is_valid(read)
    assert entry_fault(read) is None
    assert read == given
    # A length keeps the form in which it was sent; a whole number is kept as one.
    assert ".0" not in json.dumps(read)


@pytest.mark.parametrize("value", [14.5, float("nan"), float("inf"), 1e300, "14", "14.0", True])
def test_what_is_none_is_refused(value: object) -> None:
    fault = entry_fault(bare("breadth", run="A", joist=value, value=46))
    assert fault
    assert fault.field == "joist"


def test_a_head_and_a_change_of_it_are_kept_with_whole_numbers() -> None:
    given = head(version=1.0)
    given["runs"][0]["joists"] = 4.0
    read = json.loads(json.dumps(given))
    assert Draft202012Validator(shared()["survey.schema.json"]).is_valid(read | {"entries": []})
    assert head_fault(read) is None
    assert json.dumps(read["runs"][0]["joists"]) == "4"
    change = bare("set", path="/runs/A/joists", value=9.0)
    folded = load_survey(json.dumps(read | {"entries": [change]}))
    assert json.dumps(folded.head["runs"][0]["joists"]) == "9"
