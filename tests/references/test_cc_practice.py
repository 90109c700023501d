"""Published limits of practice, through the shipped code; each source beside its case."""

from __future__ import annotations

import pytest

from baywalk import rules
from baywalk.capacity import deck, handling, practice
from baywalk.capacity.cuts import within_limits
from baywalk.capacity.model import Cut, Figure, Joist
from baywalk.capacity.setting import read_setting
from tests.unit.reconcile.book import Book

PACK = rules.load()


@pytest.mark.parametrize(("span", "rows"), [(2400, 0), (3000, 1), (4500, 1), (4600, 2)])
def test_cc8_strutting(span: float, rows: int) -> None:
    """NHBC 6.4.15 Table 4. READ."""
    assert practice.strutting_rows(span, PACK) == rows


@pytest.mark.parametrize(
    ("centres", "thick"), [(400, 18), (450, 18), (451, 22), (600, 22), (601, None)]
)
def test_cc9_deck(centres: float, thick: float | None) -> None:
    """NHBC 6.4.19 Table 7, P5. READ; beyond 600 mm it has no row."""
    assert deck.needed(centres, PACK) == thick


def joist(*cuts: Cut) -> Joist:
    size, span = Figure(195.0, 0.0), Figure(4000.0, 0.0)
    return Joist(
        1, Figure(47.0, 0.0), size, "C16", 1, span, None, None, 400.0, 400.0, None, cuts=cuts
    )


def passes(kind: str, depth: float, place: float, edge: str) -> bool:
    cut = Cut(kind, edge, depth, 0.0, place)
    return within_limits(cut, joist(cut), PACK)


@pytest.mark.parametrize(
    ("kind", "depth", "place", "edge", "holds"),
    [
        ("notch", 29, 400, "top", True),  # NHBC 6.4.18: 0.15 h = 29 mm, 0.40 to 0.80 m
        ("notch", 29, 800, "top", True),
        ("notch", 30, 600, "top", False),
        ("notch", 29, 810, "top", False),
        ("notch", 24, 280, "top", True),  # AD A 1992 style: 0.125 h = 24 mm, 0.28 to 1.00 m
        ("notch", 24, 1000, "top", True),
        ("notch", 24, 1010, "top", False),
        ("notch", 25, 300, "top", False),
        ("notch", 24, 3000, "top", True),  # the same from the far support
        ("notch", 20, 600, "bottom", False),
        ("hole", 48, 1000, "centre", True),  # 0.25 h = 48 mm, 1.00 to 1.60 m
        ("hole", 48, 1600, "centre", True),
        ("hole", 49, 1300, "centre", False),
        ("hole", 40, 990, "centre", False),
        ("hole", 40, 1300, "top", False),
    ],
)
def test_cc10_notches_and_holes(
    kind: str, depth: float, place: float, edge: str, *, holds: bool
) -> None:
    """47 x 195 over 4.0 m. READ rules, COMPUTED numbers."""
    assert passes(kind, depth, place, edge) is holds


def test_cc10_holes_keep_three_diameters_and_notches_100_mm() -> None:
    """AD A 1992 for holes; NHBC for a notch and a hole. READ."""
    near, far = Cut("hole", "centre", 40, 0, 1100.0), Cut("hole", "centre", 40, 0, 1220.0)
    assert within_limits(near, joist(near, far), PACK)
    close = Cut("hole", "centre", 40, 0, 1219.0)
    assert not within_limits(near, joist(near, close), PACK)
    notch, hole = Cut("notch", "top", 20, 0, 950.0), Cut("hole", "centre", 40, 0, 1049.0)
    assert not within_limits(notch, joist(notch, hole), PACK)


def test_cc13_a_floor_out_of_level() -> None:
    """NHBC 9.1.5: 3 mm a metre, so 15 mm over 5 m; 16 is beyond it. READ rule."""
    book = Book(joists=2, breadth=47)
    book.gap(0, 300)
    book.gap(1, 4953)
    book.gap(2, 300)
    for value, joist_number in ((200, 1), (230, 2)):
        book.add("level", joist=joist_number, line="near", value=value)
    (finding,) = (f for f in book.only_run()["findings"] if f["rule"] == "floor.level.per_metre")
    assert finding["limit"] == 15.0 < 16


@pytest.mark.parametrize(("thick", "area", "board"), [(22, 16.5, 23.8), (18, 13.5, 19.4)])
def test_cc14_board_mass(thick: float, area: float, board: float) -> None:
    """2400 x 600 P5 at 750 kg/m³: below 25 kg, above 16 kg. COMPUTED on a READ density."""
    mass = handling.board_mass(thick, PACK)
    assert mass == pytest.approx(board, abs=0.05)
    assert mass / (2.4 * 0.6) == pytest.approx(area, abs=1e-9)
    men, women = PACK["lifting.best"]
    assert women < mass < men


def test_cc15_partition_along_joists() -> None:
    """1.0 kN/m on one or two extra joists (NHBC 2022); 0.9 was beyond 0.8 in 2006. READ."""
    told = {
        weight: practice.partition(read_setting({"partition": [f"along,{weight}"]}, PACK), PACK)
        for weight in ("1.0", "1.01", "0.9", "0.8")
    }
    assert [one["holds"] for one in told.values() if one] == [True, False, True, True]
    assert [one["held_2006"] for one in told.values() if one] == [False, False, False, True]


@pytest.mark.parametrize(
    ("breadth", "feet", "inches"),
    [
        *[(2, 4, 2), (2, 6, 3), (2, 8, 4), (2, 10, 5), (2, 12, 6), (2, 15, 7.5)],
        (1.25, 10, 5.75),
        *[(3, 8, 3.5), (3, 10, 4.5), (3, 12, 5.25), (3, 15, 6.75)],
    ],
)
def test_cc16_old_ceiling_joists(breadth: float, feet: float, inches: float) -> None:
    """Baltic pine at 12 in centres: 0.64 x L over the cube root of b, printed to 1/4 in. READ.

    Two cells differ: breadth 1.25 at 8 ft is printed 4.5 where the rule gives 4.753, and at 12 ft
    6.75 where it gives 7.13.
    """
    wanted = practice.old_depth(feet * 304.8, breadth * 25.4, PACK) / 25.4
    assert wanted == pytest.approx(inches, abs=0.25)
    assert practice.old_depth(10 * 304.8, 50.8, PACK) / 25.4 == pytest.approx(5.08, abs=0.005)
