"""The figures on the sheets are those of the as-built and the plan, each rounded from the exact."""

from __future__ import annotations

import csv
import io
import re
from typing import TYPE_CHECKING, Any

import pytest

from baywalk.sheets import KINDS, lengths, make
from baywalk.sheets.cutting import placed, sawn
from baywalk.sheets.ink import Words
from tests import sheet_sources

if TYPE_CHECKING:
    from baywalk.sheets import Sheet, Source

LOFTS = {
    "demo": sheet_sources.demo,
    "cut round": lambda: sheet_sources.loft(2, opening=True),
    "laid from far": lambda: sheet_sources.loft(5, 9),
}


def sheet(source: Source, name: str, units: str = "mm") -> Sheet:
    return make(name, source, sheet_sources.head(source, units=units))


def texts(made: Sheet) -> list[str]:
    return [w.text for page in made.pages for w in page.items if isinstance(w, Words)]


def rows(made: Sheet, table: int = 0) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(made.tables[table].csv())))


@pytest.mark.parametrize("loft", LOFTS)
def test_running_dimensions_are_those_of_the_as_built(loft: str) -> None:
    source = LOFTS[loft]()
    said = texts(sheet(source, "as-built"))
    for run in source.as_built["runs"]:
        for joist in run["joists"]:
            for place in joist["at"].values():
                assert f"J{joist['index']}: {round(place['x'])}" in said
        for place in run["walls"]["end"]["at"].values():
            assert f"wall: {round(place['x'])}" in said


@pytest.mark.parametrize("loft", LOFTS)
def test_gaps_add_up_to_the_running_dimensions(loft: str) -> None:
    """From the file of the schedules: gap after gap and breadth after breadth, to 0.1 mm each."""
    made = sheet(LOFTS[loft](), "bays")
    joists, bays = rows(made, 0), rows(made, 1)
    for line in {row["line"] for row in joists}:
        gaps = [float(r["gap"]) for r in bays if r["line"] == line]
        own = [r for r in joists if r["line"] == line]
        at = 0.0
        for gap, joist in zip(gaps, own, strict=False):
            at += gap
            # Every term is rounded to 0.1 in the file: half of that each, and no more, may gather.
            slack = 0.05 * (2 * int(joist["joist"]) + 1)
            assert float(joist["left_face"]) == pytest.approx(at, abs=slack)
            at += float(joist["breadth"])


@pytest.mark.parametrize("loft", LOFTS)
def test_every_noggin_is_cut_as_the_plan_says(loft: str) -> None:
    source = LOFTS[loft]()
    assert source.plan is not None
    made = sheet(source, "set-out")
    filed = {row["noggin"]: row for row in rows(made)}
    said = texts(made)
    for deck in source.plan["decks"]:
        assert len(filed) == len(deck["noggins"])
        for noggin in deck["noggins"]:
            row = filed[noggin["id"]]
            assert float(row["length"]) == pytest.approx(noggin["length"], abs=0.051)
            assert f"{noggin['id']}: {round(noggin['length'])}" in said


def marks(source: Source) -> list[dict[str, Any]]:
    assert source.plan is not None
    return [m for d in source.plan["decks"] for step in d["sequence"] for m in step["marks"]]


@pytest.mark.parametrize("loft", LOFTS)
def test_noggin_marks_are_those_of_the_steps(loft: str) -> None:
    """The plan reckons its marks apart from the sheet; both must name one place."""
    source = LOFTS[loft]()
    filed = {row["noggin"]: row for row in rows(sheet(source, "set-out"))}
    compared = 0
    for mark in marks(source):
        named = re.fullmatch(r"(\S+), centre", mark["to"])
        row = filed.get(named[1]) if named else None
        if row is None or mark["hook"] != "the near wall" or row["mark_left"] == "":
            continue
        joist = mark["along"].removeprefix("along ")
        left, right = row["between"].split("–")
        side = {left: "mark_left", right: "mark_right"}[joist]
        assert float(row[side]) == pytest.approx(mark["value"], abs=0.2)
        compared += 1
    assert compared > 10


