"""What makes an entry sound, field by field."""

from __future__ import annotations

from typing import Any

import pytest

from baywalk.fieldbook.entry import KINDS, READINGS, entry_fault
from baywalk.fieldbook.head import head_fault
from tests.support.sample import bare, entry, head

ID = "0b8f2f0e-1111-4222-8333-444455556666"

SOUND = [
    entry(),
    entry(value=0),
    entry(value=1_000_000),
    entry(value=353.5),
    entry(from_unknown=[1, 2], colour="red"),
    entry(**{"from": [0, "face"], "to": [10_000, "centre"]}),
    entry(tape="laser", resolution=0.5, note="by torch", hook="h1"),
    bare("along", run="A", joist=1, **{"from": "near_support", "to": "far"}, value=3602),
    bare("diagonal", run="A", **{"from": [1, "near"], "to": [14, "far"]}, value=6310),
    bare("breadth", run="A", joist=4, value=46),
    bare("depth", run="A", joist=4, value=146),
    bare("level", run="A", joist=4, line="near", value=212),
    bare("bearing", run="A", joist=4, end="near", value=90),
    bare("strike", target=ID, reason=""),
    bare("restore", target=ID),
    bare("set", path="/runs/A/joists", value=9),
    bare("set", path="", value=None),
    bare("photo", run="A", bay=3, sha256="a" * 64, width=1600, height=1200, caption="hatch"),
    bare("remark", text="x" * 10_000),
    bare("unreached", run="A", line="near", reason="the tank is there"),
    bare("feature", run="A", feature="opening", **{"from": [2, "right"]}, across=-40, along=-5),
    bare("sketch", strokes=[[0, 1], [2, 3]], value="not a number"),
    entry(at="2026-12-31T23:59:60Z"),
    entry(at="1970-01-01T00:00:00.123456789+14:00"),
    {k: v for k, v in entry().items() if k != "n"},
]


@pytest.mark.parametrize("given", SOUND, ids=lambda e: f"{e['kind']}")
def test_sound_entries_are_taken(given: dict[str, Any]) -> None:
    assert entry_fault(given) is None


FAULTS = [
    (None, ""),
    ([], ""),
    ("entry", ""),
    ({}, "id"),
    (entry(id=None), "id"),
    (entry(id=7), "id"),
    (entry(id="0B8F2F0E-1111-4222-8333-444455556666"), "id"),
    (entry(id="{0b8f2f0e-1111-4222-8333-444455556666}"), "id"),
    (entry(id="0b8f2f0e111142228333444455556666"), "id"),
    (entry(id=ID + "\n"), "id"),
    (entry(at=None), "at"),
    (entry(at=1_700_000_000), "at"),
    (entry(at="2026-11-01"), "at"),
    (entry(at="2026-11-01T10:05:00"), "at"),
    (entry(at="2026-02-30T10:05:00Z"), "at"),
    (entry(at="2026-11-01T25:05:00Z"), "at"),
    (entry(at="２０２６-11-01T10:05:00Z"), "at"),
    (entry(by=""), "by"),
    (entry(by=None), "by"),
    (entry(n=-1), "n"),
    (entry(n="1"), "n"),
    (entry(n=True), "n"),
    (entry(n=2**53), "n"),
    (entry(kind=None), "kind"),
    (entry(kind=""), "kind"),
    (entry(kind=["across"]), "kind"),
    (entry(value="353"), "value"),
    (entry(value=True), "value"),
    (entry(value=None), "value"),
    (entry(value=-1), "value"),
    (entry(value=1_000_000.5), "value"),
    (entry(value=10**400), "value"),
    (entry(value=float("nan")), "value"),
    (entry(value=float("inf")), "value"),
    (entry(value=[353]), "value"),
    ({k: v for k, v in entry().items() if k != "value"}, "value"),
    ({k: v for k, v in entry().items() if k != "run"}, "run"),
    ({k: v for k, v in entry().items() if k != "line"}, "line"),
    ({k: v for k, v in entry().items() if k != "from"}, "from"),
    (entry(**{"from": [1]}), "from"),
    (entry(**{"from": [1, "right", 2]}), "from"),
    (entry(**{"from": {"joist": 1}}), "from"),
    (entry(**{"from": ["1", "right"]}), "from"),
    (entry(**{"from": [True, "right"]}), "from"),
    (entry(**{"from": [-1, "right"]}), "from"),
    (entry(**{"from": [10_001, "right"]}), "from"),
    (entry(**{"from": [1.5, "right"]}), "from"),
    (entry(to=[1, "top"]), "to"),
    (entry(to=[1, None]), "to"),
    (entry(run=1), "run"),
    (entry(run="x" * 201), "run"),
    (entry(note="x" * 10_001), "note"),
    (entry(resolution="1"), "resolution"),
    (bare("along", run="A", joist=1, **{"from": 1, "to": "far"}, value=1), "from"),
    (bare("breadth", run="A", joist=10_001, value=46), "joist"),
    (bare("breadth", run="A", joist="4", value=46), "joist"),
    (bare("bearing", run="A", joist=4, end="left", value=46), "end"),
    (bare("strike", reason="x"), "target"),
    (bare("strike", target="x", reason="x"), "target"),
    (bare("strike", target=ID), "reason"),
    (bare("set", path="/title"), "value"),
    (bare("set", path=7, value=1), "path"),
    (bare("photo", run="A"), "sha256"),
    (bare("photo", sha256="A" * 64), "sha256"),
    (bare("photo", sha256="a" * 63), "sha256"),
    (bare("remark", text="x" * 10_001), "text"),
    (bare("remark", text=None), "text"),
    (bare("feature", run="A"), "feature"),
    (bare("feature", run="A", feature="hole", depth=-1), "depth"),
    (bare("sketch", id="x"), "id"),
]


