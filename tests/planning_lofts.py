"""Random as-builts for tests of planning; invented, and written without the survey's engine.

Joists lean, bow and stray from their spacing; walls and edges are out of square; there are
hatches, chimneys, decks that are part laid, levels, insulation, and lofts of two runs.
"""

from __future__ import annotations

import math
import random
import uuid
from typing import Any

Json = dict[str, Any]
Point = tuple[float, float]

KINDS = ("plain", "irregular", "skew", "square", "opening", "obstacle", "laid", "lines", "runs")
"""What a random loft may be chosen to show; "square" is out of square."""


def _id(draw: random.Random) -> str:
    return str(uuid.UUID(int=draw.getrandbits(128), version=4))


class Run:
    """One run in the plane, from which its as-built is written.

    Attributes:
        ys: where the tape lines cross the plane, the first at 0 [mm].
        xs: for each joist, the walls among them, its x on every tape line [mm].
        breadth: of every joist [mm].
        near, far: y of the deck's limit at both walls, start wall first [mm].
    """

    def __init__(
        self,
        ys: list[float],
        xs: list[list[float]],
        breadth: list[float],
        near: Point,
        far: Point,
        depth: float = 147.0,
    ) -> None:
        self.ys, self.xs, self.breadth = ys, xs, breadth
        self.near, self.far, self.depth = near, far, depth
        self.names = ["near", *(f"middle {i}" for i in range(1, len(ys) - 1)), "far"]
        self.features: list[Json] = []
        self.nominal: float | None = None
        self.span: Point | None = None
        self.levels: dict[int, float] = {}
        self.laps: list[list[str]] = []

    @property
    def joists(self) -> int:
        return len(self.xs) - 2

    def x(self, joist: int, y: float) -> float:
        """Return where a joist's centre is at ``y``, straight between and beyond the lines."""
        pairs = list(zip(self.ys, self.xs[joist], strict=True))
        inner = next((i for i in range(1, len(pairs)) if y <= pairs[i][0]), len(pairs) - 1)
        (y0, x0), (y1, x1) = pairs[inner - 1], pairs[inner]
        return x0 + (x1 - x0) * (y - y0) / (y1 - y0)

    def edge(self, side: Point, x: float) -> float:
        """Return y of a limit given at both walls, at ``x``."""
        x0, x1 = self.xs[0][0], self.xs[-1][0]
        return side[0] + (side[1] - side[0]) * (x - x0) / (x1 - x0)

    def outline(self) -> list[list[float]]:
        def corner(wall: int, side: Point) -> list[float]:
            y = side[0] if wall == 0 else side[1]
            for _ in range(20):
                y = self.edge(side, self.x(wall, y))
            return [round(self.x(wall, y), 3), round(y, 3)]

        last = self.joists + 1
        return [
            corner(0, self.near),
            corner(last, self.near),
            corner(last, self.far),
            corner(0, self.far),
        ]

    def rectangle(
        self, kind: str, x: float, y: float, width: float, length: float, ident: str, **more: Any
    ) -> None:
        """Add a feature with its corners."""
        corners = [[x, y], [x + width, y], [x + width, y + length], [x, y + length]]
        polygon = [[round(a, 3), round(b, 3)] for a, b in corners]
        self.features.append({"id": ident, "feature": kind, "polygon": polygon, **more})

    def _place(self, joist: int, line: int) -> Json:
        x = self.xs[joist][line] - self.xs[0][line]
        point = [round(self.xs[joist][line], 3), round(self.ys[line], 3)]
        return {"x": round(x, 3), "sd": 0.0 if joist == 0 else 1.2, "point": point}

    def _angle(self, joist: int) -> Json:
        # Of joists that lap, the direction is that of the timbers before the lap.
        last = 1 if self.laps and 0 < joist <= self.joists else -1
        lean = self.xs[joist][last] - self.xs[joist][0]
        angle = math.degrees(math.atan2(lean, self.ys[last] - self.ys[0]))
        return {"angle": round(angle, 4), "angle_sd": 0.04}

    def _wall(self, joist: int) -> Json:
        at = {name: self._place(joist, i) for i, name in enumerate(self.names)}
        return {"index": joist, "at": at, **self._angle(joist)}

    def _joist(self, joist: int) -> Json:
        span = ends = None
        if self.span:
            near, far = ({"value": y, "sd": 1.5} for y in self.span)
            ends = {"near_support": near, "far_support": far}
            span = {"value": round(self.span[1] - self.span[0], 3), "sd": 1.5}
        level = self.levels.get(joist)
        return {
            "index": joist,
            "breadth": {"value": self.breadth[joist], "sd": 0.8},
            "depth": {"value": self.depth, "sd": 2.0},
            "at": self._wall(joist)["at"],
            **self._angle(joist),
            "span": span,
            "ends": ends,
            "bearing": None,
            "level": level and {"near": {"value": level, "sd": 1.1}},
        }

    def _bay(self, bay: int) -> Json:
        at = {}
        for i, name in enumerate(self.names):
            a, b = self.xs[bay][i], self.xs[bay + 1][i]
            gap = b - a - (self.breadth[bay] + self.breadth[bay + 1]) / 2
            inner = 0 < bay < self.joists
            at[name] = {
                "gap": round(gap, 3),
                "sd": 0.9,
                "centres": round(b - a, 3) if inner else None,
                "centres_sd": 1.1 if inner else None,
            }
        return {"bay": bay, "at": at}

    def as_json(self, name: str) -> Json:
        n = self.joists
        return {
            "id": name,
            "title": f"Run {name} (invented)",
            "lines": self.names,
            **({"laps": self.laps} if self.laps else {}),
            "member": {"breadth": 47, "depth": self.depth, "grade": "C16"},
            "walls": {"start": self._wall(0), "end": self._wall(n + 1)},
            "joists": [self._joist(j) for j in range(1, n + 1)],
            "bays": [self._bay(k) for k in range(n + 1)],
            "readings": [],
            "suspects": [],
            "common_cause": None,
            "fit": {"dof": 0, "sigma0": None, "chi2_p": None, "limit": 4.0},
            "nominal": {
                "centres": self.nominal,
                "family": self.nominal and f"{self.nominal:g}",
                "confidence": 0.9 if self.nominal else 0.0,
            },
            "findings": [],
            "next_readings": [],
            "outline": self.outline(),
            "features": sorted(self.features, key=lambda f: str(f["id"])),
            "settled": True,
        }


