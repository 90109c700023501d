"""From the loft to the paper: scales, and where a point of the plane comes to lie on the page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from baywalk.sheets import lengths
from baywalk.sheets.ink import MEDIUM, SMALL, Box, Page, Point

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


SCALES = (1, 2, 5, 10, 20, 25, 30, 40, 50, 75, 100, 150, 200, 250, 300, 400, 500, 750, 1000)
"""Scales that are drawn to [1:n]: those of ISO 5455 (from memory), and steps between them, for a
larger drawing is easier to read; every figure is written, and each sheet has its scale bar."""


def fitting(length: float, room: float) -> int:
    """Return the scale 1:n, the largest drawing first, at which a length [mm] fits a room [mm]."""
    return next((n for n in SCALES if length <= room * n), _beyond(length / max(room, 1e-9)))


def _beyond(needed: float) -> int:
    """Return a scale past the last one that is known: a one and noughts."""
    n = SCALES[-1]
    while n < needed:
        n *= 10
    return n


@dataclass(frozen=True)
class View:
    """A window on the plane: ``origin`` [mm, in the loft] lies at ``place`` [mm, on the page]."""

    scale: int
    origin: Point
    place: Point

    def at(self, point: Sequence[float]) -> Point:
        """Return where a point of the plane [mm] lies on the page [mm]."""
        return (self.x(point[0]), self.y(point[1]))

    def x(self, x: float) -> float:
        """Return the page's x [mm] of a place across the joists [mm]."""
        return self.place[0] + (x - self.origin[0]) / self.scale

    def y(self, y: float) -> float:
        """Return the page's y [mm] of a place along the joists [mm]; far is up."""
        return self.place[1] - (y - self.origin[1]) / self.scale

    def ring(self, points: Iterable[Sequence[float]]) -> tuple[Point, ...]:
        """Return a row of points of the plane [mm] as it lies on the page [mm]."""
        return tuple(self.at(p) for p in points)


def view_of(bounds: Box, room: Box, scale: int) -> View:
    """Return the view that puts the middle of bounds [mm, in the loft] into that of a room [mm].

    ``bounds`` are left, near, right and far.
    """
    middle = ((bounds.left + bounds.right) / 2, (bounds.top + bounds.bottom) / 2)
    place = ((room.left + room.right) / 2, (room.top + room.bottom) / 2)
    return View(scale, middle, place)


_BARS = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000, 100000)
"""Lengths that a scale bar may stand for [mm]."""
_INCHES = (2, 5, 10, 20, 30, 60, 120, 240, 600, 1200, 2400)
"""The same in feet and inches [in]: a tenth of each is a plain part of a foot,
but of the shortest, which is for a deck drawn as large as it is."""


def bar_length(scale: int, units: str = "mm") -> float:
    """Return the length [mm, in the loft] that the scale bar of a scale stands for."""
    bars = [n * lengths.INCH for n in _INCHES] if units == "imperial" else _BARS
    return max((b for b in bars if b / scale <= 60), default=bars[0])


def scale_bar(page: Page, at: Point, scale: int, units: str) -> None:
    """Draw the bar in tenths, black and white in turn, from ``at``, its top left [mm]."""
    length = bar_length(scale, units)
    x, y = at
    step = length / scale / 10
    for k in range(10):
        box = Box(x + k * step, y, x + (k + 1) * step, y + 1.5)
        page.shape(box.corners(), fill=0.0 if k % 2 == 0 else 1.0)
    page.words((x, y + 4.2), "0", SMALL)
    text = f"{length} mm" if length < 1000 else f"{length / 1000:g} m"
    if units == "imperial":
        text = lengths.say(length, units)
    page.words((x + length / scale, y + 4.2), text, SMALL, "end")
    page.scale = scale


def start_mark(page: Page, at: Point, text: str = "start wall") -> None:
    """Draw the mark of the start wall: a solid arrow against it, and its words read upwards."""
    x, y = at
    page.shape(((x, y), (x - 3, y - 1.5), (x - 3, y + 1.5)), fill=0.0)
    page.words((x - 4, y), text, SMALL, "middle", up=True, bold=True)


def hatched(page: Page, box: Box, step: float = 1.5) -> None:
    """Hatch a rectangle of the page at half a right angle, lines ``step`` [mm] apart."""
    rings: list[tuple[Point, ...]] = []
    reach = box.width + box.height
    k = step
    while k < reach:
        a = (box.left + min(k, box.width), box.bottom - max(0.0, k - box.width))
        b = (box.left + max(0.0, k - box.height), box.bottom - min(k, box.height))
        rings.append((a, b))
        k += step
    page.many(rings)
    page.shape(box.corners(), pen=MEDIUM)
