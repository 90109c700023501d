"""The plan's route: choices by name, tags, refusals with their reasons."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from baywalk import places
from tests.lofts import full_loft

if TYPE_CHECKING:
    from flask.testing import FlaskClient


def _put(client: FlaskClient, survey: dict[str, Any]) -> str:
    address = f"/api/surveys/{survey['id']}"
    head = {key: value for key, value in survey.items() if key != "entries"}
    assert client.put(address, json=head).status_code == 201
    entries = survey["entries"]
    for start in range(0, len(entries), 200):
        batch = {"entries": entries[start : start + 200]}
        assert client.post(f"{address}/entries", json=batch).status_code == 200
    return address


def _sound(seed: int = 2) -> dict[str, Any]:
    loft = full_loft(seed, 6)
    for joist in (1, loft.n):
        for line, edge, value in (("near", "near_edge", 300), ("far", "far_edge", 320)):
            loft.add("along", joist=joist, **{"from": line, "to": edge}, value=value)
    return loft.survey()


@pytest.fixture
def address(client: FlaskClient) -> str:
    """Give the address of a survey that can be planned."""
    return _put(client, _sound())


def test_a_plan_is_given_with_its_tag(client: FlaskClient, address: str) -> None:
    """And not again to who has it."""
    first = client.get(f"{address}/plan?time=1")
    assert first.status_code == 200, first.json
    assert first.json["format"] == "baywalk.plan"
    assert all(row["holds"] for deck in first.json["decks"] for row in deck["checks"])
    again = client.get(f"{address}/plan?time=1", headers={"If-None-Match": first.headers["ETag"]})
    assert again.status_code == 304


def test_other_choices_are_another_plan(client: FlaskClient, address: str) -> None:
    """The tag follows the choices, whatever their order."""
    one = client.get(f"{address}/plan?time=1&start_wall=far&deck=22")
    same = client.get(f"{address}/plan?deck=22&start_wall=far&time=1")
    other = client.get(f"{address}/plan?time=1")
    assert one.headers["ETag"] == same.headers["ETag"] != other.headers["ETag"]
    assert one.json["decks"][0]["laid_from"] == "far"


@pytest.mark.parametrize("query", ["deck=19", "colour=red", "board=big", "deck=18&deck=22"])
def test_a_bad_choice_is_named(client: FlaskClient, address: str, query: str) -> None:
    """As a problem, with its field."""
    answer = client.get(f"{address}/plan?{query}")
    assert answer.status_code == 422
    assert answer.content_type == "application/problem+json"
    assert answer.json["field"] == query.split("=")[0]


def test_an_unsettled_survey_is_a_conflict(client: FlaskClient) -> None:
    """409 with the doubts in words; told to go on, the plan says so."""
    demo = json.loads((places.fixtures() / "demo-loft.json").read_text())
    address = _put(client, demo)
    refused = client.get(f"{address}/plan")
    assert refused.status_code == 409
    assert refused.json["type"].endswith("#not-settled")
    assert any("538" in reason["say"] for reason in refused.json["reasons"])
    told = client.get(f"{address}/plan?anyway=1&time=1")
    assert told.status_code == 200
    assert told.json["told"]


def test_what_cannot_be_planned_says_what_to_read(client: FlaskClient) -> None:
    """No edge was read, so nobody knows where the deck ends."""
    answer = client.get(f"{_put(client, full_loft(3, 5).survey())}/plan")
    assert answer.status_code == 422
    assert answer.json["type"].endswith("#not-to-be-planned")
    assert "edge" in answer.json["reasons"][0]["say"]


def test_no_survey_no_plan(client: FlaskClient) -> None:
    """404, as everywhere."""
    answer = client.get("/api/surveys/00000000-0000-4000-8000-000000000000/plan")
    assert answer.status_code == 404


def test_a_new_opening_is_put_in_its_best_place(client: FlaskClient, address: str) -> None:
    """The plan says where and why; the survey has no opening after it."""
    answer = client.get(f"{address}/plan?time=1&hatch=300x600&zone=2,right,near,0,0,2000,2400")
    assert answer.status_code == 200, answer.json
    hatch = answer.json["hatch"]
    shown = [o["feature"] for deck in answer.json["decks"] for o in deck["openings"]]
    assert shown == [hatch["feature"]]
    assert "no joist is cut" in hatch["say"].lower()
    kinds = {entry["kind"] for entry in client.get(address).json["entries"]}
    assert "feature" not in kinds


@pytest.mark.parametrize(
    ("query", "field"),
    [("hatch=300", "hatch"), ("zone=0,0,900,900", "zone"), ("hatch=300x600&zone=1,2", "zone")],
)
def test_a_zone_that_is_none_is_named(
    client: FlaskClient, address: str, query: str, field: str
) -> None:
    """As every choice that is not understood."""
    answer = client.get(f"{address}/plan?{query}")
    assert (answer.status_code, answer.json["field"]) == (422, field)


def test_a_plan_goes_on_from_what_is_laid(client: FlaskClient, address: str) -> None:
    """What is laid stays, an earlier plan or a file that is none is named, nothing is stored."""
    made = client.get(f"{address}/plan?time=1").json
    piece = made["decks"][0]["pieces"][0]["id"]
    deck = {"id": made["decks"][0]["id"], "pieces": [{"id": piece}]}
    laid = {"format": "baywalk.as-laid", "version": 1, "decks": [deck]}
    answer = client.post(f"{address}/plan?time=1", json={"plan": made, "laid": laid})
    assert answer.status_code == 200
    assert answer.json["changes"]["laid"] == 1
    assert [p["id"] for p in answer.json["decks"][0]["pieces"] if p.get("laid")] == [piece]
    for body, field in (
        ({"laid": laid}, "plan"),
        ({"plan": {"format": "baywalk.plan"}}, "plan"),
        ({"plan": made, "laid": laid | {"version": 2}}, "laid"),
    ):
        refused = client.post(f"{address}/plan", json=body)
        assert (refused.status_code, refused.json["field"]) == (422, field)
    assert client.post(f"{address}/plan", data="plan").status_code == 415