def as_built(runs: list[Run], draw: random.Random) -> Json:
    """Return the as-built of some runs."""
    return {
        "format": "baywalk.as-built",
        "version": 1,
        "survey": _id(draw),
        "title": "Random loft (invented)",
        "rules": "uk",
        "runs": [run.as_json("ABCDEF"[i]) for i, run in enumerate(runs)],
        "findings": [],
        "settled": True,
    }


def plain(
    joists: int = 8,
    centres: float = 400.0,
    length: float = 3000.0,
    breadth: float = 47.0,
    *,
    first: float = 200.0,
    last: float = 200.0,
) -> Json:
    """Return a loft with nothing out of true: even joists, square walls."""
    xs = [0.0, *(first + i * centres for i in range(joists))]
    xs.append(xs[-1] + last)
    ys = [0.0, length - 600]
    run = Run(
        ys,
        [[x, x] for x in xs],
        [0.0, *[breadth] * joists, 0.0],
        (-300.0, -300.0),
        (length - 300.0, length - 300.0),
    )
    run.nominal = centres
    return as_built([run], random.Random(1))


def uneven(seed: int, joists: int, centres: float, length: float) -> Json:
    """Return a loft with square walls and edges, and joists that stray, lean and differ."""
    draw = random.Random(seed)
    xs, x = [[0.0, 0.0]], draw.uniform(100, 350)
    for _ in range(joists):
        xs.append([x, x + draw.gauss(0, 8)])
        x += min(centres + draw.gauss(0, 12), 598)
    x -= draw.uniform(100, 300)
    xs.append([x, x])
    breadth = [0.0, *(round(47 + draw.uniform(-2, 2), 2) for _ in range(joists)), 0.0]
    run = Run([0.0, length - 600], xs, breadth, (-300.0, -300.0), (length - 300.0, length - 300.0))
    run.nominal = centres
    return as_built([run], draw)


