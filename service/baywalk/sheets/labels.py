"""Labels with a code that a phone reads: one a joist or bay, and one for the survey."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, NamedTuple
from urllib.parse import quote

import qrcode
from qrcode.constants import ERROR_CORRECT_M

from baywalk.reconcile import words
from baywalk.sheets import letters
from baywalk.sheets.ink import BROKEN, LARGE, SMALL, Box, Page, Path

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from baywalk.fieldbook import Survey
    from baywalk.sheets.paper import Book

_WIDE, _HIGH = 66.0, 34.0
_QUIET = 4
"""Light modules that a reader needs round a code [-]: ISO/IEC 18004 (from memory)."""


class Label(NamedTuple):
    """One label: the address that its code opens, a short name and a line under it."""

    address: str
    name: str
    line: str


def of_survey(survey: Survey, base: str) -> list[Label]:
    """Return the labels of a survey: its own first, then each run's bays and joists."""
    return [Label(address(base, survey.id), "survey", survey.title), *_places(survey, base)]


def address(base: str, survey: str, run: str = "", bay: int | None = None) -> str:
    """Return the page's address of a survey, or of one bay of it."""
    whole = f"{base.rstrip('/')}/#/s/{survey}"
    return whole if bay is None else f"{whole}/walk/{quote(run, safe='')}/{bay}"


def _places(survey: Survey, base: str) -> Iterator[Label]:
    for run in survey.runs:
        for bay in range(run.joists + 1):
            where = address(base, survey.id, run.id, bay)
            yield Label(where, words.bay(bay, run.joists), run.title or run.id)


def draw(book: Book, labels: Sequence[Label]) -> None:
    """Print labels, as many a page as there is room for."""
    page = book.page("Labels to cut out")
    across = int(page.area.width // _WIDE)
    down = int(page.area.height // _HIGH)
    for number, label in enumerate(labels):
        place = number % (across * down)
        if number and place == 0:
            page = book.page("Labels to cut out, continued")
        left = page.area.left + (place % across) * _WIDE
        top = page.area.top + (place // across) * _HIGH
        _one(page, Box(left, top, left + _WIDE, top + _HIGH), label)


def _one(page: Page, box: Box, label: Label) -> None:
    page.shape(box.corners(), pen=0.1, dash=BROKEN)
    side = _HIGH - 4
    _code(
        page, Box(box.left + 2, box.top + 2, box.left + 2 + side, box.top + 2 + side), label.address
    )
    left = box.left + side + 3
    room = box.right - left - 2
    name = letters.cut(label.name, room, LARGE, bold=True)
    page.words((left, box.top + 10), name, LARGE, bold=True)
    page.paragraph((left, box.top + 13), label.line[:60], room, SMALL)


def _code(page: Page, box: Box, text: str) -> None:
    """Draw a code within a box, its light border included, as one path."""
    rows = modules(text)
    step = box.width / (len(rows) + 2 * _QUIET)
    rings = []
    for y, row in enumerate(rows):
        for start, stop in _dark(row):
            left, right = ((x + _QUIET) * step + box.left for x in (start, stop))
            top = box.top + (y + _QUIET) * step
            rings.append(((left, top), (right, top), (right, top + step), (left, top + step)))
    page.items.append(Path(tuple(rings), pen=0, closed=True, fill=0.0))


@cache
def modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """Return the dark and light modules of a code, row by row, without its border."""
    code = qrcode.QRCode(error_correction=ERROR_CORRECT_M, border=0)
    code.add_data(text)
    code.make(fit=True)
    return tuple(tuple(bool(m) for m in row) for row in code.get_matrix())


def _dark(row: Sequence[bool]) -> Iterator[tuple[int, int]]:
    """Give the stretches of dark modules of a row, from and to."""
    start = None
    for x, dark in enumerate([*row, False]):
        if dark and start is None:
            start = x
        elif not dark and start is not None:
            yield start, x
            start = None