@pytest.mark.parametrize(("given", "field"), FAULTS)
def test_an_unsound_entry_is_told_by_its_field(given: object, field: str) -> None:
    fault = entry_fault(given)
    assert fault
    assert fault.field == field
    assert fault.why
    assert "\n" not in fault.why


def test_an_unknown_kind_may_be_nested_up_to_the_limit() -> None:
    deep: Any = 1
    for _ in range(29):
        deep = [deep]
    assert entry_fault(bare("sketch", deep=deep)) is None
    fault = entry_fault(bare("sketch", deep=[deep]))
    assert fault
    assert fault.field == "deep"


def test_every_reading_has_a_run_and_a_value() -> None:
    assert {"across", "along", "diagonal", "breadth", "depth", "level", "bearing"} == READINGS
    for kind in READINGS:
        assert {"run", "value"} <= KINDS[kind].fields.keys()


HEADS = [
    (None, ""),
    ({}, "format"),
    (head(format="baywalk.plan"), "format"),
    (head(version=2), "version"),
    (head(version=True), "version"),
    (head(version="1"), "version"),
    (head(id="x"), "id"),
    (head(title=None), "title"),
    (head(title="x" * 201), "title"),
    (head(created="yesterday"), "created"),
    (head(tape="II"), "tape"),
    (head(tape={"class": 2}), "tape/class"),
    (head(runs={}), "runs"),
    (head(runs=["A"]), "runs/0"),
    (head(runs=[{"title": "no id"}]), "runs/0/id"),
    (head(runs=[{"id": "A"}, {"id": "A"}]), "runs/1"),
    (head(runs=[{"id": "A", "joists": -1}]), "runs/0/joists"),
    (head(runs=[{"id": "A", "joists": 10_001}]), "runs/0/joists"),
    (head(runs=[{"id": "A", "joists": "4"}]), "runs/0/joists"),
    (head(runs=[{"id": "A", "lines": "near"}]), "runs/0/lines"),
    (head(runs=[{"id": "A", "lines": ["near", "near"]}]), "runs/0/lines/1"),
    (head(runs=[{"id": "A", "lines": [1]}]), "runs/0/lines/0"),
    (head(runs=[{"id": "A", "member": {"breadth": "47"}}]), "runs/0/member/breadth"),
    (head(runs=[{"id": "A", "member": {"depth": -1}}]), "runs/0/member/depth"),
    (head(note="\ud800"), "note"),
]


@pytest.mark.parametrize(("given", "field"), HEADS)
def test_an_unsound_head_is_told_by_its_field(given: object, field: str) -> None:
    fault = head_fault(given)
    assert fault
    assert fault.field == field


def test_a_head_may_carry_more_than_is_known_here() -> None:
    assert head_fault(head(weather="wet", runs=[{"id": "A", "start": "gable"}])) is None
    assert head_fault(head(title="", runs=[])) is None