@pytest.mark.parametrize("loft", LOFTS)
def test_saw_marks_are_those_of_the_steps(loft: str) -> None:
    source = LOFTS[loft]()
    by_piece = {
        one.piece["id"]: (one, float(deck.board["length"]))
        for deck in source.decks
        for board in deck.data["boards"]
        for one in placed(deck, board)
    }
    compared = 0
    for mark in marks(source):
        named = re.fullmatch(r"(\S+), .*cut at its (near|far) edge", mark["to"])
        hook = re.match(r"the (left|right)-hand end", mark["hook"])
        if not named or not hook:
            continue
        one, length = by_piece[named[1]]
        values = [m.value for m in sawn(one, length, far=named[2] == "far") if m.end == hook[1]]
        assert any(v == pytest.approx(mark["value"], abs=0.6) for v in values)
        compared += 1
    assert compared > 3


@pytest.mark.parametrize("loft", LOFTS)
def test_every_piece_lies_within_its_board_and_apart(loft: str) -> None:
    from shapely import Polygon

    for deck in LOFTS[loft]().decks:
        wide, deep = float(deck.board["length"]), float(deck.board["width"])
        for board in deck.data["boards"]:
            shapes = [Polygon(one.corners) for one in placed(deck, board)]
            for one in shapes:
                left, low, right, high = one.bounds
                assert min(left, low) >= -0.01
                assert right <= wide + 0.01
                assert high <= deep + 0.01
            for a, one in enumerate(shapes):
                assert all(one.intersection(other).area < 1 for other in shapes[a + 1 :])


@pytest.mark.parametrize("loft", LOFTS)
def test_end_joints_re_add_to_the_plan(loft: str) -> None:
    source = LOFTS[loft]()
    assert source.plan is not None
    filed = rows(sheet(source, "courses"))
    joints = [j for d in source.plan["decks"] for j in d["joints"]]
    assert len(filed) == len(joints)
    for row, joint in zip(filed, joints, strict=True):
        assert float(row["x"]) == pytest.approx(joint["x"], abs=0.051)
        deck = source.decks[0]
        y = joint["y1"] if deck.data["laid_from"] == "near" else joint["y0"]
        zero = deck.wall_x(y)
        assert zero is not None
        assert float(row["from_start_wall"]) + zero == pytest.approx(joint["x"], abs=0.051)


def test_every_cut_of_timber_is_listed() -> None:
    source = sheet_sources.demo()
    assert source.plan is not None
    table = rows(sheet(source, "cutting"), 2)
    cuts = [c for d in source.plan["decks"] for t in d["timbers"] for c in t["cuts"]]
    assert [(r["item"], float(r["length"])) for r in table] == [
        (c["item"], pytest.approx(c["length"], abs=0.051)) for c in cuts
    ]


def test_what_to_buy_is_what_the_plan_says() -> None:
    source = sheet_sources.demo()
    assert source.plan is not None
    table = rows(sheet(source, "shopping"))
    assert [(r["what"], float(r["buy"])) for r in table] == [
        (q["what"], q["buy"]) for q in source.plan["quantities"]
    ]


def test_the_load_check_keeps_its_cautions_beside_its_figures() -> None:
    source = sheet_sources.demo()
    assert source.capacity is not None
    made = sheet(source, "load-check")
    said = " ".join(texts(made))
    by_joist = {row["joist"]: row for row in rows(made)}
    for run in source.capacity["runs"]:
        for joist in run["joists"]:
            row = by_joist[str(joist["index"])]
            assert row["verdict"] == joist["verdict"]
            assert all(caution in row["cautions"] for caution in joist["cautions"])
    for caution in source.capacity["cautions"]:
        assert caution in said
    assert "is no approval" in said


def test_no_sheet_reads_as_an_approval() -> None:
    """A word that grants may stand only where it is denied in the same breath."""
    source = sheet_sources.demo()
    for name in KINDS:
        for page in sheet(source, name).pages:
            said = " ".join(w.text for w in page.items if isinstance(w, Words)).lower()
            for word in ("approv", "certif", "guarant", "is safe", "permitted", "compliant"):
                for found in re.finditer(word, said):
                    around = said[max(0, found.start() - 40) : found.end() + 12]
                    assert re.search(r"\b(not|no|nothing|never)\b", around), (name, around)


def test_imperial_is_rounded_from_the_exact() -> None:
    source = sheet_sources.demo()
    said = texts(sheet(source, "as-built", "imperial"))
    for joist in source.as_built["runs"][0]["joists"]:
        x = joist["at"]["near"]["x"]
        assert f"J{joist['index']}: {lengths.say(x, 'imperial')}" in said
