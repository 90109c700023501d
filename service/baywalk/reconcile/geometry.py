"""What a solved run says of its timbers: positions, sizes, bays, angles, spans, points."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from baywalk.reconcile.network import ENDS, SIDES, Key
from baywalk.reconcile.plane import Line, Spot
from baywalk.reconcile.questions import Figure, Questions

if TYPE_CHECKING:
    from baywalk.reconcile.solve import Solved

Point = tuple[float, float]
Terms = list[tuple[int | None, float]]


@dataclass
class Bay:
    """A bay along one tape line: its clear gap and its centres [mm]; None where not determined."""

    gap: Figure | None
    centres: Figure | None


@dataclass
class Geometry:
    """Every figure of one run; a missing key or None means "not determined by the readings".

    Attributes:
        x: (joist, line) to the centre's place along the line from the start wall [mm].
        points: (joist, line) to plane coordinates [mm].
        breadth, depth: joist to size [mm].
        bays: (bay, line) to gap and centres [mm].
        angles: joist to its direction from square to the first line [degrees], positive where its
            far end lies nearer the end wall.
        spans: joist to clear span [mm]. bearings: (joist, end) to bearing [mm].
        ends: (joist, place) to the distance from the first line along the joist [mm].
        levels: (joist, line) to the distance down from the level line [mm].

    """

    x: dict[tuple[int, str], Figure] = field(default_factory=dict)
    points: dict[tuple[int, str], Point] = field(default_factory=dict)
    breadth: dict[int, Figure] = field(default_factory=dict)
    depth: dict[int, Figure] = field(default_factory=dict)
    bays: dict[tuple[int, str], Bay] = field(default_factory=dict)
    angles: dict[int, Figure] = field(default_factory=dict)
    spans: dict[int, Figure] = field(default_factory=dict)
    bearings: dict[tuple[int, str], Figure] = field(default_factory=dict)
    ends: dict[tuple[int, str], Figure] = field(default_factory=dict)
    levels: dict[tuple[int, str], Figure] = field(default_factory=dict)


class _Measurer:
    """Asks everything of one fit, then sorts the answers."""

    def __init__(self, solved: Solved) -> None:
        self._network, self._fit = solved.network, solved.fit
        self._run = solved.run
        self._useful = solved.network.pack["plane.useful"]
        self._questions = Questions(solved.fit)
        self._simple: dict[str, dict[Key, int]] = {}

    def measure(self) -> Geometry:
        """Return the run's geometry."""
        self._ask_simple()
        bays = self._ask_bays()
        spots = self._ask_spots()
        angles = self._ask_angles()
        answer = self._questions.answer
        out = Geometry()
        for name, asked in self._simple.items():
            into: dict[Any, Figure] = getattr(out, name)
            for key, number in asked.items():
                if (figure := answer(number)) is not None:
                    into[key[0] if len(key) == 1 else key] = figure
        for where, (gap, centres) in bays.items():
            out.bays[where] = Bay(answer(gap), answer(centres))
        for where, (point, (x, y)) in spots.items():
            if answer(x, self._useful) and answer(y, self._useful):
                out.points[where] = point
        limit = math.degrees(self._useful / 1000)
        for joist, asked_angle in angles.items():
            angle = answer(asked_angle)
            if angle is not None and angle.sd < limit:
                out.angles[joist] = angle
        return out

    # --- questions with one or two unknowns -----------------------------------------------

    def _ask_simple(self) -> None:
        ask = self._questions.ask
        x: dict[Key, int] = {}
        for line in self._run.lines:
            x[0, line] = ask([])
        tables: dict[str, dict[Key, int]]
        tables = {"x": x, "breadth": {}, "depth": {}, "ends": {}, "levels": {}, "bearings": {}}
        names = {"along": "ends", "level": "levels", "bearing": "bearings"}
        for key, number in self._network.unknowns.items():
            table = tables.get(names.get(str(key[0]), str(key[0])))
            if table is not None:
                table[key[1:]] = ask([(number, 1.0)])
        tables["spans"] = self._ask_spans()
        self._simple = tables

    def _ask_spans(self) -> dict[Key, int]:
        unknowns = self._network.unknowns
        spans: dict[Key, int] = {}
        for joist in range(self._run.joists + 2):
            near = unknowns.get(("along", joist, "near_support"))
            far = unknowns.get(("along", joist, "far_support"))
            if near is not None and far is not None:
                spans[joist,] = self._questions.ask([(far, 1.0), (near, -1.0)])
        return spans

    def _ask_bays(self) -> dict[tuple[int, str], tuple[int | None, int | None]]:
        out: dict[tuple[int, str], tuple[int | None, int | None]] = {}
        for line in self._run.lines:
            for bay in range(self._run.joists + 1):
                out[bay, line] = (self._ask_gap(bay, line), self._ask_centres(bay, line))
        return out

    def _face(self, joist: int, line: str, face: str) -> Terms | None:
        """Return the terms of a joist's face along a line, or None where never touched."""
        if joist == 0:
            return []
        unknowns = self._network.unknowns
        x = unknowns.get(("x", joist, line))
        breadth = unknowns.get(("breadth", joist))
        if x is None or (breadth is None and joist != self._network.end):
            return None
        side = SIDES[face] if joist != self._network.end else 0.0
        return [(x, 1.0), *([(breadth, side)] if side else [])]

    def _ask_gap(self, bay: int, line: str) -> int | None:
        left, right = self._face(bay, line, "right"), self._face(bay + 1, line, "left")
        if left is None or right is None:
            return None
        return self._questions.ask([*right, *((c, -k) for c, k in left)])

    def _ask_centres(self, bay: int, line: str) -> int | None:
        """Ask for the centre-to-centre distance; a bay beside a wall has none."""
        unknowns = self._network.unknowns
        a, b = unknowns.get(("x", bay, line)), unknowns.get(("x", bay + 1, line))
        if a is None or b is None or bay == 0 or bay == self._run.joists:
            return None
        return self._questions.ask([(b, 1.0), (a, -1.0)])

    # --- questions in the plane -----------------------------------------------------------

    def _spot(self, joist: int, line: str) -> Spot | None:
        unknowns = self._network.unknowns
        x = unknowns.get(("x", joist, line))
        if x is None and joist != 0:
            return None
        if line == self._run.lines[0]:
            return Spot(x, None)
        names = ("origin_x", "origin_y", "direction")
        own = [unknowns.get((name, line)) for name in names]
        if any(n is None for n in own):
            return None
        return Spot(x, Line(*(n for n in own if n is not None)))

    def _ask_spots(self) -> dict[tuple[int, str], tuple[Point, tuple[int, int]]]:
        out = {}
        values = self._fit.values
        for line in self._run.lines:
            for joist in range(self._run.joists + 2):
                spot = self._spot(joist, line)
                if spot is None:
                    continue
                point, slopes, columns = spot.at(values), spot.slopes(values), spot.columns()
                numbers = [
                    self._questions.ask(
                        [(c, s[axis]) for c, s in zip(columns, slopes, strict=True)], point[axis]
                    )
                    for axis in (0, 1)
                ]
                out[joist, line] = (point, (numbers[0], numbers[1]))
        return out

    def _ask_angles(self) -> dict[int, int]:
        """Ask for each joist's direction between the first line and the last that crosses it.

        Of a joist that laps with another beyond, that is the last line before the lap.
        """
        out: dict[int, int] = {}
        for joist in range(self._run.joists + 2):
            lines = self._run.lines_of(joist)
            if len(lines) < 2:
                continue
            first = self._spot(joist, lines[0])
            others = [self._spot(joist, line) for line in reversed(lines[1:])]
            last = next((spot for spot in others if spot is not None), None)
            if first is not None and last is not None:
                out[joist] = self._ask_angle(first, last)
        return out

    def _ask_angle(self, first: Spot, last: Spot) -> int:
        values = self._fit.values
        (ax, ay), (bx, by) = first.at(values), last.at(values)
        dx, dy = bx - ax, by - ay
        square = max(dx * dx + dy * dy, 1.0)
        # d(atan2(dx, dy)) = (dy ddx - dx ddy) / (dx² + dy²)
        gx, gy = math.degrees(dy / square), math.degrees(-dx / square)
        terms: Terms = []
        for spot, sign in ((first, -1.0), (last, 1.0)):
            for c, (sx, sy) in zip(spot.columns(), spot.slopes(values), strict=True):
                terms.append((c, sign * (gx * sx + gy * sy)))
        return self._questions.ask(terms, math.degrees(math.atan2(dx, dy)))


def measure(solved: Solved) -> Geometry:
    """Return every figure of a solved run."""
    return _Measurer(solved).measure()


def along(geometry: Geometry, first_line: str, joist: int, place: str) -> Point | None:
    """Return the plane point [mm] of an end (``near_edge`` …) on a joist, where determined."""
    if place not in ENDS:
        return geometry.points.get((joist, place))
    start = geometry.points.get((joist, first_line))
    distance, angle = geometry.ends.get((joist, place)), geometry.angles.get(joist)
    if start is None or distance is None or angle is None:
        return None
    turn = math.radians(angle.value)
    return (
        start[0] + distance.value * math.sin(turn),
        start[1] + distance.value * math.cos(turn),
    )
