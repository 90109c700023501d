"""The network of one run: its unknowns, and a row for every reading that stands.

Unknowns: the centre of each joist and of the end wall along each tape line; each joist's breadth;
each further line's place; each tape's scale; and, where they were read, supports and edges along
a joist, depths, levels and bearings.
"""

from __future__ import annotations

import statistics
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from baywalk.reconcile.equations import BORDER, Equations, Floats
from baywalk.reconcile.plane import Line, Spot, between
from baywalk.reconcile.rounding import steady
from baywalk.reconcile.weights import Tape, scale_sigma, sigma, tape_of

if TYPE_CHECKING:
    from baywalk.fieldbook import Run, Survey
    from baywalk.rules import Pack

Entry = Mapping[str, Any]
Key = tuple[Any, ...]

READING_KINDS = ("across", "along", "diagonal", "breadth", "depth", "level", "bearing")
"""The kinds of entry that hold a measured length."""

SIDES = {"left": -0.5, "centre": 0.0, "right": 0.5, "face": 0.0}
"""Where a face lies, as a share of the breadth from the joist's centre."""

ENDS = ("near_edge", "near_support", "far_support", "far_edge")
"""The places along a joist that are not tape lines."""

BEARINGS = ("near", "far")
"""The ends at which a joist bears."""

_GUESS_CENTRES = 400.0
_GUESS_APART = 3000.0
_ALIKE = 250.0
"""Lengths this near to each other [mm] are all good enough to start from."""


class Misplaced(Exception):  # noqa: N818 - a statement about a reading, not a failure
    """A reading that has no place in its run; the message says why, in plain words."""


