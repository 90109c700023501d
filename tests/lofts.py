"""Random lofts with a known truth, for tests; invented, and apart from the engine's formulas.

The truth is a plane: joists are straight lines across two tape lines, and every reading is taken
from points in that plane with a hand and a tape that err as real ones do.
"""

from __future__ import annotations

import math
import random
import uuid
from typing import Any


class Loft:
    """A true loft in the plane and a field book of readings taken from it."""

    def __init__(self, seed: int, joists: int | None = None, tape: str = "II") -> None:
        self.draw = random.Random(seed)
        draw = self.draw
        self.n = joists or draw.randint(4, 18)
        self.tape = tape
        spacing = draw.choice([400, 450, 600])
        self.apart = draw.uniform(1800, 4500)
        lean = draw.uniform(-25, 25)
        self.origin = (lean, self.apart + draw.uniform(-10, 10))
        self.turn = draw.uniform(-0.008, 0.008)
        self.near, x = [0.0], draw.uniform(60, 350)
        for _ in range(self.n):
            self.near.append(x)
            x += (
                spacing + draw.gauss(0, 6) + (draw.uniform(-120, 160) if draw.random() < 0.2 else 0)
            )
        self.near.append(x - draw.uniform(0, 200))
        drift = [0.0] + [draw.gauss(0, 5) for _ in range(self.n)] + [draw.uniform(-20, 20)]
        self.far = [0.0, *(p - lean + d for p, d in zip(self.near[1:], drift[1:], strict=True))]
        self.breadth = [0.0, *(47 + draw.uniform(-1.5, 1.5) for _ in range(self.n)), 0.0]
        limit = {"I": 0.1, "II": 0.2, "III": 0.4}[tape]
        self.scale = draw.uniform(-limit, limit) / 1000
        self.by = self._id()
        self.entries: list[dict[str, Any]] = []

    def _id(self) -> str:
        return str(uuid.UUID(int=self.draw.getrandbits(128), version=4))

    def point(self, joist: int, line: str) -> tuple[float, float]:
        """Return where a joist's centre crosses a line in the plane [mm]."""
        if line == "near":
            return self.near[joist], 0.0
        x = self.far[joist]
        return (
            self.origin[0] + x * math.cos(self.turn),
            self.origin[1] + x * math.sin(self.turn),
        )

    def face(self, joist: int, face: str, line: str) -> float:
        """Return the place of a face along a line [mm]."""
        side = {"left": -0.5, "right": 0.5}.get(face, 0.0)
        return (self.near if line == "near" else self.far)[joist] + side * self.breadth[joist]

    def tape_reading(self, length: float, *, surface: bool = True) -> int:
        """Return what is read of a true length: scale, graduation, hand, whole millimetres."""
        a, c = {"I": (0.1, 0.1), "II": (0.3, 0.2), "III": (0.6, 0.3)}[self.tape]
        limit = a + (c if surface else 0.0)
        noise = self.draw.uniform(-limit, limit) + self.draw.gauss(0, 1.0)
        return round(length * (1 + self.scale) + noise)

    def add(self, kind: str, **fields: Any) -> dict[str, Any]:
        """Append an entry."""
        entry = {
            "id": self._id(),
            "at": "2026-06-01T10:00:00Z",
            "by": self.by,
            "n": len(self.entries) + 1,
            "kind": kind,
            "run": "A",
            **fields,
        }
        self.entries.append(entry)
        return entry

    def across(self, line: str, a: tuple[int, str], b: tuple[int, str]) -> dict[str, Any]:
        """Read from one face to another."""
        length = self.face(*b, line) - self.face(*a, line)
        surface = a[1] != "centre"
        value = self.tape_reading(length, surface=surface)
        return self.add("across", line=line, **{"from": list(a), "to": list(b)}, value=value)

    def gap(self, line: str, bay: int) -> dict[str, Any]:
        """Read the clear gap of a bay."""
        left = (bay, "face" if bay == 0 else "right")
        right = (bay + 1, "face" if bay == self.n else "left")
        return self.across(line, left, right)

    def overall(self, line: str) -> dict[str, Any]:
        """Read from wall to wall."""
        return self.across(line, (0, "face"), (self.n + 1, "face"))

    def breadth_of(self, joist: int) -> dict[str, Any]:
        """Read a joist's breadth."""
        return self.add("breadth", joist=joist, value=self.tape_reading(self.breadth[joist]))

    def along(self, joist: int) -> dict[str, Any]:
        """Read along a joist from the near line to the far one."""
        length = math.dist(self.point(joist, "near"), self.point(joist, "far"))
        value = self.tape_reading(length, surface=False)
        return self.add("along", joist=joist, **{"from": "near", "to": "far"}, value=value)

    def diagonal(self, a: tuple[int, str], b: tuple[int, str]) -> dict[str, Any]:
        """Read a diagonal between two centres."""
        value = self.tape_reading(math.dist(self.point(*a), self.point(*b)), surface=False)
        return self.add("diagonal", **{"from": list(a), "to": list(b)}, value=value)

    def survey(self) -> dict[str, Any]:
        """Return the field book as a survey."""
        run = {
            "id": "A",
            "title": "A",
            "joists": self.n,
            "lines": ["near", "far"],
            "member": {"breadth": 47, "depth": 147, "grade": "C16"},
        }
        return {
            "format": "baywalk.survey",
            "version": 1,
            "id": self._id(),
            "title": "Random loft (invented)",
            "created": "2026-06-01T09:00:00Z",
            "tape": {"class": self.tape},
            "runs": [run],
            "entries": self.entries,
        }


