"""``baywalk plan``: what it prints, and how it says no."""

from __future__ import annotations

import io
import json
import sys
from typing import TYPE_CHECKING, Any

import pytest

from baywalk import cli
from baywalk.terminal import Bar
from tests.unit.planning.loft import regular

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Give a file of a plain as-built."""
    path = tmp_path / "as-built.json"
    path.write_text(json.dumps(regular(8)))
    return path


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    """Return the exit code, what was printed and what was said besides."""
    code = cli.main(["plan", *arguments])
    said = capsys.readouterr()
    return code, said.out, said.err


def test_it_prints_the_plan(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """As JSON, with the choices made."""
    code, out, err = run(capsys, str(file), "--deck", "22", "--start-wall", "far", "--time", "1")
    made = json.loads(out)
    assert (code, err) == (0, "")
    assert (made["format"], made["version"]) == ("baywalk.plan", 1)
    assert made["decks"][0]["deck"]["board"]["thickness"] == 22
    assert made["decks"][0]["laid_from"] == "far"


def test_it_puts_a_new_opening_in_its_best_place(
    file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A zone may begin with a minus, after an equals sign."""
    zone = "--zone=-100,300,2500,2500"
    code, out, err = run(capsys, str(file), "--hatch", "340x600", zone, "--time", "1")
    made = json.loads(out)
    assert (code, err) == (0, "")
    assert made["hatch"]["places"][0]["joists_cut"] == []
    assert made["choices"]["hatch"] == {"across": 340, "along": 600}


def test_it_reads_standard_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Given a dash."""

    class Input:
        buffer = io.BytesIO(json.dumps(regular(8)).encode())

    monkeypatch.setattr(sys, "stdin", Input)
    assert run(capsys, "-", "--time", "1")[0] == 0


def _spoilt(**change: Any) -> str:
    return json.dumps({**regular(8), **change})


@pytest.mark.parametrize(
    ("text", "arguments", "named"),
    [
        ("not JSON", (), "JSON"),
        (_spoilt(version=2), (), "version"),
        (_spoilt(settled=False), (), "not settled"),
        (_spoilt(), ("--deck", "19"), "deck"),
        (_spoilt(), ("--board", "big"), "board"),
        (_spoilt(), ("--price", "board"), "price.board"),
        (_spoilt(), ("--price", "dog=3"), "price.dog"),
        (_spoilt(), ("--roof", "thatch"), "roof"),
    ],
)
def test_bad_input_is_one_line(
    text: str,
    arguments: tuple[str, ...],
    named: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """And exit code 2."""
    path = tmp_path / "bad.json"
    path.write_text(text)
    code, out, err = run(capsys, str(path), *arguments)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert named in err


def test_told_to_go_on_it_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """On the terminal and in the plan."""
    path = tmp_path / "open.json"
    path.write_text(_spoilt(settled=False))
    code, out, err = run(capsys, str(path), "--anyway", "--time", "1")
    assert code == 0
    assert "told to go on" in err
    assert json.loads(out)["told"]


def test_the_bar_fills() -> None:
    """Half when the bound is half the best, and a line's end when they meet."""
    out = io.StringIO()
    bar = Bar(out)
    assert bar.show(100.0, 50.0)
    assert "50.0 %" in out.getvalue()
    assert "\n" not in out.getvalue()
    bar.show(100.0, 100.0)
    assert out.getvalue().endswith("\n")
