"""The description of the routes agrees with the schemas that check, and with what is shared."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from jsonschema import Draft202012Validator

from baywalk import places
from baywalk.fieldbook.entry import KINDS, entry_fault
from baywalk.fieldbook.head import head_fault
from baywalk.http.openapi import describe
from baywalk.http.shared_schemas import shared
from tests.support.sample import entry, head
from tests.unit.fieldbook.test_entry import FAULTS, HEADS, SOUND

if TYPE_CHECKING:
    from flask.testing import FlaskClient


def validator(name: str) -> Any:
    document = describe()
    schema = {"$ref": f"#/components/schemas/{name}", "components": document["components"]}
    return Draft202012Validator(schema)


def test_the_description_is_served(client: FlaskClient) -> None:
    served = client.get("/api/openapi.json").get_json()
    assert served["openapi"] == "3.1.0"
    assert served == json.loads(json.dumps(describe()))


def test_every_schema_is_one() -> None:
    for schema in describe()["components"]["schemas"].values():
        Draft202012Validator.check_schema(schema)


def test_whatever_must_be_there_is_described() -> None:
    # The checker openapi-spec-validator 0.9 refuses a name that is required and not described.
    for name, schema in describe()["components"]["schemas"].items():
        assert set(schema.get("required", ())) <= set(schema.get("properties", ())), name


def test_every_kind_is_described() -> None:
    schemas = describe()["components"]["schemas"]
    for kind, schema in KINDS.items():
        described = schemas[f"Entry-{kind}"]
        required = {f.data_key or n for n, f in schema.fields.items() if f.required}
        assert set(described["required"]) == required
        assert described["properties"]["kind"] == {"const": kind}


@pytest.mark.parametrize("given", SOUND, ids=lambda e: str(e["kind"]))
def test_what_is_sound_is_so_described(given: dict[str, Any]) -> None:
    assert entry_fault(given) is None
    assert list(validator("Entry").iter_errors(given)) == []


def sayable(given: Any, field: str) -> bool:
    """Say whether JSON Schema has words for a fault: it knows no calendar, and JSON no NaN."""
    calendar = field in ("at", "created") and isinstance(given[field], str)
    twice = field == "runs/1"
    return not (calendar or twice or "nan" in repr(given) or "ud800" in repr(given))


@pytest.mark.parametrize(("given", "field"), [f for f in FAULTS if sayable(*f)])
def test_what_is_not_sound_is_not_so_described(given: Any, field: str) -> None:
    fault = entry_fault(given)
    assert fault
    assert fault.field == field
    assert list(validator("Entry").iter_errors(given))


@pytest.mark.parametrize(("given", "field"), [f for f in HEADS if sayable(*f)])
def test_an_unsound_head_is_not_so_described(given: Any, field: str) -> None:
    fault = head_fault(given)
    assert fault
    assert fault.field == field
    assert list(validator("Head").iter_errors(given))


def test_a_sound_head_is_described() -> None:
    assert list(validator("Head").iter_errors(head())) == []


@pytest.mark.parametrize("name", shared())
def test_the_shared_schemas_are_made_from_the_same(name: str) -> None:
    """``python -m baywalk.http.shared_schemas`` writes them anew."""
    text = (places.shared() / "schemas" / name).read_text(encoding="utf-8")
    assert json.loads(text) == shared()[name]


def test_the_shared_schema_of_a_survey_takes_the_demo_loft() -> None:
    demo = json.loads((places.fixtures() / "demo-loft.json").read_text(encoding="utf-8"))
    checked = Draft202012Validator(shared()["survey.schema.json"])
    assert list(checked.iter_errors(demo)) == []
    assert list(checked.iter_errors(demo | {"entries": [entry(value="353")]}))
    assert list(checked.iter_errors(demo | {"version": 2}))
