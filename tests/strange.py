"""Strange lofts, from the field book on: slips, gaps, wavy edges and things strewn at random.

Invented, and none of them likely; what is asked of the chain is that it says so in words, and that
no plan it makes breaks a rule.
"""

from __future__ import annotations

import random
import uuid
from typing import TYPE_CHECKING, Any

from tests.lofts import full_loft
from tests.slips import plant

if TYPE_CHECKING:
    from collections.abc import Iterator

Entry = dict[str, Any]
DEVICE = "6f0b9a52-3a51-4d0b-8f5e-6a3e0f6f9c01"
JOISTS = (1, 2, 3, 4, 6, 7, 9, 11, 14, 25)


class Strange:
    """A random survey and what is then asked of it."""

    def __init__(self, seed: int) -> None:
        # A stream of its own, for the loft draws its ids from the seed itself.
        self.draw = random.Random(f"strange {seed}")
        self.survey = full_loft(seed, self.draw.choice(JOISTS)).survey()
        run = self.survey["runs"][0]
        self.n: int = run["joists"]
        dropped = self.draw.choice(["", "", "", "", "", "diagonal", "along", "breadth"])
        entries = [e for e in self.survey["entries"] if e["kind"] != dropped]
        for _ in range(self.draw.choice([0, 0, 0, 1, 2])):
            if entries:
                plant(entries, self.draw)
        if self.draw.random() < 0.9:
            entries += self._edges()
        for _ in range(self.draw.randint(0, 5)):
            entries += self._thing()
        if self.draw.random() < 0.1:
            run["lines"].reverse()
        if self.draw.random() < 0.05:
            run["member"] = {}
        self.survey["entries"] = entries

    def asked_of_capacity(self) -> dict[str, list[str]]:
        """Return a random question to the load check, as an address has it."""
        asked = {"use": [self.draw.choice(["storage", "occasional", "domestic"])]}
        if self.draw.random() < 0.3:
            x, y = self.draw.randint(-500, 5000), self.draw.randint(-500, 4000)
            asked["thing"] = [f"bath,mass=300,width=700,length=1700,x={x},y={y}"]
        return asked

    def asked_of_plan(self, seconds: float) -> dict[str, list[str]]:
        """Return random choices of a plan, as an address has them."""
        wishes = {
            "anyway": (["1"], 0.85),
            "board": (["2400x600", "1200x600", "1220x320", "3050x910"], 0.3),
            "deck": (["18", "22"], 0.3),
            "roof": (["free", "tied", "trussed"], 0.5),
            "start_wall": (["near", "far"], 0.3),
            "first": (["equal", "full"], 0.3),
        }
        chosen = {
            name: [self.draw.choice(values)]
            for name, (values, share) in wishes.items()
            if self.draw.random() < share
        }
        return chosen | {"time": [f"{seconds:g}"]}

    def _entry(self, kind: str, **more: Any) -> Entry:
        name = str(uuid.UUID(int=self.draw.getrandbits(128), version=4))
        at = "2026-11-01T10:05:00+00:00"
        return {"id": name, "at": at, "by": DEVICE, "kind": kind, "run": "A", **more}

    def _along(self, joist: int, one: str, other: str, value: float) -> Entry:
        return self._entry("along", joist=joist, **{"from": one, "to": other}, value=round(value))

    def _edges(self) -> Iterator[Entry]:
        """Read the edges at the walls alone or at every joist; they wave by some millimetres."""
        walls, all_of_them = (0, self.n + 1), range(self.n + 2)
        for joist in walls if self.draw.random() < 0.5 else all_of_them:
            yield self._along(joist, "far", "far_edge", self.draw.gauss(300, 6))
            yield self._along(joist, "near_edge", "near", self.draw.gauss(300, 6))

    def _thing(self) -> list[Entry]:
        """Return one more thing about the loft, not always where it can be."""
        draw, joists = self.draw, range(1, self.n + 1)
        kind = draw.choice(["rectangle", "cut", "bay", "timber", "level", "span", "depth", "odd"])
        joist = draw.choice([0, 1, 2, self.n, self.n + 1, self.n + 4])
        if kind == "rectangle":
            return [self._rectangle(joist)]
        if kind == "cut":
            what = draw.choice(["notch", "hole", "split", "decay"])
            sizes = {"depth": draw.randint(0, 80), "length": draw.randint(0, 200)}
            edge = draw.choice(["top", "bottom", "centre"])
            place = {"edge": edge, "from_near_support": draw.randint(0, 3000)}
            return [self._entry("feature", feature=what, joist=joist, **sizes, **place)]
        if kind == "bay":
            what = draw.choice(["cable", "pipe", "insulation"])
            deep = {"depth": draw.randint(50, 300)} if what == "insulation" else {}
            return [self._entry("feature", feature=what, bay=joist, **deep)]
        if kind == "timber":
            more = {"grade": draw.choice(["C16", "C24", "X9"]), "plies": draw.randint(1, 3)}
            return [self._entry("feature", feature="timber", joist=joist, **more)]
        if kind == "level":
            line = draw.choice(["near", "far", "middle"])
            down = {j: round(draw.gauss(200, 6)) for j in joists}
            return [self._entry("level", joist=j, line=line, value=down[j]) for j in joists]
        if kind == "span":
            return [
                self._along(j, "near_support", "far_support", draw.gauss(3000, 20)) for j in joists
            ]
        if kind == "depth":
            return [self._entry("depth", joist=j, value=round(draw.gauss(147, 2))) for j in joists]
        return [self._entry("weather", value=5)]

    def _rectangle(self, joist: int) -> Entry:
        draw = self.draw
        rectangle = {
            "from": [joist, draw.choice(["left", "right", "centre", "face"])],
            "line": draw.choice(["near", "far", "near", "far", "middle"]),
            "across": draw.randint(-300, 800),
            "along": draw.randint(-200, 2500),
            "width": draw.choice([0, 1, 350, 700, draw.randint(100, 1500)]),
            "length": draw.choice([0, 1, 350, 700, draw.randint(100, 1500)]),
        }
        if draw.random() < 0.1:
            del rectangle[draw.choice(list(rectangle))]
        what = draw.choice(["opening", "obstacle", "laid"])
        return self._entry("feature", feature=what, **rectangle)
