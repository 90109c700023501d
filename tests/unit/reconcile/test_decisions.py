"""What a person decides about a doubtful reading: strike it, take it again, or keep it."""

from __future__ import annotations

import json
import uuid
from typing import Any

from baywalk.fieldbook import load_survey
from baywalk.reconcile import reconcile
from tests.lofts import full_loft


def _run(survey: dict[str, Any]) -> dict[str, Any]:
    return reconcile(load_survey(json.dumps(survey)))["runs"][0]


def _slipped() -> tuple[dict[str, Any], str]:
    """Return a sound survey with one gap 40 mm too large, and that reading's id."""
    survey = full_loft(11, 8).survey()
    entry = next(e for e in survey["entries"] if e.get("from") == [3, "right"])
    entry["value"] += 40
    return survey, entry["id"]


def _decide(survey: dict[str, Any], kind: str, target: str) -> dict[str, Any]:
    by = survey["entries"][0]["by"]
    entry = {"id": str(uuid.uuid4()), "at": "2026-06-01T11:00:00Z", "by": by, "n": 9999}
    survey["entries"].append({**entry, "kind": kind, "target": target, "reason": "looked again"})
    return survey


def test_a_struck_reading_settles_it() -> None:
    survey, reading = _slipped()
    assert [s["reading"] for s in _run(survey)["suspects"]] == [reading]
    run = _run(_decide(survey, "strike", reading))
    assert run["settled"]
    assert {r["id"]: r["verdict"] for r in run["readings"]}[reading] == "struck"


def test_a_kept_reading_stays_in_and_is_said_so() -> None:
    survey, reading = _slipped()
    run = _run(_decide(survey, "keep", reading))
    assert run["settled"]
    assert run["suspects"] == []
    record = next(r for r in run["readings"] if r["id"] == reading)
    assert record["kept"] is True
    assert record["verdict"] == "agrees"
    assert [f["where"]["readings"] for f in run["findings"] if f["code"] == "reading.kept"] == [
        [reading]
    ]


def test_a_decision_taken_back_counts_no_more() -> None:
    survey, reading = _slipped()
    survey = _decide(survey, "keep", reading)
    keep = survey["entries"][-1]["id"]
    run = _run(_decide(survey, "strike", keep))
    assert [s["reading"] for s in run["suspects"]] == [reading]


def test_the_right_value_taken_again_leaves_the_old_one_alone_in_doubt() -> None:
    survey, reading = _slipped()
    old = next(e for e in survey["entries"] if e["id"] == reading)
    again = {**old, "id": str(uuid.uuid4()), "n": 9998, "value": old["value"] - 40}
    survey["entries"].append(again)
    run = _run(survey)
    assert [s["reading"] for s in run["suspects"]] == [reading]
    verdicts = {r["id"]: r["verdict"] for r in run["readings"]}
    assert verdicts[again["id"]] == "agrees"
