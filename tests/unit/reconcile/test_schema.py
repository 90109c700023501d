"""The as-built's schema describes what the code writes and refuses what is no as-built."""

from __future__ import annotations

import copy
import json
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest

from baywalk import places, rules
from tests.lofts import full_loft
from tests.slips import plant
from tests.unit.reconcile.book import Book, computed, sound, validator

if TYPE_CHECKING:
    from collections.abc import Iterator


def _closed(schema: Any) -> Any:
    """Return the schema with every object that names its fields closed to others."""
    if isinstance(schema, list):
        return [_closed(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    closed = {key: _closed(part) for key, part in schema.items()}
    if "properties" in closed and isinstance(closed["properties"], dict):
        closed.setdefault("additionalProperties", False)
    return closed


def _surveys() -> Iterator[dict[str, Any]]:
    """Yield surveys that between them make every field appear."""
    for seed in range(8):
        loft = full_loft(seed, 5)
        for _ in range(seed % 3):
            plant(loft.entries, loft.draw)
        yield loft.survey()
    yield json.loads((places.fixtures() / "demo-loft.json").read_text(encoding="utf-8"))
    vectors = places.shared() / "vectors" / "reconcile"
    for name in ("group-one-line", "lapped"):
        vector = next(vectors.glob(f"*-{name}.json"))
        yield json.loads(vector.read_text(encoding="utf-8"))["survey"]
    book = Book(joists=2, lines=("near", "far"), breadth=47, depth=147)
    book.gap(0, 200)
    book.breadth(9, 47)
    book.add("bearing", joist=1, end="near", value=70)
    book.add("breadth", joist=1, run="elsewhere", value=47)
    book.strike(book.breadth(1, 99))
    where = {"line": "near", "from": [1, "left"], "across": 0, "along": 0}
    book.add("feature", feature="opening", **where, width=100, length=100)
    yield book.survey()


def test_every_field_written_is_described() -> None:
    """Against the schema with its objects closed: no field appears that it does not name."""
    strict = jsonschema.Draft202012Validator(_closed(validator().schema))
    for survey in _surveys():
        strict.validate(json.loads(json.dumps(sound(survey))))


def test_every_field_described_is_written_somewhere() -> None:
    """No field is named in the schema that the code never writes."""
    seen: set[str] = set()

    def look(part: object) -> None:
        if isinstance(part, dict):
            seen.update(part)
            for value in part.values():
                look(value)
        elif isinstance(part, list):
            for value in part:
                look(value)

    for survey in _surveys():
        look(computed(survey))
    named: set[str] = set()
    for schema in (validator().schema, *validator().schema["$defs"].values()):
        named |= set(schema.get("properties", {}))
    assert named - seen == set()


def test_every_number_says_its_unit() -> None:
    """A number's description ends with its unit in brackets, or refers to one that does."""

    def look(part: Any, path: str) -> Iterator[str]:
        if isinstance(part, list):
            for i, value in enumerate(part):
                yield from look(value, f"{path}/{i}")
        elif isinstance(part, dict):
            kinds = part.get("type")
            numeric = kinds == "number" or (isinstance(kinds, list) and "number" in kinds)
            words = part.get("description", "")
            told = "[" in words or "in the unit" in words or "same unit" in words
            if numeric and "description" in part and not told:
                yield path
            for key, value in part.items():
                yield from look(value, f"{path}/{key}")

    assert list(look(validator().schema, "")) == []


def test_rules_cited_are_in_the_pack() -> None:
    """A finding cites only rules that the pack has."""
    pack = rules.load()
    for survey in _surveys():
        for run in computed(survey)["runs"]:
            for finding in run["findings"]:
                assert finding["rule"] is None or finding["rule"] in pack


@pytest.mark.parametrize(
    "spoil",
    [
        lambda a: a.update(version=2),
        lambda a: a.update(format="baywalk.survey"),
        lambda a: a.pop("settled"),
        lambda a: a["runs"][0]["joists"][0].pop("breadth"),
        lambda a: a["runs"][0]["joists"][0]["at"]["near"].update(x="225"),
        lambda a: a["runs"][0]["readings"][0].update(verdict="fine"),
        lambda a: a["runs"][0]["readings"][0].update(redundancy=1.5),
        lambda a: a["runs"][0]["bays"][0].update(bay=-1),
        lambda a: a["runs"][0].update(outline=[[0, 0], [1, 1]]),
    ],
)
def test_what_is_no_as_built_is_refused(spoil: Any) -> None:
    """The schema is not so wide that anything passes."""
    good = computed(full_loft(1, 3).survey())
    assert validator().is_valid(json.loads(json.dumps(good)))
    bad = copy.deepcopy(good)
    spoil(bad)
    assert not validator().is_valid(json.loads(json.dumps(bad)))
