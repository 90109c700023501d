"""Whatever sound entries a survey holds, its as-built is worked out, and the order is nothing."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from baywalk import places
from tests.faults.phone import JSON
from tests.properties import made
from tests.properties.conftest import new_survey

if TYPE_CHECKING:
    from tests.faults.doors import Inside

SCHEMA = Draft202012Validator(
    json.loads((places.shared() / "schemas" / "as-built.schema.json").read_text())
)
READINGS = ("across", "along", "diagonal", "breadth", "depth", "level", "bearing", "feature")
BOOK = st.lists(made.sound((*READINGS, "set")), max_size=14, unique_by=lambda entry: entry["id"])


def _post(door: Inside, survey: str, entries: list[Any]) -> None:
    body = json.dumps({"entries": entries}).encode()
    answer = door.ask("POST", f"{survey}/entries", body, JSON)
    assert not answer.json()["refused"], answer.body


@settings(max_examples=40)
@given(BOOK, st.randoms(use_true_random=False))
def test_any_sound_book_has_an_as_built(door: Inside, book: list[Any], draw: Any) -> None:
    """Senseless readings are findings, never a failure; the answer is of the published shape."""
    survey = new_survey(door)
    marks = [entry["id"] for entry in book if draw.random() < 0.2]
    strikes = [
        {**_bare(), "kind": "strike", "target": target, "reason": "slipped"} for target in marks
    ]
    _post(door, survey, [*book, *strikes])
    answer = door.ask("GET", f"{survey}/as-built")
    assert answer.status in (200, 422), answer.body
    if answer.status == 422:
        assert answer.json()["type"].endswith("#too-much-to-work-out")
        return
    SCHEMA.validate(answer.json())
    tag = {"If-None-Match": answer.headers["etag"]}
    assert door.ask("GET", f"{survey}/as-built", headers=tag).status == 304


def _bare() -> dict[str, Any]:
    return {"id": made.fresh(), "at": "2025-11-01T10:05:00Z", "by": "one"}