def _run(draw: random.Random, kinds: set[str]) -> Run:
    spacing = draw.choice([400.0, 450.0, 600.0])
    n = draw.randint(4, 13 if spacing < 600 else 9)
    apart = draw.uniform(1500, 4200)
    lines = 3 if "lines" in kinds else 2
    ys = [0.0, *(apart * i / (lines - 1) for i in range(1, lines))]
    lean = draw.uniform(-40, 40) if "skew" in kinds else 0.0
    wall = draw.uniform(-40, 40) if "square" in kinds else 0.0
    scatter = 25.0 if "irregular" in kinds else 3.0
    xs, x = [[0.0, *(wall * y / apart for y in ys[1:])]], draw.uniform(80, 380)
    for _ in range(n):
        bow = [draw.gauss(0, 5) if 0 < i < lines - 1 else 0.0 for i in range(lines)]
        own = lean + draw.gauss(0, 4 if "skew" in kinds else 1)
        xs.append([x + own * y / apart + b for y, b in zip(ys, bow, strict=True)])
        odd = draw.uniform(-120, 60) if "irregular" in kinds and draw.random() < 0.2 else 0.0
        x += min(spacing + draw.gauss(0, scatter) + odd, 700.0)
    x -= draw.uniform(0, spacing / 2)
    tail = draw.uniform(-40, 40) if "square" in kinds else lean
    xs.append([x + 30 + tail * y / apart for y in ys])
    breadth = [0.0, *(round(47 + draw.uniform(-2, 2), 2) for _ in range(n)), 0.0]
    before, beyond = draw.uniform(100, 500), draw.uniform(100, 500)
    out = draw.uniform(-30, 30) if "square" in kinds else 0.0
    run = Run(
        ys,
        xs,
        breadth,
        (-before, -before + out),
        (apart + beyond, apart + beyond - out / 2),
        draw.choice([97.0, 122.0, 147.0, 195.0]),
    )
    run.nominal = spacing if draw.random() < 0.8 else None
    if draw.random() < 0.4:
        run.span = (round(-before - 20, 1), round(apart + beyond + 20, 1))
    if draw.random() < 0.2:
        run.levels = {j: round(210 + draw.gauss(0, 3), 1) for j in draw.sample(range(1, n + 1), 3)}
    return run


def _features(draw: random.Random, run: Run, kinds: set[str]) -> None:
    middle = (run.ys[-1]) / 2
    width = run.xs[-1][0]
    if "opening" in kinds:
        joist = draw.randint(1, run.joists - 1)
        x = run.x(joist, middle) + draw.uniform(25, 90)
        size = (draw.uniform(520, 700), draw.uniform(520, 900))
        if x + size[0] < width - 200:
            run.rectangle("opening", x, middle - draw.uniform(0, 700), *size, _id(draw))
    if "obstacle" in kinds:
        x = draw.uniform(0.1, 0.8) * width
        y = draw.choice([run.near[0], middle + 500])
        run.rectangle("obstacle", x, y, draw.uniform(200, 500), draw.uniform(200, 500), _id(draw))
    if "laid" in kinds:
        deep = draw.uniform(300, 900)
        y = run.near[0] + 12
        first, last = run.xs[0][0] + 15, run.xs[-1][0] - 15
        run.rectangle(
            "laid", first, y, last - first, deep, _id(draw), edge=draw.choice(["tongue", "groove"])
        )


def random_as_built(seed: int, *kinds: str) -> Json:
    """Return an as-built of a random loft; without ``kinds``, what it shows is drawn too."""
    draw = random.Random(seed)
    shown = set(kinds) or {kind for kind in KINDS if draw.random() < 0.3}
    runs = []
    for _ in range(2 if "runs" in shown else 1):
        run = _run(draw, shown)
        _features(draw, run, shown)
        runs.append(run)
    return as_built(runs, draw)


