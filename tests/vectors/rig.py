"""An invented loft of straight lines whose readings are exact, so that a vector says one thing."""

from __future__ import annotations

import math
from typing import Any

from tests.unit.reconcile.book import Book

APART = 1500.0  # between neighbouring tape lines [mm]


class Rig(Book):
    """A field book read from joists at given centres along parallel lines.

    ``centres`` are along the first line from the start wall, ``end`` is where the end wall stands,
    ``lean`` says by how much each joist (or the end wall) moves from one line to the next.
    """

    def __init__(
        self,
        centres: list[float],
        end: float,
        lines: tuple[str, ...] = ("near",),
        lean: dict[int, float] | None = None,
        **member: Any,
    ) -> None:
        super().__init__(len(centres), lines, **(member or {"breadth": 47, "depth": 147}))
        self.places = [0.0, *centres, end]
        self.lines = list(lines)
        self.lean = lean or {}
        self.shift: dict[tuple[int, str], float] = {}
        self.wide = dict.fromkeys(range(1, len(centres) + 1), 47.0)
        self.n = len(centres)

    def x(self, joist: int, line: str, face: str = "centre") -> float:
        """Return where a face stands along a line."""
        along = self.places[joist] + self.lean.get(joist, 0.0) * self.lines.index(line)
        side = {"left": -0.5, "right": 0.5}.get(face, 0.0)
        return along + self.shift.get((joist, line), 0.0) + side * self.wide.get(joist, 0.0)

    def read(self, line: str, a: tuple[int, str], b: tuple[int, str], **more: Any) -> str:
        """Read from one face to another."""
        length = abs(self.x(b[0], line, b[1]) - self.x(a[0], line, a[1]))
        return self.across(a, b, more.pop("value", round(length)), line=line, **more)

    def bay(self, line: str, bay: int, **more: Any) -> str:
        """Read a clear gap."""
        left = (bay, "face" if bay == 0 else "right")
        return self.read(line, left, (bay + 1, "face" if bay == self.n else "left"), **more)

    def bays(self, *lines: str) -> list[str]:
        """Read every clear gap of some lines; of all of them unless told."""
        return [self.bay(line, bay) for line in lines or self.lines for bay in range(self.n + 1)]

    def whole(self, line: str = "near", **more: Any) -> str:
        """Read from wall to wall."""
        return self.read(line, (0, "face"), (self.n + 1, "face"), **more)

    def running(self, line: str = "near", faces: tuple[str, ...] = ("left", "right")) -> list[str]:
        """Read every joist's faces from the start wall."""
        joists = range(1, self.n + 1)
        return [self.read(line, (0, "face"), (j, face)) for j in joists for face in faces]

    def breadths(self) -> list[str]:
        """Read every joist's breadth."""
        return [self.breadth(joist, round(self.wide[joist])) for joist in self.wide]

    def point(self, joist: int, line: str) -> tuple[float, float]:
        """Return where a joist crosses a line in the plane."""
        return self.x(joist, line), APART * self.lines.index(line)

    def ties(self) -> None:
        """Tie each further line to the first: along two joists, and by both diagonals."""
        first, last = 1, self.n
        for line in self.lines[1:]:
            for joist in (first, last):
                length = math.dist(self.point(joist, self.lines[0]), self.point(joist, line))
                self.along(joist, self.lines[0], line, round(length))
            for a, b in ((first, last), (last, first)):
                length = math.dist(self.point(a, self.lines[0]), self.point(b, line))
                self.diagonal((a, self.lines[0]), (b, line), round(length))

    def edges(self, near: float = -300, far: float = 300) -> None:
        """Read from the outer lines to the deck's edges on the first and the last joist."""
        for joist in (1, self.n):
            self.along(joist, "near_edge", self.lines[0], -near)
            self.along(joist, self.lines[-1], "far_edge", far)


def even(joists: int = 4, spacing: float = 400, first: float = 200) -> list[float]:
    """Return centres at one spacing."""
    return [first + spacing * i for i in range(joists)]


def rig(joists: int = 4, lines: tuple[str, ...] = ("near",), **more: Any) -> Rig:
    """Return a loft of even centres, 400 mm apart, 200 mm from either wall."""
    return Rig(even(joists), 400.0 * joists, lines, **more)
