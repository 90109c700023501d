"""The invented demo loft: its files are what the script makes, and its as-built holds its truth."""

from __future__ import annotations

import json
import runpy
import shutil
from typing import TYPE_CHECKING

import pytest

from baywalk import places, rules
from baywalk.capacity import capacity, read_setting
from baywalk.fieldbook import load_survey
from baywalk.reconcile import reconcile

if TYPE_CHECKING:
    from pathlib import Path

FIXTURES = places.fixtures()
TRUTH = json.loads((FIXTURES / "demo-loft.truth.json").read_text())


@pytest.fixture(scope="module")
def as_built() -> dict:
    """Return the demo, reconciled once."""
    return reconcile(load_survey((FIXTURES / "demo-loft.json").read_bytes()))


@pytest.fixture(scope="module")
def run(as_built: dict) -> dict:
    """Return the demo's run."""
    return as_built["runs"][0]


def test_the_files_are_what_the_script_makes(tmp_path: Path) -> None:
    script = shutil.copy(FIXTURES / "demo_loft.py", tmp_path)
    runpy.run_path(script, run_name="__main__")
    for name in ("demo-loft.json", "demo-loft.truth.json"):
        assert (tmp_path / name).read_text() == (FIXTURES / name).read_text()


def test_positions_hold_the_truth(run: dict) -> None:
    for joist in run["joists"]:
        for line in ("near", "far"):
            at = joist["at"][line]
            true = TRUTH[line]["joists"][joist["index"] - 1]
            assert abs(at["x"] - true) < 3 * at["sd"], (joist["index"], line)
    for line in ("near", "far"):
        at = run["walls"]["end"]["at"][line]
        assert abs(at["x"] - TRUTH[line]["end"]) < 3 * at["sd"]


def test_the_slip_is_the_one_that_was_planted(run: dict) -> None:
    assert [s["reading"] for s in run["suspects"]] == [TRUTH["slip"]["reading"]]
    assert run["suspects"][0]["cause"] == "digits_swapped"
    assert abs(run["suspects"][0]["would_read"] - 583) < 1
    verdicts = {r["id"]: r["verdict"] for r in run["readings"]}
    assert verdicts[TRUTH["slip"]["reading"]] == "suspect"
    assert sum(v == "suspect" for v in verdicts.values()) == 1


def test_what_is_irregular_is_found(run: dict) -> None:
    assert run["nominal"]["centres"] == 400
    found = {(f["code"], f["where"].get("bay", f["where"].get("joist"))) for f in run["findings"]}
    for wanted in (
        ("centres.irregular", 4),
        ("centres.irregular", 8),
        ("joist.not_parallel", 6),
        ("wall.out_of_square", 13),
        ("bay.taper", 12),
    ):
        assert wanted in found
    assert ("centres.irregular", 2) not in found


def test_spans_and_bearings_hold_the_truth(run: dict) -> None:
    unread = []
    for joist in run["joists"]:
        figures = [(joist["span"], TRUTH["span"])]
        for end, bears in TRUTH["bearing"].items():
            read = joist["bearing"].get(end)
            unread += [] if read else [(joist["index"], end)]
            figures += [(read, bears[joist["index"] - 1])] if read else []
        for figure, true in figures:
            assert abs(figure["value"] - true) < 3 * figure["sd"], joist["index"]
    assert unread == [(10, "far")]


def test_the_load_check_tells_the_joists_apart(as_built: dict) -> None:
    """As a store under an unknown ceiling: close to what such joists carry, so some do not."""
    found = {
        one["index"]: one
        for one in capacity(as_built, read_setting({}, rules.load()))["runs"][0]["joists"]
    }
    assert all(one["checks"] for one in found.values())
    holds = {j for j, one in found.items() if one["verdict"] != "does_not_hold"}
    assert holds == {2, 7, 10, 11}
    # Beside the wide bay each carries most, and is used most.
    used = sorted(found, key=lambda j: found[j]["governing"]["utilisation"])
    assert set(used[-2:]) == {4, 5}
    short = (
        "The far end of J9 bears 32 mm. No published figure is as low. Ask a structural engineer."
    )
    assert [j for j, one in found.items() if short in one["cautions"]] == [9]
    unread = "The far bearing of J10 was not read; 40 mm is taken."
    assert [j for j, one in found.items() if any(unread in c for c in one["cautions"])] == [10]
