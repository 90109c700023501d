"""Lofts of every kind on paper: what the bench of random lofts once found, each made small here."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any

import ifcopenshell
import pytest

from baywalk.planning import Choices, plan
from baywalk.sheets import Source, drawing, make, sound
from baywalk.sheets.paper import Book
from baywalk.sheets.view import SCALES, bar_length
from tests import sheet_checks, sheet_lofts, sheet_sources
from tests.planning_lofts import lapped, plain

if TYPE_CHECKING:
    from baywalk.sheets import Sheet

Json = dict[str, Any]


def planned(built: Json) -> Source:
    """Return an as-built with its plan, as sheets take them."""
    return Source(sound(built, "baywalk.as-built"), plan(built, Choices(seconds=0.2)))


@cache
def small() -> Source:
    """Return a loft of two joists, a square metre in all."""
    return planned(plain(2, 400, 1000, first=130, last=260))


@cache
def parted() -> Source:
    """Return a loft that a chimney breast parts into two decks."""
    built = plain(6, 420, 1500)
    corners = [[1300.0, -300.0], [1400.0, -300.0], [1400.0, 1200.0], [1300.0, 1200.0]]
    name = "33333333-3333-4333-8333-333333333333"
    feature = {"id": name, "feature": "obstacle", "polygon": corners}
    built["runs"][0]["features"].append(feature)
    return planned(built)


@cache
def deep() -> Source:
    """Return a loft of three joists that has two decks, one behind the other."""
    return planned(plain(3, 500, 12000, first=300, last=290))


def sheet(source: Source, name: str, paper: str = "A4", units: str = "mm") -> Sheet:
    return make(name, source, sheet_sources.head(source, paper, units))


def faults(source: Source, name: str, paper: str = "A4", units: str = "mm") -> list[str]:
    made = sheet(source, name, paper, units)
    return [*sheet_checks.pages(made), *sheet_checks.figures(made, source, units)]


@pytest.mark.parametrize(("paper", "units"), [("A4", "imperial"), ("A3", "mm")])
@pytest.mark.parametrize("name", ["set-out", "cutting", "courses"])
def test_small_and_deep_and_parted_decks_are_drawn_clearly(
    name: str, paper: str, units: str
) -> None:
    for source in (small(), deep(), parted()):
        assert faults(source, name, paper, units) == []


@pytest.mark.parametrize("parts", [1, 2])
def test_a_deep_run_is_set_out_legibly_from_one_zero(parts: int) -> None:
    """Each deck from its own near edge on, or in parts where its head leaves a page little room."""
    source = deep()
    assert source.plan is not None
    told = ["Gone on with in spite of a doubt, and told of at length."] * 80 * (parts - 1)
    source = replace(source, plan={**source.plan, "told": [f"{t} {k}" for k, t in enumerate(told)]})
    made = sheet(source, "set-out")
    assert [*sheet_checks.pages(made), *sheet_checks.figures(made, source, "mm")] == []
    drawn = [page for page in made.pages if page.scale]
    assert len(drawn) == 2 * parts
    assert max(page.scale or 0 for page in drawn) <= 75
    said = " ".join(w.text for w in sheet_checks.words(drawn[-1]))
    assert "along the joists: the near wall is the zero" in said
    far = max(float(row["mark_left"] or 0) for row in sheet_checks.rows(made))
    assert f"{far:.0f}" in said.split()


def test_two_decks_are_told_apart() -> None:
    """Their pieces and noggins bear the same numbers: each heading and row says which deck."""
    source = parted()
    assert source.plan is not None
    names = [deck["id"] for deck in source.plan["decks"]]
    assert len(names) == 2
    assert source.plan["decks"][0]["pieces"][0]["id"] == source.plan["decks"][1]["pieces"][0]["id"]
    for name in ("set-out", "cutting", "courses"):
        made = sheet(source, name)
        if name != "courses":
            assert {row["deck"] for row in sheet_checks.rows(made)} == set(names)
        heads = [page.heading for page in made.pages if page.scale]
        assert all(any(f"deck {one}:" in head for one in names) for head in heads)
    assert sheet(source, "cutting").tables[0].columns[0].head == "deck"


def test_gaps_of_tape_lines_close_together_stand_apart() -> None:
    """Beside a lap two lines lie 200 mm apart, on paper a few: a gap without room is left out."""
    built = lapped(9, 400, length=5400)
    source = Source(sound(built, "baywalk.as-built"))
    for paper in ("A4", "A3"):
        assert faults(source, "as-built", paper) == []


@pytest.mark.parametrize("title", sheet_lofts.TITLES)
def test_every_title_has_room(title: str) -> None:
    built = plain(4)
    built["runs"][0]["title"] = title[:200]
    source = Source(sound({**built, "title": title[:200]}, "baywalk.as-built"))
    for name in ("as-built", "bays"):
        made = sheet(source, name)
        assert list(sheet_checks.pages(made)) == []
    # What stands on the page is said past the longest title.
    assert made.pages[0].heading.endswith(": joists")


def test_more_than_a_hundred_pages_are_numbered_each() -> None:
    book = Book(sheet_sources.head(small()), "A sheet")
    for _ in range(101):
        book.page("A heading")
    pages = book.finish()
    assert [said for page in pages for said in sheet_checks.outside(page)] == []
    assert "101 of 101" in {w.text for w in sheet_checks.words(pages[-1])}


@pytest.mark.parametrize("units", ["mm", "imperial"])
def test_a_scale_bar_keeps_to_its_place_at_every_scale(units: str) -> None:
    """It is 60 mm long at most, for words stand beside it; the least deck is drawn at 1 : 1."""
    assert all(5 < bar_length(scale, units) / scale <= 60 for scale in SCALES)


def test_cleats_are_in_the_model() -> None:
    source = sheet_sources.demo()
    model = ifcopenshell.file.from_string(drawing("courses", source, "ifc").decode("ascii"))
    names = {part.Name for part in model.by_type("IfcMember")}
    assert {cleat["id"] for deck in source.decks for cleat in deck.many("cleats")} <= names


def test_a_length_of_timber_is_squared_first() -> None:
    source = sheet_sources.demo()
    said = " ".join(sheet_checks.texts(sheet(source, "cutting")))
    assert "Square one end of each length first: 10 is reckoned for it." in said
