"""Every page of every sheet: nothing leaves the paper's margins, nothing is written over.

The page is looked at as it was laid out, and again as it was printed, in dots.
"""

from __future__ import annotations

import io
from collections import Counter
from itertools import combinations
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np
import pypdfium2
import pytest

from baywalk.sheets import KINDS, lengths, make, possible
from baywalk.sheets.dims import KIND
from baywalk.sheets.ink import Box, Page
from baywalk.sheets.paper import MARGIN
from baywalk.sheets.view import bar_length
from tests import sheet_sources
from tests.sheet_checks import bar, outside, overlaps, words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.sheets import Sheet, Source

DOTS = 300
MM = 25.4

LOFTS = {
    "demo": sheet_sources.demo,
    "cut round": lambda: sheet_sources.loft(2, opening=True),
    "laid from far": lambda: sheet_sources.loft(5, 9),
    "many joists": lambda: sheet_sources.loft(8, 26),
    "more joists than a rod has room for": lambda: sheet_sources.unplanned(3, 120),
}


def made(source: Source, paper: str, units: str) -> Iterator[tuple[str, int, Page]]:
    head = sheet_sources.head(source, paper, units)
    for name in possible(source):
        for number, page in enumerate(make(name, source, head).pages, start=1):
            yield name, number, page


@pytest.mark.parametrize("units", ["mm", "imperial"])
@pytest.mark.parametrize("paper", ["A4", "A3"])
@pytest.mark.parametrize("loft", LOFTS)
def test_words_keep_to_the_margins_and_apart(loft: str, paper: str, units: str) -> None:
    bad = [
        (name, number, outside(page), overlaps(page))
        for name, number, page in made(LOFTS[loft](), paper, units)
    ]
    assert [one for one in bad if one[2] or one[3]] == []


def test_the_check_of_overlaps_can_fail() -> None:
    page = Page(297, 210, Box(0, 0, 297, 210))
    page.words((50, 50), "1423", kind=KIND)
    page.words((52, 50), "1812", kind=KIND)
    page.words((290, 100), "out of the paper")
    assert overlaps(page) == [("1423", "1812")]
    assert outside(page) == ["out of the paper"]


def printed(sheet: Sheet) -> Iterator[np.ndarray]:
    """Give each page of the PDF as it prints, in greys."""
    with pypdfium2.PdfDocument(sheet.pdf()) as document:
        for page in document:
            yield np.asarray(page.render(scale=DOTS / 72).to_pil().convert("L"))


@pytest.mark.parametrize(("paper", "units"), [("A4", "mm"), ("A3", "mm"), ("A4", "imperial")])
@pytest.mark.parametrize("name", ["as-built", "set-out", "courses", "cutting"])
def test_the_scale_bar_is_as_long_as_it_says(name: str, paper: str, units: str) -> None:
    source = sheet_sources.demo()
    sheet = make(name, source, sheet_sources.head(source, paper, units))
    page = sheet.pages[0]
    assert page.scale is not None
    with pypdfium2.PdfDocument(sheet.pdf()) as document:
        long = bar(document[0], page)
    stands_for = bar_length(page.scale, units)
    assert long == pytest.approx(stands_for / page.scale, abs=0.3)
    said = {w.text for w in words(page)}
    assert f"1 : {page.scale}" in said
    metric = (f"{stands_for:g} mm", f"{stands_for / 1000:g} m")
    assert said & ({lengths.say(stands_for, units)} if units == "imperial" else {*metric})


@pytest.mark.parametrize("name", KINDS)
def test_nothing_is_printed_outside_the_margins(name: str) -> None:
    source = sheet_sources.demo()
    sheet = make(name, source, sheet_sources.head(source))
    edge = round((MARGIN - 0.6) * DOTS / MM)
    for dots in printed(sheet):
        frame = dots.copy()
        frame[edge:-edge, edge:-edge] = 255
        assert frame.min() == 255
        assert dots.min() < 50


@pytest.mark.parametrize("name", KINDS)
def test_pdf_and_svg_say_the_same(name: str) -> None:
    source = sheet_sources.demo()
    sheet = make(name, source, sheet_sources.head(source))
    with pypdfium2.PdfDocument(sheet.pdf()) as document:
        assert len(document) == len(sheet.pages)
        for number, page in enumerate(sheet.pages):
            text = document[number].get_textpage().get_text_bounded()
            size = document[number].get_size()
            assert size == pytest.approx((page.width / MM * 72, page.height / MM * 72), abs=0.1)
            root = ET.fromstring(sheet.svg(number + 1))  # noqa: S314 - our own text
            assert root.get("width") == f"{page.width:g}mm"
            svg = [t.text or "" for t in root.iter("{http://www.w3.org/2000/svg}text")]
            plain = "".join(text.split())
            assert [t for t in svg if "".join(t.split()) not in plain] == []
            assert sorted(svg) == sorted(w.text for w in words(page))


def test_every_page_says_what_it_is() -> None:
    source = sheet_sources.demo()
    assert source.plan is not None
    pages = list(made(source, "A4", "mm"))
    count = Counter(name for name, _, _ in pages)
    for name, number, page in pages:
        said = " ".join(w.text for w in words(page))
        for part in (
            f"{number} of {count[name]}",
            str(source.as_built["survey"]),
            "25 Nov 2026",
            "not approved by anyone",
            KINDS[name].title,
            *source.plan["told"],
        ):
            assert part in said


def test_the_same_loft_prints_the_same_bytes() -> None:
    source = sheet_sources.demo()
    head = sheet_sources.head(source)
    twice = [make("set-out", source, head).pdf() for _ in range(2)]
    assert twice[0] == twice[1]
    other = sheet_sources.loft(2, opening=True)
    assert sheet_sources.head(other).state != head.state


def test_all_is_black_on_white() -> None:
    source = sheet_sources.demo()
    sheet = make("courses", source, sheet_sources.head(source))
    with pypdfium2.PdfDocument(io.BytesIO(sheet.pdf())) as document:
        dots = np.array(document[0].render(scale=1).to_numpy()).astype(int)
    assert (np.abs(dots - dots[..., :1]) <= 1).all()


def compared(pages: list[Page]) -> list[tuple[int, int]]:
    """Return the pairs of pages that are alike in every word: a page printed twice."""
    texts = [sorted(w.text for w in words(page)) for page in pages]
    return [(a, b) for a, b in combinations(range(len(texts)), 2) if texts[a] == texts[b]]


def test_no_page_is_printed_twice() -> None:
    source = sheet_sources.demo()
    pages = make("cutting", source, sheet_sources.head(source)).pages
    assert compared(pages) == []
