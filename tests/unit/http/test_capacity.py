"""The route of the load check: what it answers, its tag, and how it says no."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from baywalk import places
from baywalk.capacity import capacity, read_setting
from baywalk.rules import load
from tests.support.sample import head
from tests.unit.capacity.loft import validator

if TYPE_CHECKING:
    from flask.testing import FlaskClient

DEMO = json.loads((places.fixtures() / "demo-loft.json").read_text(encoding="utf-8"))


@pytest.fixture
def address(client: FlaskClient) -> str:
    """Give the address of the demo loft, put there."""
    base = f"/api/surveys/{DEMO['id']}"
    client.put(base, json={k: v for k, v in DEMO.items() if k != "entries"})
    client.post(f"{base}/entries", json={"entries": DEMO["entries"]})
    return base


def test_it_is_the_check_of_the_as_built(client: FlaskClient, address: str) -> None:
    as_built = client.get(f"{address}/as-built").get_json()
    answer = client.get(f"{address}/capacity?use=domestic&dead=0.5")
    assert answer.status_code == 200
    asked = {"use": ["domestic"], "dead": ["0.5"]}
    assert answer.get_json() == json.loads(
        json.dumps(capacity(as_built, read_setting(asked, load())))
    )
    validator().validate(answer.get_json())


def test_the_tag_is_of_the_entries_and_the_question(client: FlaskClient, address: str) -> None:
    def tag(query: str) -> str:
        return str(client.get(f"{address}/capacity{query}").headers["ETag"])

    plain = tag("")
    assert tag("") == plain
    assert tag("?use=domestic&dead=0.5") == tag("?dead=0.5&use=domestic") != plain
    same = client.get(f"{address}/capacity", headers={"If-None-Match": plain})
    assert (same.status_code, same.data) == (304, b"")
    entry: dict[str, Any] = {**DEMO["entries"][0], "id": "00000000-0000-4000-8000-00000000abcd"}
    client.post(f"{address}/entries", json={"entries": [entry]})
    assert tag("") != plain


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("use=party", "use"),
        ("dead=nan", "dead"),
        ("dead=-1", "dead"),
        ("dead=1&dead=2", "dead"),
        ("dead=", "dead"),
        ("color=red", "color"),
        ("thing=bath", "thing/mass"),
    ],
)
def test_a_bad_question_names_its_field(
    client: FlaskClient, address: str, query: str, field: str
) -> None:
    answer = client.get(f"{address}/capacity?{query}")
    told = answer.get_json()
    assert (answer.status_code, answer.content_type) == (422, "application/problem+json")
    assert (told["type"].split("#")[1], told["field"]) == ("bad-query", field)


def test_no_such_survey(client: FlaskClient) -> None:
    assert client.get(f"/api/surveys/{DEMO['id']}/capacity").status_code == 404
    assert client.get("/api/surveys/none/capacity").status_code == 404


def test_a_survey_that_no_joist_could_have_is_a_problem(client: FlaskClient) -> None:
    survey = head()
    base = f"/api/surveys/{survey['id']}"
    run = {"id": "A", "title": "A", "joists": 3, "lines": ["near"], "member": {"depth": 9000}}
    client.put(base, json={**survey, "runs": [run]})
    answer = client.get(f"{base}/capacity")
    assert answer.status_code == 422
    told = answer.get_json()
    assert told["type"].endswith("#not-to-be-checked")
    assert told["field"].startswith("runs/0/")


def test_too_many_joists(client: FlaskClient) -> None:
    survey = head()
    base = f"/api/surveys/{survey['id']}"
    run = {"id": "A", "title": "A", "joists": 501, "lines": ["near"]}
    client.put(base, json={**survey, "runs": [run]})
    answer = client.get(f"{base}/capacity")
    assert answer.get_json()["type"].endswith("#too-much-to-work-out")
