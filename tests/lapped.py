"""A survey of joists that lap over a beam; invented, and read to whole millimetres."""

from __future__ import annotations

import math
from typing import Any

from tests.vectors.rig import Rig, even

Y = {"near": 0.0, "beam near": 2500.0, "beam far": 2700.0, "far": 4800.0}
"""Where its tape lines lie [mm]."""
JOG = 47.0


class Lapped(Rig):
    """Joists at 400 whose far timbers lie beside their near ones, over a beam at 2600.

    They run from support to support from -250 to 5050, and the deck from -300 to 5100.
    """

    def __init__(self, joists: int = 9) -> None:
        super().__init__(even(joists), 400.0 * joists + JOG, tuple(Y))
        self.shift = {(j, line): JOG for j in range(1, joists + 1) for line in tuple(Y)[2:]}
        self.runs[0]["laps"] = [["beam near", "beam far"]]
        self.bays()
        self.breadths()
        for line in Y:
            self.whole(line)
        self.ties()
        for joist in (1, joists):
            self.along(joist, "beam near", "beam far", 200)
        for joist in range(1, joists + 1):
            self.add("depth", joist=joist, value=147)
            self.along(joist, "near_support", "near", 250)
            self.along(joist, "far", "far_support", 250)
        for joist in (0, 1, joists, joists + 1):
            self.along(joist, "near_edge", "near", 300)
            self.along(joist, "far", "far_edge", 300)
        beam = {"from_near_support": 2850, "length": 100}
        self.add("feature", feature="support", **beam)

    def point(self, joist: int, line: str) -> tuple[float, float]:
        """Return where a joist crosses a line in the plane."""
        return self.x(joist, line), Y[line]

    def ties(self) -> None:
        """Tie each further line to the first along walls, which do not lap, and by diagonals."""
        last = self.n + 1
        for line in self.lines[1:]:
            for wall in (0, last):
                self.along(wall, self.lines[0], line, Y[line])
            for a, b in ((0, last), (last, 0)):
                length = math.dist(self.point(a, self.lines[0]), self.point(b, line))
                self.diagonal((a, self.lines[0]), (b, line), round(length))


def survey() -> dict[str, Any]:
    """Return the survey as JSON data."""
    return Lapped().survey()
