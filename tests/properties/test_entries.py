"""Whatever a batch holds, each of its entries is kept as it is or refused by its field."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.faults.phone import JSON
from tests.properties import made

if TYPE_CHECKING:
    from tests.faults.doors import Inside

SPOILT = st.composite(made.spoilt)()


def _post(door: Inside, survey: str, text: str) -> Any:
    return door.ask("POST", f"{survey}/entries", text.encode(), JSON)


def _kept(door: Inside, survey: str) -> dict[str, str]:
    """Return every entry that is there, as a text that tells 1 from 1.0, by id."""
    entries = json.loads(door.ask("GET", survey).body)["entries"]
    return {entry["id"]: json.dumps(entry, sort_keys=True) for entry in entries}


@given(st.lists(st.one_of(SPOILT, made.sound(), made.VALUES), max_size=8))
def test_every_entry_is_in_one_list(door: Inside, survey: str, batch: list[Any]) -> None:
    """Kept is kept to the letter; refused names place, id and field, and is not kept."""
    before = _kept(door, survey)
    answer = _post(door, survey, json.dumps({"entries": batch}))
    assert answer.status == 200, answer.body
    said = answer.json()
    refused = {one["index"]: one for one in said["refused"]}
    rest = [entry for place, entry in enumerate(batch) if place not in refused]
    assert sorted(said["stored"] + said["known"]) == sorted(entry["id"] for entry in rest)
    assert len(refused) + len(rest) == len(batch)
    for place, one in refused.items():
        assert one["why"]
        _check_name(batch[place], one)
    after = _kept(door, survey)
    assert after.keys() - before.keys() == set(said["stored"])
    for entry in rest:
        if entry["id"] in said["stored"]:
            assert after[entry["id"]] == json.dumps(entry, sort_keys=True)


def _check_name(entry: Any, one: dict[str, Any]) -> None:
    """A refusal names the entry by its id where it has one, and one of its fields."""
    name = entry.get("id") if isinstance(entry, dict) else None
    assert one["id"] == (name[:200] if isinstance(name, str) else None)
    assert isinstance(one["field"], str)


@given(made.sound())
def test_what_is_sound_is_kept(door: Inside, survey: str, entry: dict[str, Any]) -> None:
    """No sound entry is refused, however senseless; a second time it is known."""
    entry["id"] = made.fresh()
    text = json.dumps({"entries": [entry]})
    first, second = (_post(door, survey, text).json() for _ in range(2))
    assert first["stored"] == [entry["id"]]
    assert second["known"] == [entry["id"]]
    assert second["cursor"] == first["cursor"]


@given(made.sound(), made.VALUES)
def test_a_twin_that_differs_is_refused(
    door: Inside, survey: str, entry: dict[str, Any], other: Any
) -> None:
    """Under one id the first stands, in one batch or in two."""
    entry["id"] = made.fresh()
    twin = {**entry, "zz": [other, "other"]}
    said = _post(door, survey, json.dumps({"entries": [entry, twin, entry]})).json()
    assert (said["stored"], said["known"]) == ([entry["id"]], [entry["id"]])
    assert [(one["index"], one["field"]) for one in said["refused"]] == [(1, "id")]
    again = _post(door, survey, json.dumps({"entries": [twin]})).json()
    assert [one["field"] for one in again["refused"]] == ["id"]


@given(made.VALUES, made.TEXTS, st.integers(0, 60))
def test_a_body_is_json_of_that_shape_or_refused(
    door: Inside, survey: str, value: Any, junk: str, place: int
) -> None:
    """A body spoilt anywhere is one clear refusal, and nothing of it is kept."""
    before = _kept(door, survey)
    body = json.dumps({"entries": [], "more": value})
    body = body[:place] + junk + body[place:]
    answer = _post(door, survey, body)
    assert answer.status in (200, 400, 422)
    if answer.status != 200:
        assert answer.headers["content-type"] == "application/problem+json"
        assert answer.json()["detail"]
    assert _kept(door, survey) == before


@pytest.mark.parametrize(
    "number",
    ["NaN", "Infinity", "-Infinity", "0x10", "01", "+1", ".5", "1."],
)
def test_what_is_no_number_is_refused_whole(door: Inside, survey: str, number: str) -> None:
    """JSON has none of these."""
    assert _post(door, survey, _of_number(number)).status == 400


@pytest.mark.parametrize("number", ["1e999", "-1e999", "1" * 5000])
def test_a_number_that_nobody_can_hold_spoils_its_entry_alone(
    door: Inside, survey: str, number: str
) -> None:
    answer = _post(door, survey, _of_number(number))
    assert (answer.status, [one["field"] for one in answer.json()["refused"]]) == (200, ["zz"])


def _of_number(number: str) -> str:
    entry = json.dumps(dict.fromkeys(("id", "at", "by", "kind", "zz"), "x"))
    return '{"entries":[' + entry.replace('"zz": "x"', f'"zz": {number}') + "]}"


@pytest.mark.parametrize("depth", [31, 32, 33, 100, 5_000, 200_000])
@pytest.mark.parametrize("pair", ["[]", "{}"])
def test_nesting_has_an_end(door: Inside, survey: str, depth: int, pair: str) -> None:
    """Up to 32 deep is kept; deeper is refused, however deep."""
    ends = {"[]": ("[", "]"), "{}": ('{"a":', "}")}[pair]
    # The body, its list and the entry are three of the depths.
    inner = ends[0] * (depth - 3) + "0" + ends[1] * (depth - 3)
    fields = {"id": made.fresh(), "at": "2025-11-01T10:05:00Z", "by": "one", "kind": "zz"}
    answer = _post(door, survey, '{"entries":[' + json.dumps(fields)[:-1] + f',"zz":{inner}}}]}}')
    if depth <= 32:
        assert answer.json()["stored"] == [fields["id"]]
    elif answer.status == 200:
        assert [one["field"] for one in answer.json()["refused"]] == ["zz"]
    else:
        assert answer.status == 400


@given(st.text(max_size=30), st.sampled_from(["after=", "after=1&after=", "x=1&after="]))
def test_a_cursor_is_a_number_or_refused(door: Inside, survey: str, junk: str, before: str) -> None:
    """Whatever stands for a cursor gets a page or one clear refusal."""
    answer = door.ask("GET", f"{survey}/entries?{before}{quote(junk, errors='surrogatepass')}")
    assert answer.status in (200, 422), answer.body
    assert answer.json()
