"""Whatever a head holds, it is kept and merged, or refused by its field."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from hypothesis import given
from hypothesis import strategies as st

from tests.faults.phone import JSON
from tests.properties import made
from tests.support.sample import head

if TYPE_CHECKING:
    from tests.faults.doors import Inside

FIELDS = ["format", "version", "id", "title", "created", "tape", "runs", "zz", "entries"]
MISSING = object()
RUN = st.fixed_dictionaries(
    {"id": st.sampled_from("ABC")},
    optional={
        "title": made.TEXTS,
        "joists": st.integers(0, 10_000),
        "lines": st.lists(st.sampled_from(["near", "far", "middle"]), unique=True),
        "member": st.dictionaries(st.sampled_from(["breadth", "depth", "grade"]), st.none()),
        "zz": made.VALUES,
    },
)
RUNS = st.lists(RUN, max_size=3, unique_by=lambda run: run["id"])


def _put(door: Inside, given: dict[str, Any]) -> Any:
    return door.ask("PUT", f"/api/surveys/{given['id']}", json.dumps(given).encode(), JSON)


@given(st.sampled_from(FIELDS), st.one_of(made.VALUES, st.just(MISSING)))
def test_a_spoilt_head_is_kept_or_refused(door: Inside, field: str, value: Any) -> None:
    """One field holds anything, or is missing: the head is taken, or the field is named."""
    sound = head()
    path = f"/api/surveys/{sound['id']}"
    spoilt = {key: value for key, value in sound.items() if key != field}
    if value is not MISSING:
        spoilt[field] = value
    answer = door.ask("PUT", path, json.dumps(spoilt).encode(), JSON)
    assert answer.status in (201, 422), answer.body
    if answer.status == 422:
        assert answer.json()["field"].split("/")[0] == field
        assert door.ask("GET", path).status == 404
    else:
        assert door.ask("GET", path).json() == {**spoilt, "entries": []}


@given(RUNS, RUNS)
def test_heads_are_merged(door: Inside, one: list[Any], other: list[Any]) -> None:
    """Runs go together by id, lines by union, joists by maximum; a second time nothing changes."""
    first = head(runs=one)
    second = {**first, "runs": other, "title": "Another"}
    assert _put(door, first).status == 201
    assert _put(door, second).status in (200, 204)
    merged = door.ask("GET", f"/api/surveys/{first['id']}").json()
    assert _put(door, {k: v for k, v in merged.items() if k != "entries"}).status == 204
    assert merged["title"] == "Another"
    runs = {run["id"]: run for run in merged["runs"]}
    for run in (*one, *other):
        assert runs[run["id"]].get("joists", 0) >= run.get("joists", 0)
        assert set(runs[run["id"]].get("lines", ())) >= set(run.get("lines", ()))
    assert len(runs) == len({run["id"] for run in (*one, *other)})
    assert _put(door, first).status in (200, 204)
    assert len(door.ask("GET", f"/api/surveys/{first['id']}").json()["runs"]) == len(runs)
