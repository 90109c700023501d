"""The parts that every drawing is made of: lengths, letters, figures moved apart, schedules."""

from __future__ import annotations

import csv
import io
import re
from fractions import Fraction
from itertools import pairwise
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from baywalk.sheets import courses, dims, lengths, letters, svg
from baywalk.sheets.ink import Box, Page, Words
from baywalk.sheets.paper import Book, Head
from baywalk.sheets.table import Column, Table, print_table
from baywalk.sheets.view import SCALES, fitting

HEAD = Head("A loft", "no survey", "25 Nov 2026", "00000000")


# --- lengths ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("length", "said"),
    [
        # The inch is 25.4 mm exactly (international yard and pound, 1959); the rest is arithmetic.
        (0.0, '0"'),
        (25.4, '1"'),
        (304.8, "1' 0\""),
        (1.5875, '1/16"'),
        (12.7, '1/2"'),
        (406.4, "1' 4\""),
        (2400.0, "7' 10 1/2\""),
        (609.6 - 0.7, "2' 0\""),
        (-25.4, '-1"'),
    ],
)
def test_feet_and_inches(length: float, said: str) -> None:
    assert lengths.say(length, "imperial") == said


def read(text: str) -> Fraction:
    """Return the inches that a text says, read apart from how it is written."""
    found = re.fullmatch(r"(-?)(?:(\d+)' )?(?:(\d+)(?: |\"))?(?:(\d+)/(\d+)\")?", text)
    assert found
    sign, feet, whole, top, under = found.groups()
    inches = 12 * int(feet or 0) + int(whole or 0) + Fraction(int(top or 0), int(under or 1))
    return -inches if sign else inches


@settings(deadline=None)
@given(st.floats(-1e5, 1e5))
def test_feet_and_inches_are_within_a_thirty_second(length: float) -> None:
    inches = read(lengths.say(length, "imperial"))
    assert abs(float(inches) * 25.4 - length) <= 25.4 / 32 + 1e-4
    assert inches.denominator in (1, 2, 4, 8, 16)


@settings(deadline=None)
@given(st.floats(-1e5, 1e5))
def test_millimetres_are_whole_and_nearest(length: float) -> None:
    assert abs(int(lengths.say(length)) - length) <= 0.5 + 1e-5


# --- letters ------------------------------------------------------------------------------------


@settings(deadline=None)
@given(st.text(max_size=60), st.floats(8, 80), st.sampled_from([1.8, 2.5, 3.5]))
def test_wrapped_lines_fit_and_lose_nothing(text: str, room: float, cap: float) -> None:
    lines = letters.wrap(text, room, cap)
    assert all(letters.width(line, cap) <= room + 1e-6 or len(line) == 1 for line in lines)
    assert "".join("".join(lines).split()) == "".join(letters.clean(text).split())


@settings(deadline=None)
@given(st.text(max_size=40))
def test_every_sign_is_written_with_one_that_the_face_has(text: str) -> None:
    assert all(ord(sign) in letters._known(bold=False) for sign in letters.clean(text))


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("γ_M", "gamma_M"),
        ("Śliwka", "Sliwka"),
        ("± 2 mm – £", "± 2 mm – £"),
        ("a\n\tb", "a b"),
        ("漢", "?"),
    ],
)
def test_signs_that_the_face_lacks(text: str, written: str) -> None:
    assert letters.clean(text) == written


# --- figures moved apart ------------------------------------------------------------------------

places = st.lists(st.floats(0, 200), min_size=1, max_size=12).map(sorted)


@settings(deadline=None)
@given(places)
def test_figures_stand_apart_and_in_order(marks: list[float]) -> None:
    spread = dims.spread(marks, 3.0, -1e9, 1e9)
    assert all(b - a >= 3.0 - 1e-9 for a, b in pairwise(spread))


@settings(deadline=None)
@given(places)
def test_figures_move_no_further_than_they_must(marks: list[float]) -> None:
    """Held against a general solver on the same rule: least squares with gaps kept open."""
    spread = dims.spread(marks, 3.0, -1e9, 1e9)
    gaps = [
        {"type": "ineq", "fun": lambda x, k=k: x[k + 1] - x[k] - 3.0} for k in range(len(marks) - 1)
    ]
    wanted = np.array(marks)
    start = wanted[0] + 3.0 * np.arange(len(marks))
    best = minimize(lambda x: ((x - wanted) ** 2).sum(), start, constraints=gaps, method="SLSQP")
    own = ((np.array(spread) - wanted) ** 2).sum()
    assert own <= best.fun + 1e-3 * (1 + best.fun)