def lapped(
    joists: int = 8,
    centres: float = 400.0,
    *,
    jog: float = 47.0,
    beam: Point = (2500.0, 2700.0),
    length: float = 5400.0,
) -> Json:
    """Return a loft with nothing out of true whose joists lap over a beam, each by a breadth.

    ``beam`` is where the tape lines on both sides of the lap lie [mm].
    """
    xs = [200.0 + i * centres for i in range(joists)]
    end = xs[-1] + 200.0 + jog
    ys = [0.0, *beam, length - 600]
    members = [[0.0] * 4, *([x, x, x + jog, x + jog] for x in xs), [end] * 4]
    breadth = [0.0, *[47.0] * joists, 0.0]
    run = Run(ys, members, breadth, (-300.0, -300.0), (length - 300.0, length - 300.0))
    run.nominal, run.laps = centres, [["middle 1", "middle 2"]]
    return as_built([run], random.Random(1))


def random_lapped(seed: int) -> Json:
    """Return a random loft whose joists lap over a beam: to either side, by a breadth or less."""
    draw = random.Random(f"lapped {seed}")
    spacing, n = draw.choice([400.0, 450.0, 600.0]), draw.randint(4, 11)
    first, over, beyond = draw.uniform(1500, 3200), draw.uniform(100, 380), draw.uniform(1500, 3200)
    ys = [0.0, first, first + over, first + over + beyond]
    breadth = [0.0, *(round(47 + draw.uniform(-2, 2), 2) for _ in range(n)), 0.0]
    side, askew = draw.choice([-1, 1]), draw.random() < 0.3
    xs, x = [], draw.uniform(120, 360)
    for j in range(1, n + 1):
        lean = [draw.gauss(0, 4 if askew else 1) for _ in range(3)]
        # Mostly hard against each other and all to one side; some butt, some lap the other way.
        jog = side * draw.choices([1, -1, 0], [10, 1, 1])[0] * (breadth[j] + draw.uniform(0, 3))
        far = x + lean[0] + jog
        xs.append([x, x + lean[0], far + lean[1] / 4, far + lean[2]])
        x += spacing + draw.gauss(0, 8)
    end = max(row[k] for row in xs for k in range(4)) + draw.uniform(60, 300)
    lean = draw.uniform(-20, 20) if askew else 0.0
    members = [[0.0] * 4, *xs, [end + lean * y / ys[-1] for y in ys]]
    before, past = draw.uniform(100, 500), draw.uniform(100, 500)
    run = Run(ys, members, breadth, (-before, -before), (ys[-1] + past, ys[-1] + past))
    run.nominal = spacing if draw.random() < 0.8 else None
    run.laps = [["middle 1", "middle 2"]]
    if draw.random() < 0.6:
        run.span = (round(-before - 20, 1), round(ys[-1] + past + 20, 1))
    _beside_laps(draw, run, ys)
    return as_built([run], draw)


def _beside_laps(draw: random.Random, run: Run, ys: list[float]) -> None:
    """Put into some lofts a chimney, a hatch between joists, or a deck that is laid already."""
    width = min(run.xs[-1])
    if draw.random() < 0.3:
        y = draw.choice([run.near[0], ys[1] - 100, ys[2] + 600])
        size = draw.uniform(250, 500), draw.uniform(250, 700)
        run.rectangle("obstacle", draw.uniform(0.1, 0.7) * width, y, *size, _id(draw))
    if draw.random() < 0.2:
        joist, y = draw.randint(1, run.joists - 1), draw.uniform(300, ys[1] - 900)
        room = run.x(joist + 1, y) - run.x(joist, y) - 60
        run.rectangle("opening", run.x(joist, y) + 28, y, room, 600, _id(draw))
    if draw.random() < 0.2:
        deep = draw.uniform(300, 900)
        run.rectangle("laid", 15, run.near[0] + 12, width - 30, deep, _id(draw), edge="tongue")