class Network:
    """Equations of one run, and the way back from them to joists and readings.

    Attributes:
        equations: the rows and unknowns.
        unknowns: key to unknown number; keys are ("x", joist, line), ("breadth", joist),
            ("origin_x" | "origin_y" | "direction", line), ("scale", tape),
            ("along", joist, place), ("depth", joist), ("level", joist, line),
            ("bearing", joist, end), ("usual",).
        rows: id of each reading placed to its row number.
        misplaced: id of each reading that could not be placed to the reason.
        kept: ids of readings that a person stands by, whatever the others say.

    """

    def __init__(self, survey: Survey, run: Run, pack: Pack) -> None:
        """Build the network from the readings of ``run`` that stand."""
        self.run, self.pack = run, pack
        self.end = run.joists + 1
        self.equations = Equations()
        self.unknowns: dict[Key, int] = {}
        self.rows: dict[str, int] = {}
        self.entries: dict[str, Entry] = {}
        self.misplaced: dict[str, str] = {}
        self.kept = _kept(survey)
        self.tape_usual = survey.tape
        self._builders: dict[str, Callable[[Entry], int]] = {
            "across": self._across,
            "along": self._along,
            "diagonal": self._diagonal,
            "level": self._level,
        }
        self._usual: dict[bool, tuple[int, float]] = {}
        self._centres: dict[str, list[int]] = {line: [0] * (self.end + 1) for line in run.lines}
        self._breadths = [0] * (self.end + 1)
        # A slip of the decimal point must not become a lever that bends the scale of all others.
        self._longest = float(pack["tape.longest"]) / 1000
        self._guess_breadth = float(run.member.get("breadth") or 0.0)
        self._lines = {name: i for i, name in enumerate(run.lines)}
        self._place = {name: i + 2 for i, name in enumerate(run.lines)}
        self._place |= {"near_edge": 0, "near_support": 1}
        self._place |= {"far_support": len(run.lines) + 2, "far_edge": len(run.lines) + 3}
        for entry in survey.entries:
            if entry.get("run") == run.id and entry["kind"] in READING_KINDS:
                self.entries[entry["id"]] = entry
                if entry["id"] in survey.standing:
                    self._add(entry)

    def _add(self, entry: Entry) -> None:
        try:
            build = self._builders.get(entry["kind"], self._own)
            self.rows[entry["id"]] = build(entry)
        except Misplaced as reason:
            self.misplaced[entry["id"]] = str(reason)

    # --- unknowns -------------------------------------------------------------------------

    def _unknown(self, key: Key, start: float, place: int = BORDER) -> int:
        number = self.unknowns.get(key)
        if number is None:
            number = self.unknowns[key] = self.equations.unknown(start, place)
        return number

    def passive(self) -> list[int]:
        """Return the rows that are no readings: a tape's scale, the usual timber."""
        readings = set(self.rows.values())
        return [r for r in range(len(self.equations.read)) if r not in readings]

    def position(self, joist: int, line: str) -> int | None:
        """Return the unknown of a joist's centre along a line; None for the start wall."""
        return self._centre(joist, line) if joist else None

    def _centre(self, joist: int, line: str) -> int:
        number = self._unknown(("x", joist, line), joist * _GUESS_CENTRES, joist)
        self._centres[line][joist] = number
        return number

    def spot(self, joist: int, line: str) -> Spot:
        """Return the point where a joist or wall face crosses a line."""
        return Spot(self.position(joist, line), self._line(line))

    def _line(self, name: str) -> Line | None:
        if self._lines[name] == 0:
            return None
        apart = self._lines[name] * _GUESS_APART
        return Line(
            self._unknown(("origin_x", name), 0.0),
            self._unknown(("origin_y", name), apart),
            self._unknown(("direction", name), 0.0),
        )

    def _scale(self, tape: Tape) -> int:
        key = ("scale", tape.name)
        if key not in self.unknowns:
            number = self._unknown(key, 0.0)
            self.equations.row([number], [1.0], 0.0, scale_sigma(tape, self.pack))
        return self.unknowns[key]

    # --- checks of what a reading names ---------------------------------------------------

    def _joist(self, number: int) -> int:
        if not 0 <= number <= self.end:
            raise Misplaced(f"J{number} is beyond the run, which has {self.run.joists} joists")
        return number

    def _timber(self, entry: Entry) -> int:
        number = self._joist(entry["joist"])
        if number in (0, self.end):
            raise Misplaced("a wall has no such size")
        return number

    def _known_line(self, name: str) -> str:
        if name not in self._lines:
            raise Misplaced(f"the run has no tape line “{name}”")
        return name

    def _tape(self, entry: Entry, *, hooked: bool) -> tuple[int, float]:
        """Return the unknown of the tape's scale, and the reading's standard deviation [mm]."""
        # Nearly all readings are of the usual tape, read in the usual way: worked out once.
        if entry.get("tape") is None and not entry.get("resolution"):
            known = self._usual.get(hooked)
            if known is None:
                known = self._usual[hooked] = self._own_tape(entry, hooked=hooked)
            return known
        return self._own_tape(entry, hooked=hooked)

    def _own_tape(self, entry: Entry, *, hooked: bool) -> tuple[int, float]:
        tape = tape_of(entry, self.tape_usual, self.pack)
        return self._scale(tape), sigma(entry, tape, self.pack, hooked=hooked)

    def _metres(self, length: float) -> float:
        """Return the factor of a tape's scale in a length [mm]."""
        return min(length / 1000, self._longest)

    # --- rows -----------------------------------------------------------------------------

    def _across(self, entry: Entry) -> int:
        # Most readings are of this kind: its unknowns are looked up by number, without their keys.
        line, (j, face), (k, other) = entry["line"], entry["from"], entry["to"]
        centres, breadths, end = self._centres.get(line, ()), self._breadths, self.end
        if not centres or not 0 <= j <= end or not 0 <= k <= end:
            self._known_line(line)
            self._joist(j if not 0 <= j <= end else k)
        a = SIDES[face] if 0 < j < end else 0.0
        b = SIDES[other] if 0 < k < end else 0.0
        if (j, a) >= (k, b):
            if (j, a) == (k, b):
                raise Misplaced("it is read from a face to the same face")
            j, a, k, b = k, b, j, a
        scale, spread = self._tape(entry, hooked=face != "centre")
        value = float(entry["value"])
        columns, factors = [scale], [self._metres(value)]
        if j == k:
            # Across one joist its centre falls out; both faces share its breadth.
            columns += centres[j] or self._centre(j, line), breadths[j] or self._breadth(j)
            factors += 0.0, b - a
            return self.equations.row(columns, factors, value, spread)
        if j:
            columns.append(centres[j] or self._centre(j, line))
            factors.append(-1.0)
            if a:
                columns.append(breadths[j] or self._breadth(j))
                factors.append(-a)
        columns.append(centres[k] or self._centre(k, line))
        factors.append(1.0)
        if b:
            columns.append(breadths[k] or self._breadth(k))
            factors.append(b)
        return self.equations.row(columns, factors, value, spread)

    def _breadth(self, joist: int) -> int:
        number = self._unknown(("breadth", joist), self._guess_breadth, joist)
        self._breadths[joist] = number
        return number

    def _own(self, entry: Entry) -> int:
        """Add a size of one joist: breadth, depth or bearing."""
        joist = self._timber(entry)
        _, spread = self._tape(entry, hooked=True)
        if entry["kind"] == "breadth":
            number = self._breadth(joist)
        else:
            key = (entry["kind"], joist, *([entry["end"]] if entry["kind"] == "bearing" else []))
            number = self._unknown(key, 0.0, joist)
        return self.equations.row([number], [1.0], float(entry["value"]), spread)

    def _level(self, entry: Entry) -> int:
        joist, line = self._timber(entry), self._known_line(entry["line"])
        _, spread = self._tape(entry, hooked=True)
        number = self._unknown(("level", joist, line), 0.0, joist)
        return self.equations.row([number], [1.0], float(entry["value"]), spread)

    def _diagonal(self, entry: Entry) -> int:
        spots = []
        for end in ("from", "to"):
            joist, line = entry[end]
            spots.append(self.spot(self._joist(joist), self._known_line(line)))
        if spots[0] == spots[1]:
            raise Misplaced("it is read from a point to the same point")
        scale, spread = self._tape(entry, hooked=False)
        value = float(entry["value"])
        columns, curve = between(spots[0], spots[1], [(scale, self._metres(value))])
        return self.equations.curve(columns, curve, value, spread)

    def _along(self, entry: Entry) -> int:
        joist = self._joist(entry["joist"])
        for end in ("from", "to"):
            if entry[end] not in self._place:
                raise Misplaced(f"the run has no tape line “{entry[end]}”")
        first, last = sorted((entry["from"], entry["to"]), key=self._place.__getitem__)
        if first == last:
            raise Misplaced("it is read from a place to the same place")
        scale, spread = self._tape(entry, hooked=first in ENDS or last in ENDS)
        extra = [(scale, self._metres(float(entry["value"])))]
        spots: list[Spot] = []
        for place, sign in ((first, -1.0), (last, 1.0)):
            if place in ENDS:
                extra.append((self._end(joist, place), sign))
            elif place == last and (first, last) in self.run.lapped:
                # Across a lap one timber is measured, straight on, not from the one to the other.
                spots.append(Spot(self.position(joist, first), self._line(last)))
            elif place != self.run.lines[0]:
                spots.append(self.spot(joist, place))
        return self._along_row(entry, joist, spots, extra, spread, line_is_last=last not in ENDS)

    def _end(self, joist: int, place: str) -> int:
        """Return the unknown of an end along a joist, measured from the first tape line [mm]."""
        return self._unknown(("along", joist, place), 0.0, joist)

    def _along_row(
        self,
        entry: Entry,
        joist: int,
        spots: list[Spot],
        extra: list[tuple[int, float]],
        spread: float,
        *,
        line_is_last: bool,
    ) -> int:
        """Add the row of an along reading: linear unless it meets a line beyond the first."""
        value = float(entry["value"])
        if not spots:
            return self.equations.row([c for c, _ in extra], [k for _, k in extra], value, spread)
        sign = 1.0
        if len(spots) == 1:
            spots.insert(0, self.spot(joist, self.run.lines[0]))
            # From the further line out to a far end the chord counts backwards.
            sign = 1.0 if line_is_last else -1.0
        columns, curve = between(spots[0], spots[1], extra, sign)
        return self.equations.curve(columns, curve, value, spread)

    # --- first guess of the plane ---------------------------------------------------------

    def settle(self, values: Floats) -> None:
        """Place each further line where the along readings say [mm]; one may have slipped."""
        first = self.run.lines[0]
        for line in self.run.lines[1:]:
            number = self.unknowns.get(("origin_y", line))
            apart = [
                float(e["value"])
                for e in map(self.entries.__getitem__, self.rows)
                if e["kind"] == "along" and {e["from"], e["to"]} == {first, line}
            ]
            if number is None or not apart:
                continue
            values[number] = statistics.median(apart)
            if max(apart) - min(apart) > _ALIKE:
                trials = dict.fromkeys((values[number], min(apart), max(apart)))
                values[number] = min(trials, key=lambda y: self._misfit(values, number, y))

    def _misfit(self, values: Floats, number: int, trial: float) -> float:
        """Return how far the curved rows miss in all, with one unknown at a trial value [mm]."""
        values[number] = trial
        read = self.equations.read
        # Sums of sizes, not of squares: a single slip must not choose the place.
        curves = self.equations.curves.items()
        return steady(sum(abs(curve(values)[0] - read[row]) for row, curve in curves))


def _kept(survey: Survey) -> frozenset[str]:
    """Return the readings that someone looked at and kept."""
    return frozenset(
        str(entry.get("target"))
        for entry in survey.entries
        if entry["kind"] == "keep" and entry["id"] in survey.standing
    )
