"""What every drawing is made of, whatever it is written as: paths, words and pictures.

A page is in mm from its top left-hand corner, y downwards. All is black on white: what differs,
differs by its line, its hatch or its word.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import NamedTuple

from baywalk.sheets import letters

Point = tuple[float, float]

SMALL, NORMAL, LARGE = 1.8, 2.5, 3.5
"""Heights of capitals [mm]: the steps of ISO 3098 that a sheet uses (from memory)."""

THIN, MEDIUM, THICK = 0.18, 0.35, 0.7
"""Widths of lines [mm]: the steps of ISO 128 that a sheet uses (from memory)."""

BROKEN, CHAIN = (2.0, 1.0), (6.0, 1.0, 1.0, 1.0)
"""Line and space in turn [mm]: for what is hidden or not sure, and for centre lines."""


class Box(NamedTuple):
    """A rectangle on the page [mm]."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """Return its width [mm]."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Return its height [mm]."""
        return self.bottom - self.top

    def holds(self, other: Box, slack: float = 0.01) -> bool:
        """Say whether another lies within it, to ``slack`` [mm]."""
        return (
            other.left >= self.left - slack
            and other.top >= self.top - slack
            and other.right <= self.right + slack
            and other.bottom <= self.bottom + slack
        )

    def meets(self, other: Box, slack: float = 0.01) -> bool:
        """Say whether two share more than ``slack`` [mm] each way."""
        return (
            min(self.right, other.right) - max(self.left, other.left) > slack
            and min(self.bottom, other.bottom) - max(self.top, other.top) > slack
        )

    def less(
        self, left: float = 0.0, top: float = 0.0, right: float = 0.0, bottom: float = 0.0
    ) -> Box:
        """Return it with so much [mm] taken off each side."""
        return Box(self.left + left, self.top + top, self.right - right, self.bottom - bottom)

    def corners(self) -> tuple[Point, ...]:
        """Return its corners in order [mm]."""
        left, top, right, bottom = self
        return ((left, top), (right, top), (right, bottom), (left, bottom))


@dataclass(frozen=True, slots=True)
class Path:
    """One or more rows of points, drawn as one.

    ``pen`` is the line's width [mm], 0 for none; ``dash`` line and space in turn [mm]; ``fill`` a
    tone from 0 black to 1 white, None for none. Where rings overlap, every other one is a hole.
    """

    rings: tuple[tuple[Point, ...], ...]
    pen: float = THIN
    dash: tuple[float, ...] = ()
    closed: bool = False
    fill: float | None = None


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text, ``at`` its foot's start, middle or end.

    ``cap`` is the height of its capitals [mm]; ``up`` stands for text that is read from the right;
    ``kind`` tells figures of dimensions from other words.
    """

    at: Point
    text: str
    cap: float = NORMAL
    anchor: str = "start"
    bold: bool = False
    up: bool = False
    kind: str = "word"

    @property
    def width(self) -> float:
        """Return its length [mm]."""
        return letters.width(self.text, self.cap, bold=self.bold)

    @property
    def box(self) -> Box:
        """Return the room that it takes [mm], with what reaches below the line."""
        x, y = self.at
        back = {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * self.width
        below = self.cap / letters.CAPITAL * letters.BELOW
        if self.up:
            return Box(x - self.cap, y + back - self.width, x + below, y + back)
        return Box(x - back, y - self.cap, x - back + self.width, y + below)


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo, JPEG as kept, in a box on the page."""

    box: Box
    jpeg: bytes


@dataclass
class Page:
    """One page of paper [mm] and what is on it; ``area`` is what a drawing may use.

    ``scale`` is that of its drawing [1:n]; ``only`` says along what, where it holds not every way.
    """

    width: float
    height: float
    area: Box
    heading: str = ""
    scale: int | None = None
    only: str = ""
    items: list[Path | Words | Picture] = field(default_factory=list)

    def line(self, *points: Point, pen: float = THIN, dash: tuple[float, ...] = ()) -> None:
        """Draw a line through points."""
        self.items.append(Path((points,), pen, dash))

    def shape(
        self,
        points: tuple[Point, ...],
        *,
        pen: float = THIN,
        fill: float | None = None,
        dash: tuple[float, ...] = (),
    ) -> None:
        """Draw a closed shape."""
        self.items.append(Path((points,), pen, dash, closed=True, fill=fill))

    def many(self, rings: list[tuple[Point, ...]], *, pen: float = THIN) -> None:
        """Draw many open lines as one."""
        if rings:
            self.items.append(Path(tuple(rings), pen))

    def dot(self, at: Point, radius: float, *, fill: float | None = 0.0) -> None:
        """Draw a dot, or a ring where ``fill`` is white; ``radius`` in mm."""
        turn = [2 * math.pi * k / 20 for k in range(20)]
        ring = tuple((at[0] + radius * math.cos(a), at[1] + radius * math.sin(a)) for a in turn)
        self.shape(ring, fill=fill)

    def words(
        self,
        at: Point,
        text: str,
        cap: float = NORMAL,
        anchor: str = "start",
        *,
        bold: bool = False,
        up: bool = False,
        kind: str = "word",
        clear: bool = False,
    ) -> Words:
        """Write a line of text, on cleared paper where it crosses lines; ``cap`` in mm."""
        one = Words(at, letters.clean(text), cap, anchor, bold, up, kind)
        if clear:
            self.shape(one.box.less(-0.3, -0.3, -0.3, 0).corners(), pen=0, fill=1.0)
        self.items.append(one)
        return one

    def free(self, box: Box) -> bool:
        """Say whether no words stand within a box yet."""
        return not any(isinstance(i, Words) and i.box.meets(box) for i in self.items)

    def paragraph(
        self, at: Point, text: str, room: float, cap: float = SMALL, *, bold: bool = False
    ) -> float:
        """Write a text in lines of at most ``room`` [mm] from its top; return its foot [mm]."""
        x, y = at
        for row in letters.wrap(text, room, cap, bold=bold):
            self.words((x, y + cap), row, cap, bold=bold)
            y += leading(cap)
        return y


def leading(cap: float) -> float:
    """Return the distance from line to line [mm] for capitals of height ``cap`` [mm]."""
    return 1.75 * cap
