"""The page: paper, margins, the strip that says what the sheet is, and what it must not hide."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from baywalk.sheets import letters, sentences
from baywalk.sheets.ink import LARGE, MEDIUM, NORMAL, SMALL, THICK, Box, Page

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

PAPERS: dict[str, tuple[float, float]] = {"A4": (297.0, 210.0), "A3": (420.0, 297.0)}
"""Papers on their side, width and height [mm]: ISO 216."""

MARGIN = 12.0
"""Paper left free all round [mm]; no printer loses it."""
_STRIP = 15.0
_TITLE = 140.0
"""The room that a title takes in a heading at most [mm]."""
_NOT_APPROVED = (
    "Measured and reckoned, not approved by anyone. Local codes and licensed practice come first."
)


@dataclass(frozen=True)
class Head:
    """What every page says of itself.

    ``told`` are the sentences on what was gone on with in spite of a doubt; ``state`` a short mark
    of what the sheet was made from, the same on all sheets of one state; ``date`` the day it was
    made.
    """

    title: str
    survey: str
    date: str
    state: str
    told: tuple[str, ...] = ()
    paper: str = "A4"
    units: str = "mm"


@dataclass
class Book:
    """The pages of one sheet; finished once their number is known."""

    head: Head
    title: str
    pages: list[Page] = field(default_factory=list)

    @property
    def units(self) -> str:
        """Return what lengths are written in."""
        return self.head.units

    def said(self, text: str) -> str:
        """Return one of our own sentences with its lengths as they are chosen."""
        return sentences.said(text, self.units)

    def told(self, one: Mapping[str, Any], *more: object) -> str:
        """Return what a part says, so; ``more`` are parts whose figures it speaks of too [mm]."""
        return sentences.told(one, self.units, *more)

    def page(self, heading: str = "", *, notes: Sequence[str] = ()) -> Page:
        """Begin a page with a heading and the cautions that belong to it; return it."""
        width, height = PAPERS[self.head.paper]
        whole = Box(MARGIN, MARGIN, width - MARGIN, height - MARGIN)
        page = Page(width, height, whole.less(bottom=_STRIP + 2), heading)
        self.pages.append(page)
        foot = _told(page, [self.said(text) for text in self.head.told])
        if heading:
            shown = letters.cut(heading, page.area.width, LARGE, bold=True)
            page.words((page.area.left, foot + LARGE), shown, LARGE, bold=True)
            foot += LARGE + 3
        for note in notes:
            foot = page.paragraph((page.area.left, foot), note, page.area.width) + 0.5
        page.area = page.area.less(top=foot - page.area.top + (1.5 if notes else 0))
        return page

    def finish(self) -> list[Page]:
        """Draw the strip of every page and return the pages."""
        for number, page in enumerate(self.pages, start=1):
            _strip(page, self.head, self.title, f"{number} of {len(self.pages)}")
        return self.pages


def short(title: str, other: str) -> str:
    """Return a title that leaves a heading room to say what stands on its page.

    ``other`` stands for one that has no letter that can be written here.
    """
    return letters.cut(title if letters.writable(title) else other, _TITLE, LARGE, bold=True)


def _told(page: Page, told: Sequence[str]) -> float:
    """Write at the page's head, in a heavy frame, what was gone on with; return its foot [mm]."""
    area = page.area
    if not told:
        return area.top
    y = area.top + 1.2
    y = page.paragraph((area.left + 2, y), " ".join(told), area.width - 4, SMALL, bold=True)
    page.shape(Box(area.left, area.top, area.right, y + 0.6).corners(), pen=THICK)
    return y + 3


def _strip(page: Page, head: Head, title: str, number: str) -> None:
    left, right = MARGIN, page.width - MARGIN
    bottom = page.height - MARGIN
    top = bottom - _STRIP
    page.shape(Box(left, top, right, bottom).corners(), pen=MEDIUM)
    scale = f"1 : {page.scale}" if page.scale else "no scale"
    names = ", ".join(filter(None, (f"Scale on {head.paper}", page.only)))
    cells = [
        (names, scale, letters.width(names, SMALL) + 4 if page.only else 26.0),
        ("Made on", head.date, 30.0),
        ("State", head.state, 24.0),
        ("Page", number, 27.0),
    ]
    x = right
    for name, value, wide in reversed(cells):
        x -= wide
        page.line((x, top), (x, bottom - 5))
        page.words((x + 1.5, top + 3.2), name, SMALL)
        value = letters.cut(value, wide - 2.5, NORMAL, bold=True)
        page.words((x + 1.5, top + 8), value, NORMAL, bold=True)
    room = x - left - 3
    page.words((left + 1.5, top + 3.2), letters.cut(head.title, room, SMALL), SMALL)
    page.words(
        (left + 1.5, top + 8.4), letters.cut(title, room, LARGE, bold=True), LARGE, bold=True
    )
    page.line((left, bottom - 5), (right, bottom - 5))
    page.words((left + 1.5, bottom - 1.7), _NOT_APPROVED, SMALL)
    page.words((right - 1.5, bottom - 1.7), f"Survey {head.survey}", SMALL, "end")
