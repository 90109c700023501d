"""The command line: what it prints, and how it says no."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from baywalk import cli, places

if TYPE_CHECKING:
    from pathlib import Path

DEMO = places.fixtures() / "demo-loft.json"


def test_demo_says_what_was_found_and_draws_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["demo"]) == 0
    text = capsys.readouterr().out
    assert "Demo loft (invented)" in text
    assert "J4–J5, near line reads 538" in text
    assert "Digits swapped?" in text
    assert "End wall runs out" in text
    assert "near ▐" in text
    assert "┃" in text


def test_reconcile_prints_the_as_built(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["reconcile", str(DEMO)]) == 0
    as_built = json.loads(capsys.readouterr().out)
    assert (as_built["format"], as_built["version"]) == ("baywalk.as-built", 1)
    assert as_built["settled"] is False


def test_reconcile_reads_standard_input() -> None:
    command = [sys.executable, "-m", "baywalk.cli", "reconcile", "-"]
    done = subprocess.run(command, input=DEMO.read_bytes(), capture_output=True, check=True)
    assert json.loads(done.stdout)["survey"] == json.loads(DEMO.read_text())["id"]
    assert done.stderr == b""


def _refused(monkeypatch: pytest.MonkeyPatch, text: str, capsys: pytest.CaptureFixture[str]) -> str:
    class Input:
        buffer = io.BytesIO(text.encode())

    monkeypatch.setattr(sys, "stdin", Input)
    assert cli.main(["reconcile", "-"]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 1
    return captured.err


def _demo(**change: object) -> str:
    return json.dumps({**json.loads(DEMO.read_text()), **change})


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("not JSON", "JSON"),
        ("[]", ""),
        (_demo(version=2), "version"),
        (_demo(format="other"), "format"),
        (_demo(tape=None), "field 'tape': must not be null."),
        (_demo(runs=[None]), "field 'runs/0': must not be null."),
        (_demo(runs=[{"id": "A", "member": None}]), "field 'runs/0/member': must not be null."),
    ],
)
def test_bad_files_are_refused_in_one_line(
    text: str,
    named: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert named in _refused(monkeypatch, text, capsys)


@pytest.mark.parametrize(
    ("given", "named"),
    [
        (["--port", "65536"], "--port"),
        (["--port", "-1"], "--port"),
        (["--phone-port", "1e3"], "--phone-port"),
        (["--data", ""], "--data"),
    ],
)
def test_what_cannot_be_served_is_refused_in_one_line(
    given: list[str], named: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        cli.main(["serve", *given])
    assert stopped.value.code == 2
    said = capsys.readouterr().err
    assert named in said
    assert said.count("\n") == 1


@pytest.mark.parametrize("value", ["353", True, None, -1, 1_000_001, [353]])
def test_a_bad_value_names_its_entry_and_field(
    value: object, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    survey = json.loads(DEMO.read_text())
    survey["entries"][7]["value"] = value
    line = _refused(monkeypatch, json.dumps(survey), capsys)
    assert survey["entries"][7]["id"] in line
    assert "value" in line


def test_a_missing_file_is_one_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert cli.main(["reconcile", str(tmp_path / "none.json")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
