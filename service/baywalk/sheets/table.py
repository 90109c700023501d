"""Schedules: rows and columns on pages, and the same rows as CSV."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from baywalk.sheets import letters
from baywalk.sheets.ink import MEDIUM, SMALL, Box, Page, leading

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from baywalk.sheets.paper import Book

Value = str | float | int | None
"""What a cell of the file holds; lengths in mm to 0.1."""

_PAD = 1.2
_GUTTER = 8.0
_MOST_LINES = 24
_LEAST_ROOM = 25.0
_GOES_ON = ", continued"


class Column(NamedTuple):
    """A column: its head, whether figures stand at its right, and whether its text is wrapped."""

    head: str
    right: bool = True
    wrap: bool = False


@dataclass
class Table:
    """A schedule: ``rows`` as printed; ``file`` as CSV, heads and rows, all lengths mm.

    Printed rows that are alike in the column ``by`` stand together, a heavier line under them.
    """

    name: str
    columns: list[Column]
    rows: list[list[str]] = field(default_factory=list)
    heads: list[str] = field(default_factory=list)
    by: int | None = None
    file: list[list[Value]] = field(default_factory=list)

    def add(self, printed: Sequence[str], filed: Sequence[Value] = ()) -> None:
        """Add a row as it is printed and as it stands in the file."""
        self.rows.append(list(printed))
        self.file.append(list(filed) if filed else list(printed))

    def csv(self) -> str:
        """Return the schedule as CSV (RFC 4180); a cell never begins as a formula would."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\r\n")
        writer.writerow(self.heads or [c.head for c in self.columns])
        writer.writerows([_plain(cell) for cell in row] for row in self.file)
        return out.getvalue()


def _plain(cell: Value) -> Value:
    """Return a cell; a text that a spreadsheet would run as a formula is kept a text."""
    if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return "'" + cell
    return round(cell, 1) if isinstance(cell, float) else cell


def print_table(book: Book, table: Table, page: Page | None = None, cap: float = SMALL) -> Page:
    """Print a schedule from the top of a page's free area on; return the last page, area left."""
    if page is None or page.area.height < _LEAST_ROOM:
        page = book.page(table.name)
    setting = _Setting(table, page.area.width, cap)
    rows = list(setting.heights())
    start = 0
    while True:
        start = _fill(page, setting, rows, start)
        if start >= len(rows):
            return page
        page = book.page(f"{table.name[:1].upper()}{table.name[1:]}{_GOES_ON}")