@settings(deadline=None)
@given(places)
def test_figures_stay_in_their_room_where_it_is_long_enough(marks: list[float]) -> None:
    spread = dims.spread(marks, 3.0, 10.0, 150.0)
    assert spread[0] >= 10 - 1e-9
    assert spread[-1] <= 150 + 1e-9
    assert all(b - a >= 3.0 - 1e-9 for a, b in pairwise(spread))


# --- scales, schedules, SVG ---------------------------------------------------------------------


@settings(deadline=None)
@given(st.floats(1, 1e6), st.floats(20, 400))
def test_the_scale_is_the_largest_drawing_that_fits(length: float, room: float) -> None:
    scale = fitting(length, room)
    assert length / scale <= room
    larger = [n for n in SCALES if n < scale]
    assert all(length / n > room for n in larger)


def long_table(count: int) -> Table:
    table = Table("many", [Column("no."), Column("what", right=False, wrap=True)])
    for number in range(count):
        table.add([str(number), f"row {number} " + "long words " * (number % 30)])
    return table


def test_a_long_schedule_loses_no_row() -> None:
    book = Book(HEAD, "Test")
    print_table(book, long_table(120))
    said = [w.text for p in book.pages for w in p.items if isinstance(w, Words)]
    assert [t for t in said if t.isdigit()] == [str(n) for n in range(120)]
    assert len(book.pages) > 2


def test_a_cell_longer_than_a_page_goes_on() -> None:
    table = Table("long", [Column("what", right=False, wrap=True)])
    text = " ".join(f"word{n}" for n in range(3000))
    table.add([text])
    book = Book(HEAD, "Test")
    print_table(book, table)
    said = " ".join(w.text for p in book.pages for w in p.items if isinstance(w, Words))
    assert all(f"word{n}" in said for n in range(3000))
    for page in book.finish():
        lowest = max(w.box.bottom for w in page.items if isinstance(w, Words))
        assert lowest <= page.height - 12


def _unquoted(cell: str) -> str:
    """Return a cell without the mark that keeps a spreadsheet from running it."""
    return cell[1:] if cell[:1] == "'" and cell[1:2] in tuple("=+-@\t\r") else cell


@settings(deadline=None)
@given(st.lists(st.text(max_size=20), min_size=1, max_size=4))
def test_csv_gives_back_what_was_put_in(cells: list[str]) -> None:
    table = Table("t", [Column(str(k)) for k in range(len(cells))])
    table.add(cells)
    row = list(csv.reader(io.StringIO(table.csv(), newline="")))[1:]
    kept = [_unquoted(cell) for cell in row[0]] if row else [""]
    assert kept == cells


def test_no_cell_runs_as_a_formula() -> None:
    table = Table("t", [Column("a")])
    table.add(["=1+1"])
    assert table.csv().splitlines()[1] == "'=1+1"


@settings(deadline=None)
@given(st.text(max_size=30))
def test_svg_is_sound_whatever_is_written(text: str) -> None:
    page = Page(100, 100, Box(0, 0, 100, 100))
    page.words((10, 10), text)
    root = ET.fromstring(svg.write(page, text))  # noqa: S314 - our own text
    (found,) = root.iter("{http://www.w3.org/2000/svg}text")
    assert (found.text or "") == letters.clean(text)


@pytest.mark.parametrize(
    ("lines", "numbers", "foot"),
    [
        ([], [], 102.6),
        ([102.0], [], 99.1),
        ([], [(102.0, 108.0)], 99.1),
        ([], [(92.0, 98.0)], 102.6),
        # A number covers words, a line only runs through them.
        ([102.0], [(92.0, 98.0)], 102.6),
        ([], [(92.0, 98.0), (102.0, 108.0)], 102.6),
    ],
)
def test_words_beside_an_end_joint_keep_off_the_pieces_numbers(
    lines: list[float], numbers: list[tuple[float, float]], foot: float
) -> None:
    assert courses.foot_beside(100.0, lines, numbers) == pytest.approx(foot)
