"""Streams that fail and files that are none: one line and an exit code, never a trace."""

from __future__ import annotations

import io
import json
import os
import sys
from typing import TYPE_CHECKING, Any

import pytest

from baywalk import cli, console, places
from tests.unit.planning.loft import rectangle, regular

if TYPE_CHECKING:
    from pathlib import Path

DEMO = str(places.fixtures() / "demo-loft.json")
FEWEST = {"format": "baywalk.as-built", "version": 1, "runs": [{"id": "A", "joists": []}]}


@pytest.fixture
def fewest(tmp_path: Path) -> Path:
    """Give a file of the least as-built."""
    path = tmp_path / "fewest.json"
    path.write_text(json.dumps(FEWEST))
    return path


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Run a command that is to refuse, and return its one line."""
    try:
        code = cli.main(arguments)
    except SystemExit as ended:
        code = int(str(ended.code))
    said = capsys.readouterr()
    assert (code, said.out) == (2, "")
    assert said.err.count("\n") == 1
    assert said.err.startswith("baywalk")
    return said.err


@pytest.mark.parametrize("command", [["demo"], ["reconcile", DEMO]])
def test_a_full_disk_is_one_line(
    command: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with open("/dev/full", "w") as full:  # noqa: PTH123 - a device, as the shell gives it
        monkeypatch.setattr(sys, "stdout", full)
        code = cli.main(command)
        monkeypatch.undo()
    assert code == 2
    assert capsys.readouterr().err == "baywalk: standard output: No space left on device\n"


def test_closed_streams_are_one_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", None)
    assert "standard input: is closed" in refused(capsys, "reconcile", "-")
    monkeypatch.setattr(sys, "stdout", None)
    assert cli.main(["demo"]) == 2
    monkeypatch.undo()
    assert capsys.readouterr().err == "baywalk: standard output: is closed\n"
    monkeypatch.setattr(sys, "stderr", None)
    assert cli.main(["reconcile", "none.json"]) == 2
    sys.stderr.close()


def test_nobody_to_tell_is_no_trace(monkeypatch: pytest.MonkeyPatch) -> None:
    with open("/dev/full", "w") as full:  # noqa: PTH123 - as above
        monkeypatch.setattr(sys, "stderr", full)
        assert cli.main(["reconcile", "none.json"]) == 2
        monkeypatch.undo()


@pytest.mark.parametrize("encoding", ["latin-1", "ascii", "utf-8"])
def test_json_can_be_read_whatever_the_terminal_writes(
    encoding: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(out, encoding=encoding))
    codes = [cli.main(["reconcile", DEMO])]
    text = out.getvalue()
    codes.append(cli.main(["demo"]))
    monkeypatch.undo()
    assert codes == [0, 0]
    # Whatever reads JSON reads UTF-8 (RFC 8259, section 8.1).
    assert json.loads(text.decode("utf-8"))["findings"] is not None


def broken_pipe() -> Any:
    reader, writer = os.pipe()
    os.close(reader)
    return os.fdopen(writer, "w")


def test_a_reader_that_goes_takes_no_sheet_along(
    fewest: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert cli.main(["sheets", str(fewest), "--out", str(tmp_path / "one")]) == 0
    named = capsys.readouterr().out.splitlines()
    with broken_pipe() as pipe:
        monkeypatch.setattr(sys, "stdout", pipe)
        code = cli.main(["sheets", str(fewest), "--out", str(tmp_path / "two")])
        monkeypatch.undo()
    assert (code, capsys.readouterr().err) == (0, "")
    assert len(list((tmp_path / "two").iterdir())) == len(named) > 0


def test_ctrl_c_is_no_trace(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(_: str) -> bytes:
        raise KeyboardInterrupt

    monkeypatch.setattr(console, "read", stopped)
    assert cli.main(["reconcile", "-"]) == 130
    assert capsys.readouterr() == ("", "")


def test_a_plan_that_breaks_a_rule_is_told_by_the_exit_code(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A planner that knew nothing of a laid deck's end would lay the next joint over it."""
    path = tmp_path / "laid.json"
    path.write_text(json.dumps(regular(12, features=[rectangle("laid", 10, 10, 2400, 610)])))
    assert cli.main(["plan", str(path), "--time", "20"]) == 0
    assert "Not kept" not in capsys.readouterr().err
    monkeypatch.setattr("baywalk.planning.deck._laid_ends", lambda _task: [])
    assert cli.main(["plan", str(path), "--time", "20"]) == 1
    said = capsys.readouterr()
    assert json.loads(said.out)["format"] == "baywalk.plan"
    assert "baywalk: Not kept: " in said.err


@pytest.mark.parametrize("command", ["reconcile", "capacity", "plan", "sheets"])
@pytest.mark.parametrize(
    ("held", "named"),
    [
        (b"", "line 1, column 1"),
        (b"\xef\xbb\xbf{}", "byte order mark"),
        ("{}".encode("utf-16"), "UTF-8"),
        (b'{"a": [1', "line 1, column"),
        (None, "directory"),
    ],
)
def test_what_is_no_file_of_ours_is_one_line(
    command: str,
    held: bytes | None,
    named: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = tmp_path / "odd"
    path.mkdir() if held is None else path.write_bytes(held)
    more = ["--out", str(tmp_path / "out")] if command == "sheets" else []
    assert named in refused(capsys, command, str(path), *more)


def test_the_file_at_fault_is_named(
    fewest: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = tmp_path / "bad one\n.json"
    bad.write_text("{")
    out = ["--out", str(tmp_path / "out")]
    assert "bad one .json: " in refused(capsys, "plan", str(fewest), "--plan", str(bad))
    assert "bad one .json: " in refused(capsys, "sheets", str(fewest), *out, "--survey", str(bad))
    assert "bad one .json: " in refused(capsys, "sheets", str(fewest), *out, "--photos", str(bad))


def test_a_number_too_large_is_told_by_its_entry(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    survey = json.loads((places.fixtures() / "demo-loft.json").read_text())
    survey["entries"][7]["value"] = "HERE"
    path = tmp_path / "large.json"
    path.write_text(json.dumps(survey).replace('"HERE"', "1e999"))
    line = refused(capsys, "reconcile", str(path))
    assert survey["entries"][7]["id"] in line
    assert "'value'" in line


def test_what_names_nothing_is_refused(
    fewest: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "--out" in refused(capsys, "sheets", str(fewest), "--out", "")
    data = ["--data", str(tmp_path / "data")]
    unknown = ["--database", "mysql://nobody@127.0.0.1/none"]
    refused(capsys, "backup", str(tmp_path / "b.tar"), *data, *unknown)
    assert cli.main(["serve", *data, "--port", "0", "--behind", ""]) == 2
    assert "--behind" in capsys.readouterr().err
