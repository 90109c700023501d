"""The shared vectors: what this engine makes of each survey is what stands in its file."""

from __future__ import annotations

import json
import re
from functools import cache
from typing import Any

import pytest

from baywalk.fieldbook.entry import READINGS
from baywalk.reconcile.findings.closure import _CAUSES, _MISTAKES
from tests.vectors.cases import folder, vectors
from tests.vectors.compare import differences

FILES = sorted(folder().glob("*.json"))
NEAR = 1e-6  # numbers agree to this, in their own unit

UNNAMEABLE = {"hooked_at_100"}
"""Alone it is as likely as the hundred misread, which is named first; a whole pass is told."""


@cache
def _made() -> dict[str, dict[str, Any]]:
    return vectors()


@cache
def _kept() -> dict[str, dict[str, Any]]:
    return {file.name: json.loads(file.read_text(encoding="utf-8")) for file in FILES}


def test_files_are_those_of_the_command() -> None:
    """`python -m tests.make_vectors` makes these files and no others; at least sixty of them."""
    assert list(_kept()) == list(_made())
    assert len(FILES) >= 60
    assert len({vector["name"] for vector in _kept().values()}) == len(FILES)
    assert sum(file.stat().st_size for file in FILES) <= 1_500_000


@pytest.mark.parametrize("name", [file.name for file in FILES])
def test_vector(name: str) -> None:
    """The survey is the command's, and the as-built is what the file says."""
    kept, made = _kept()[name], _made()[name]
    assert kept["survey"] == made["survey"]
    assert differences(kept["as_built"], made["as_built"], NEAR) == []


def _runs() -> list[dict[str, Any]]:
    return [run for vector in _kept().values() for run in vector["as_built"]["runs"]]


def test_every_kind_verdict_and_cause_is_there() -> None:
    """No reading kind, verdict, cause of a slip or mistake of a whole pass is left out."""
    kinds = {e["kind"] for vector in _kept().values() for e in vector["survey"]["entries"]}
    assert kinds >= READINGS | {"strike", "restore", "set", "keep", "feature"}
    verdicts = {reading["verdict"] for run in _runs() for reading in run["readings"]}
    assert verdicts == {"agrees", "suspect", "unchecked", "struck"}
    causes = {suspect["cause"] for run in _runs() for suspect in run["suspects"]}
    assert causes >= _CAUSES.keys() - UNNAMEABLE | {"unknown"}
    mistakes = {run["common_cause"]["cause"] for run in _runs() if run["common_cause"]}
    assert mistakes == _MISTAKES.keys()
    assert {len(run["lines"]) for run in _runs()} == {0, 1, 2, 3, 5}


def test_every_finding_is_there() -> None:
    """Every code that a finding can have stands in some vector."""
    package = folder().parents[2] / "service" / "baywalk" / "reconcile"
    source = "".join(file.read_text(encoding="utf-8") for file in package.rglob("*.py"))
    codes = set(re.findall(r'"((?:\w+)\.(?:\w+))",\n\s+"(?:note|look|settle)"', source))
    assert len(codes) > 15
    seen = {finding["code"] for run in _runs() for finding in run["findings"]}
    seen |= {f["code"] for vector in _kept().values() for f in vector["as_built"]["findings"]}
    assert codes <= seen


@pytest.mark.parametrize(("name", "right"), [("turns-line", 1424.0), ("turns-wall", 1500.0)])
def test_a_slip_that_turns_a_line_about_is_named_alone(name: str, right: float) -> None:
    """However far it drew the first adjustment, the second does not start from there."""
    (run,) = next(v for v in _made().values() if v["name"] == f"slip-{name}")["as_built"]["runs"]
    assert [suspect["would_read"] for suspect in run["suspects"]] == [right]
    assert run["common_cause"] is None
    assert run["fit"]["chi2_p"] > 0.05


def test_lengths_over_three_lines_without_a_diagonal_accuse_nobody() -> None:
    """A sum that chance explains is shared along the joist, though the lines are not tied."""
    vector = next(v for v in _made().values() if v["name"] == "lines-sum-short")
    (run,) = vector["as_built"]["runs"]
    assert run["suspects"] == []
    along = [e["id"] for e in vector["survey"]["entries"] if e["kind"] == "along"]
    three = [r for r in run["readings"] if r["id"] in along]
    assert [r["residual"] for r in three] == pytest.approx([1.0, 1.0, -1.0] * 2, abs=0.01)
    # One condition among three like readings: a third of a slip shows in each (closed form).
    assert [r["redundancy"] for r in three] == pytest.approx([1 / 3] * 6, abs=0.01)
    assert "line.undetermined" in {f["code"] for f in run["findings"]}