class _Setting:
    """How a table's columns lie in a width [mm]."""

    def __init__(self, table: Table, room: float, cap: float) -> None:
        self.table, self.cap = table, cap
        natural = [self._natural(k) for k in range(len(table.columns))]
        wrapped = [k for k, column in enumerate(table.columns) if column.wrap]
        self.widths = natural
        if sum(natural) > room:
            fixed = sum(w for k, w in enumerate(natural) if k not in wrapped)
            share = max(20.0, (room - fixed) / max(1, len(wrapped)))
            self.widths = self._shared(natural, wrapped, room - fixed, share)
        self.width = sum(self.widths)
        # A narrow table runs down the page in several columns, as in a printed book.
        self.across = max(1, int((room + _GUTTER) // (self.width + _GUTTER)))

    @staticmethod
    def _shared(natural: list[float], wrapped: list[int], room: float, share: float) -> list[float]:
        """Return the widths, those of wrapped columns sharing the room [mm]."""
        out = list(natural)
        left = sorted(wrapped, key=lambda k: natural[k])
        while left:
            # A text four times as long takes twice the width, and twice the lines.
            k, share = left[0], sum(math.sqrt(natural[j]) for j in left)
            out[k] = min(natural[k], max(20.0, room * math.sqrt(natural[k]) / share))
            room -= out[k]
            left.pop(0)
        return out if wrapped else [w * share / w for w in natural]

    def _natural(self, k: int) -> float:
        column = self.table.columns[k]
        cells = [letters.width(letters.clean(row[k]), self.cap) for row in self.table.rows]
        heads = [letters.width(part, self.cap, bold=True) for part in self.head_of(column)]
        return max([0.0, *cells, *heads]) + 2 * _PAD

    @staticmethod
    def head_of(column: Column) -> list[str]:
        """Return the lines of a column's head."""
        return [letters.clean(part) for part in column.head.split("\n")]

    def parts(self, rows: list[tuple[float, list[list[str]]]], number: int) -> bool:
        """Say whether rows that stand together end before the one of that number."""
        by = self.table.by
        if by is None or number >= len(rows):
            return False
        return rows[number - 1][1][by] != rows[number][1][by]

    def lines(self, row: list[str], k: int) -> list[str]:
        """Return the lines of a cell."""
        if self.table.columns[k].wrap:
            return letters.wrap(row[k], self.widths[k] - 2 * _PAD, self.cap)
        return [letters.clean(row[k])]

    def heights(self) -> Iterator[tuple[float, list[list[str]]]]:
        """Give each row's height [mm] and the lines of its cells."""
        for row in self.table.rows:
            cells = [self.lines(row, k) for k in range(len(row))]
            deep = max(1, *(len(c) for c in cells))
            # A cell longer than a page goes on as rows of its own.
            for start in range(0, deep, _MOST_LINES):
                part = [c[start : start + _MOST_LINES] for c in cells]
                yield leading(self.cap) * max(1, *(len(c) for c in part)) + 0.8, part


def _fill(
    page: Page, setting: _Setting, rows: list[tuple[float, list[list[str]]]], start: int
) -> int:
    """Print as many rows from ``start`` on as the page holds; return the next one's number."""
    area, foot = page.area, page.area.top
    for k in range(setting.across):
        left = area.left + k * (setting.width + _GUTTER)
        start, y = _column(page, setting, rows, start, area.less(left=left - area.left))
        foot = max(foot, y)
        if start >= len(rows):
            break
    page.area = area.less(top=foot - area.top + 3)
    return start


def _column(
    page: Page, setting: _Setting, rows: list[tuple[float, list[list[str]]]], start: int, room: Box
) -> tuple[int, float]:
    """Print rows down one column; return the next row's number and the foot [mm]."""
    y = _head(page, setting, room.left, room.top)
    first = start
    while start < len(rows) and (y + rows[start][0] <= room.bottom or start == first):
        height, cells = rows[start]
        x = room.left
        for column, wide, lines in zip(setting.table.columns, setting.widths, cells, strict=True):
            _cell(page, Box(x, y, x + wide, y + height), lines, setting.cap, right=column.right)
            x += wide
        y += height
        start += 1
        pen = MEDIUM if setting.parts(rows, start) else 0.1
        page.line((room.left, y), (room.left + setting.width, y), pen=pen)
    return start, y


def _head(page: Page, setting: _Setting, left: float, top: float) -> float:
    heads = [setting.head_of(column) for column in setting.table.columns]
    deep = leading(setting.cap) * max(len(h) for h in heads) + 1
    x = left
    for column, wide, lines in zip(setting.table.columns, setting.widths, heads, strict=True):
        _cell(page, Box(x, top, x + wide, top), lines, setting.cap, right=column.right, bold=True)
        x += wide
    page.line((left, top + deep), (x, top + deep), pen=MEDIUM)
    return top + deep


def _cell(
    page: Page, box: Box, lines: list[str], cap: float, *, right: bool, bold: bool = False
) -> None:
    y = box.top + 0.6
    for line in lines:
        y += leading(cap)
        if line:
            at = (box.right - _PAD, y - 0.75 * cap) if right else (box.left + _PAD, y - 0.75 * cap)
            page.words(at, line, cap, "end" if right else "start", bold=bold)


def note(book: Book, page: Page, text: str, cap: float = SMALL) -> Page:
    """Write a sentence under what a page has, on a new one where it has no room; ``cap`` in mm.

    Return the page that was written on, its free area less by what the sentence takes.
    """
    for line in letters.wrap(text, page.area.width, cap):
        if page.area.top + leading(cap) > page.area.bottom:
            page = book.page(f"{page.heading.removesuffix(_GOES_ON)}{_GOES_ON}")
        page.words((page.area.left, page.area.top + cap), line, cap)
        page.area = page.area.less(top=leading(cap))
    page.area = page.area.less(top=1.0)
    return page
