"""What sheets are made from at the border: the fewest fields are enough, a bad one is named."""

from __future__ import annotations

import copy
import json
import math
from typing import TYPE_CHECKING, Any

import pytest

from baywalk import cli
from baywalk.sheets import BadGiven, Source, make, possible, sound
from baywalk.sheets.ink import Words
from tests import sheet_sources

if TYPE_CHECKING:
    from pathlib import Path

FEWEST: dict[str, Any] = {
    "format": "baywalk.as-built",
    "version": 1,
    "runs": [
        {
            "id": "A",
            "joists": [
                {"index": 1, "breadth": 47, "at": {"near": {"x": 200}}},
                {"index": 2, "breadth": {"value": 47}, "at": {"near": {"x": 610.4, "sd": 1}}},
                {"index": 3, "at": {}},
            ],
        },
        {"id": "B", "joists": []},
    ],
}


def test_the_fewest_fields_are_drawn() -> None:
    source = Source(sound(FEWEST, "baywalk.as-built"))
    for name in possible(source):
        pages = make(name, source, sheet_sources.head(source)).pages
        said = " ".join(w.text for page in pages for w in page.items if isinstance(w, Words))
        assert "J2" in said
    plan = make("as-built", source, sheet_sources.head(source)).pages
    said = " ".join(w.text for page in plan for w in page.items if isinstance(w, Words))
    assert "J2: 610" in said
    assert "no reading says where they are: J3" in said
    assert "do not yet say where any of the 0 joists is" in said


def spoilt(path: list[Any], value: object) -> dict[str, Any]:
    """Return the demo's as-built with one value put in another's place."""
    out: dict[str, Any] = copy.deepcopy(dict(sheet_sources.demo().as_built))
    spot: Any = out
    for part in path[:-1]:
        spot = spot[part]
    spot[path[-1]] = value
    return out


JOIST = ["runs", 0, "joists", 2]


@pytest.mark.parametrize(
    ("path", "value", "named"),
    [
        (["format"], "baywalk.plan", "format"),
        (["version"], 2, "version"),
        (["version"], True, "version"),
        (["runs"], {}, "runs"),
        ([*JOIST, "index"], 0, "index"),
        ([*JOIST, "index"], "3", "index"),
        ([*JOIST, "at", "near", "x"], "12", "x"),
        ([*JOIST, "at", "near", "x"], math.nan, "x"),
        ([*JOIST, "at", "near", "x"], 1e9, "x"),
        ([*JOIST, "at", "near", "point"], [1], "point"),
        ([*JOIST, "breadth"], {"sd": 1}, "value"),
        (["runs", 0, "outline"], [[0, 0], [1, "a"]], "outline"),
    ],
)
def test_a_bad_value_is_named(path: list[Any], value: object, named: str) -> None:
    with pytest.raises(BadGiven, match=named) as why:
        sound(spoilt(path, value), "baywalk.as-built")
    assert "\n" not in str(why.value)


@pytest.mark.parametrize("key", ["id", "course", "polygon", "length", "board"])
def test_a_plan_without_what_is_drawn_is_refused(key: str) -> None:
    plan = copy.deepcopy(dict(sheet_sources.demo().plan or {}))
    del plan["decks"][0]["pieces"][3][key]
    with pytest.raises(BadGiven, match=key):
        sound(plan, "baywalk.plan")


@pytest.mark.parametrize("key", ["id", "bay", "noggins"])
def test_a_frame_without_what_is_drawn_is_refused(key: str) -> None:
    plan = copy.deepcopy(dict(sheet_sources.demo().plan or {}))
    del plan["decks"][0]["frames"][1][key]
    with pytest.raises(BadGiven, match=key):
        sound(plan, "baywalk.plan")


OWN = ["deck", "courses", "pieces", "joints", "boards", "noggins", "timbers"]
OWN += ["quantities", "sequence"]


def test_a_plan_of_the_formats_own_fields_is_drawn() -> None:
    """Only what the format fixes: no joists, no marks, no noggin ends, no bearings."""
    source = sheet_sources.demo()
    plan = copy.deepcopy(dict(source.plan or {}))
    deck = plan["decks"][0]
    for name in [n for n in deck if n not in OWN]:
        del deck[name]
    for noggin in deck["noggins"]:
        for name in ("ends", "between", "serves", "section", "slope", "out_of_square"):
            noggin.pop(name, None)
    for joint in deck["joints"]:
        for name in [n for n in joint if n not in ("course", "x", "support")]:
            del joint[name]
    for piece in deck["pieces"]:
        for name in ("near", "far", "at", "mark"):
            piece.pop(name, None)
    bare = Source(source.as_built, sound(plan, "baywalk.plan"), survey=source.survey)
    for name in possible(bare):
        sheet = make(name, bare, sheet_sources.head(bare))
        assert sheet.pdf().startswith(b"%PDF")
        sheet.csv()


# --- the command --------------------------------------------------------------------------------


@pytest.fixture
def files(tmp_path: Path) -> dict[str, Path]:
    """Write the demo's files and give where each is."""
    source = sheet_sources.demo()
    assert source.survey is not None
    parts = {
        "as-built": source.as_built,
        "plan": source.plan,
        "capacity": source.capacity,
        "survey": source.survey.export(),
    }
    out = {}
    for name, data in parts.items():
        out[name] = tmp_path / f"{name}.json"
        out[name].write_text(json.dumps(data), encoding="utf-8")
    return out


def run(*arguments: object) -> int:
    return cli.main(["sheets", *map(str, arguments)])


def test_all_sheets_are_written(
    files: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    given = [f"--{name}={files[name]}" for name in ("plan", "capacity", "survey")]
    assert run(files["as-built"], *given, "--out", out, "--date", "2026-11-25") == 0
    named = [line.rsplit("/", 1)[1] for line in capsys.readouterr().out.splitlines()]
    assert sorted(named) == sorted(p.name for p in out.iterdir())
    for name in ("as-built.pdf", "as-built.dxf", "set-out-1.svg", "cutting.csv", "labels.pdf"):
        assert (out / name).stat().st_size > 0


def test_an_as_built_alone_is_enough(files: dict[str, Path], tmp_path: Path) -> None:
    assert run(files["as-built"], "--out", tmp_path / "out") == 0
    assert (tmp_path / "out" / "bays.csv").exists()
    assert not (tmp_path / "out" / "courses.pdf").exists()


@pytest.mark.parametrize("wrong", ["plan", "capacity", "survey"])
def test_files_of_two_lofts_are_refused(
    files: dict[str, Path], tmp_path: Path, wrong: str, capsys: pytest.CaptureFixture[str]
) -> None:
    other = json.loads(files[wrong].read_text())
    other["id" if wrong == "survey" else "survey"] = "00000000-0000-4000-8000-000000000000"
    files[wrong].write_text(json.dumps(other))
    assert run(files["as-built"], f"--{wrong}", files[wrong], "--out", tmp_path / "out") == 2
    line = capsys.readouterr().err
    assert line.count("\n") == 1
    assert wrong in line


@pytest.mark.parametrize("text", ["", "{", "[]", "{}", '{"format": "baywalk.as-built"}'])
def test_a_bad_file_is_one_line(
    tmp_path: Path, text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "bad.json"
    file.write_text(text)
    assert run(file, "--out", tmp_path / "out") == 2
    captured = capsys.readouterr()
    assert captured.err.count("\n") == 1
    assert captured.out == ""
    assert not (tmp_path / "out").exists()


def test_a_missing_file_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(tmp_path / "none.json", "--out", tmp_path / "out") == 2
    assert "none.json" in capsys.readouterr().err