def full_loft(seed: int, joists: int | None = None) -> Loft:
    """Return a loft with gaps, breadths, running readings, overalls, alongs and two diagonals."""
    loft = Loft(seed, joists)
    for line in ("near", "far"):
        for bay in range(loft.n + 1):
            loft.gap(line, bay)
        for joist in range(1, loft.n + 1):
            for face in ("left", "right"):
                loft.across(line, (0, "face"), (joist, face))
        loft.overall(line)
    for joist in range(1, loft.n + 1):
        loft.breadth_of(joist)
    for joist in (1, loft.n):
        loft.along(joist)
    loft.diagonal((1, "near"), (loft.n, "far"))
    loft.diagonal((1, "far"), (loft.n, "near"))
    return loft


def random_loft(seed: int) -> dict[str, Any]:
    """Return a sound survey of a random loft."""
    return full_loft(seed).survey()


class Lines(Loft):
    """A loft of three tape lines, tied by lengths along some joists and by no diagonal.

    Such lengths tell where a line lies along the joists alone, not across them.
    """

    names = ("near", "mid", "far")

    def __init__(self, seed: int) -> None:
        super().__init__(seed, random.Random(seed).randint(3, 9))
        draw = self.draw
        self.lies = {"near": (0.0, 0.0, 0.0)}
        y = 0.0
        for name in self.names[1:]:
            y += draw.uniform(1200, 2600)
            self.lies[name] = (draw.uniform(-20, 20), y, draw.uniform(-0.008, 0.008))
        self.places = {"near": self.near}
        for name in self.names[1:]:
            lean = self.lies[name][0]
            self.places[name] = [0.0, *(x - lean + draw.gauss(0, 4) for x in self.near[1:])]
        self._walk()

    def _walk(self) -> None:
        draw = self.draw
        for line in self.names:
            for bay in range(self.n + 1):
                self.gap(line, bay)
            if draw.random() < 0.7:
                self.overall(line)
            if draw.random() < 0.5:
                for joist in range(1, self.n + 1):
                    self.across(line, (0, "face"), (joist, "left"))
        for joist in range(1, self.n + 1):
            self.breadth_of(joist)
        for joist in draw.sample(range(1, self.n + 1), min(self.n, draw.randint(2, 4))):
            for a, b in (("near", "mid"), ("mid", "far"), ("near", "far")):
                if draw.random() < 0.85:
                    length = math.dist(self.point(joist, a), self.point(joist, b))
                    value = self.tape_reading(length, surface=False)
                    self.add("along", joist=joist, **{"from": a, "to": b}, value=value)

    def point(self, joist: int, line: str) -> tuple[float, float]:
        """Return where a joist's centre crosses a line in the plane [mm]."""
        x, y, turn = self.lies[line]
        along = self.places[line][joist]
        return x + along * math.cos(turn), y + along * math.sin(turn)

    def face(self, joist: int, face: str, line: str) -> float:
        """Return the place of a face along a line [mm]."""
        side = {"left": -0.5, "right": 0.5}.get(face, 0.0)
        return self.places[line][joist] + side * self.breadth[joist]

    def survey(self) -> dict[str, Any]:
        """Return the field book as a survey."""
        survey = super().survey()
        survey["runs"][0]["lines"] = list(self.names)
        return survey
