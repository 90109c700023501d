"""The paper field sheet: printed before going up, filled in by hand, typed in afterwards.

Its boxes are numbered and in the order in which the page asks, so that typing in follows the paper.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from baywalk.reconcile import words
from baywalk.sheets import letters
from baywalk.sheets.ink import MEDIUM, NORMAL, SMALL, Box, Page
from baywalk.sheets.paper import short

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from baywalk.fieldbook import Run, Survey
    from baywalk.sheets.paper import Book

_HOW = (
    "Kneel on a board laid across the joists; the ceiling between them holds nobody. Write whole "
    "millimetres. Never rub out: strike a wrong figure through and write the new one beside it. "
    "Leave a box empty where you cannot reach. Type the boxes in afterwards in the order of their "
    "numbers."
)
_BOX, _ROW = 24.0, 9.0


class Asked(NamedTuple):
    """One box to fill in: what it asks, in the page's order."""

    group: str
    text: str


def questions(run: Run) -> list[Asked]:
    """Return what is asked of a run, in order: bays of each tape line, then what ties them."""
    return [*_walk(run), *_ties(run)]


def _walk(run: Run) -> Iterator[Asked]:
    """Give the bays of each line with the breadths between them, then the line's overall."""
    for number, line in enumerate(run.lines):
        for bay in range(run.joists + 1):
            name = words.bay(bay, run.joists) if bay < run.joists else f"J{bay}–end wall"
            yield Asked(f"{line} line", f"clear gap {name}")
            # A joist's breadth is read once, on the first line.
            if bay < run.joists and number == 0:
                yield Asked(f"{line} line", f"breadth J{bay + 1}")
        yield Asked(f"{line} line", "overall, wall to wall")


def _ties(run: Run) -> Iterator[Asked]:
    """Give what ties the lines together, and what the deck and the joists need."""
    last = run.joists
    for joist in dict.fromkeys((1, last)):
        for a, b in zip(run.lines, run.lines[1:], strict=False):
            yield Asked("along and across", f"J{joist}, {a} line to {b} line")
        yield Asked("along and across", f"J{joist}, near edge to {run.lines[0]} line")
        yield Asked("along and across", f"J{joist}, {run.lines[-1]} line to far edge")
        yield Asked("along and across", f"J{joist}, clear span, support to support")
    if len(run.lines) > 1 and last > 1:
        a, b = run.lines[0], run.lines[-1]
        yield Asked("along and across", f"diagonal J1 {a} to J{last} {b}")
        yield Asked("along and across", f"diagonal J1 {b} to J{last} {a}")
    for joist in dict.fromkeys((1, (1 + last) // 2, last)):
        yield Asked("along and across", f"depth J{joist}")
        yield Asked("along and across", f"level J{joist}, {run.lines[0]} line")


def draw(book: Book, survey: Survey) -> None:
    """Print the field sheet of every run of a survey."""
    for run in survey.runs:
        if run.lines and run.joists:
            _run(book, run)
    _free(book)


def _run(book: Book, run: Run) -> None:
    asked = questions(run)
    group = asked[0].group
    page, spots = _page(book, run, group)
    for number, one in enumerate(asked, start=1):
        if one.group != group:
            page, spots = _page(book, run, one.group)
        elif not spots:
            page, spots = _page(book, run, f"{one.group}, continued")
        group = one.group
        _ask(page, spots.pop(0), number, one.text)


def _page(book: Book, run: Run, group: str) -> tuple[Page, list[Box]]:
    """Begin a page; return it with the boxes' places, down each column [mm]."""
    heading = f"{short(run.title, f'Run {run.id}')}: field sheet, {group}"
    page = book.page(heading, notes=[_HOW])
    wide = page.area.width / 3
    rows = int((page.area.height - 2) // _ROW)
    spots = [
        Box(left, top, left + wide - 6, top + _ROW - 2)
        for left in (page.area.left + k * wide for k in range(3))
        for top in (page.area.top + 2 + n * _ROW for n in range(rows))
    ]
    return page, spots


def _ask(page: Page, spot: Box, number: int, text: str) -> None:
    foot = spot.bottom - 1.8
    page.words((spot.left, foot), str(number), SMALL)
    room = spot.width - _BOX - 10
    page.words((spot.left + 8, foot), letters.cut(text, room, 2.0), 2.0)
    page.shape(Box(spot.right - _BOX, spot.top, spot.right, spot.bottom).corners(), pen=MEDIUM)


def _free(book: Book) -> None:
    """Print a page for what has no box: openings, cables, damage, sketches."""
    page = book.page("Everything else", notes=[_ELSE])
    y = page.area.top + 8
    while y < page.area.bottom:
        page.line((page.area.left, y), (page.area.right, y), pen=0.1)
        y += 8
    page.words((page.area.left, page.area.top + NORMAL), "bay or joist, and what", NORMAL)


_ELSE = (
    "Openings, chimneys, tanks: joist and face, tape line, across, along, width, length. Cables, "
    "pipes, insulation and its depth: the bay. Notches, holes, splits, decay: joist, edge, depth, "
    "length, from the near support."
)


def count(runs: Sequence[Any]) -> int:
    """Return how many boxes a sheet of these runs has."""
    return sum(len(questions(run)) for run in runs)
