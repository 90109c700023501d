"""How far joists stand apart, and so how wide a strip of floor each one carries [mm]."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from baywalk.capacity.model import Figure

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.capacity.node import Node

Limits = "Mapping[str, Sequence[float]]"


@dataclass
class Spaces:
    """The bays of a run.

    Attributes:
        joists: numbers of the first and the last joist.
        between: bay to its greatest centres over the tape lines [mm].
        beside: joist to the distance from its centre to the wall beside it [mm].
        across: from wall to wall [mm]; None where not known.
        borne: sides on which the deck's edge is borne at the wall, 0 start and 1 end.
        doubtful: bays that are as wide as they are for want of a joist's place.

    """

    joists: tuple[int, int] = (1, 0)
    between: dict[int, Figure] = field(default_factory=dict)
    beside: dict[int, Figure] = field(default_factory=dict)
    across: float | None = None
    borne: frozenset[int] = frozenset()
    doubtful: set[int] = field(default_factory=set)

    def centres(self, bay: int) -> float | None:
        """Return the centres of a bay between two joists [mm]; None beside a wall or unknown."""
        known = self.between.get(bay)
        return None if known is None else known.value

    def width(self, joist: int) -> Figure | None:
        """Return the width of floor that a joist carries [mm]; None where nothing says.

        Half of each neighbouring bay, centre to centre; beside a wall the whole of that bay.
        """
        halves = [self._half(joist, side) for side in (0, 1)]
        known = [half for half in halves if half is not None]
        if not known:
            return None
        if len(known) == 1:
            # A side nobody measured is taken as wide as the run's widest bay, but not as none.
            widest = max(self.between.values(), default=None)
            if widest is None:
                return None
            known.append(Figure(widest.value / 2, widest.sd / 2))
        return Figure(known[0].value + known[1].value, math.hypot(known[0].sd, known[1].sd))

    def _half(self, joist: int, side: int) -> Figure | None:
        """Return what is carried to the left (0) or the right (1) of a joist [mm]."""
        if joist == self.joists[side]:
            wall = self.beside.get(side)
            # The deck's edge on a bearer of its own leaves the joist half of that bay.
            share = 0.5 if side in self.borne else 1.0
            return None if wall is None else Figure(wall.value * share, wall.sd * share)
        bay = self.between.get(joist - 1 + side)
        return None if bay is None else Figure(bay.value / 2, bay.sd / 2)

    def cautions(self, joist: int) -> list[str]:
        """Say where a joist's width of floor rests on a bay that nobody measured."""
        loose = [
            f"A joist beside J{joist} has no place along the tape line; it is not counted on."
            for bay in (joist - 1, joist)
            if bay in self.doubtful
        ]
        missing = [side for side in (0, 1) if self._half(joist, side) is None]
        if len(missing) != 1 or self.width(joist) is None:
            return loose
        where = "start" if missing[0] == 0 else "end"
        return [
            *loose,
            (
                f"The bay of J{joist} towards the {where} wall was not measured; the run's widest "
                "bay is taken for it."
            ),
        ]


def spaces(
    run: Node,
    joists: Mapping[int, Node],
    breadths: Mapping[int, float],
    limits: Mapping[str, Sequence[float]],
) -> Spaces:
    """Return the bays of a run, from what it says of its bays or else of its joists' places.

    ``breadths`` [mm] turn a clear gap into centres, where only that is known.
    """
    order = sorted(joists)
    out = Spaces((order[0], order[-1]) if order else (1, 0))
    gaps = _from_bays(run, out, limits)
    places = {index: _places(node, limits) for index, node in joists.items()}
    end = _places(run.at("walls").at("end"), limits) if run.at("walls") else {}
    _from_places(out, order, places, joists)
    if order:
        _walls(out, places, end, joists)
        _from_gaps(out, gaps, breadths)
    return out


def _from_bays(run: Node, out: Spaces, limits: Mapping[str, Sequence[float]]) -> dict[int, Figure]:
    """Take the centres that bays give, and return the widest clear gap of each bay [mm]."""
    gaps: dict[int, Figure] = {}
    for bay in run.at("bays").each():
        number = bay.at("bay").whole((0, 100_000))
        for _, line in bay.at("at").members():
            for table, name, sd in ((out.between, "centres", "centres_sd"), (gaps, "gap", "sd")):
                value = line.at(name)
                if value:
                    spread = line.at(sd).number(limits["sd"]) if line.at(sd) else 0.0
                    _widest(table, number, [Figure(value.number(limits[name]), spread)])
    return gaps


def _from_places(
    out: Spaces,
    order: Sequence[int],
    places: Mapping[int, Mapping[str, Figure]],
    joists: Mapping[int, Node],
) -> None:
    """Take the centres that the joists' places give, where the bays gave none.

    Where a joist between two others has no place, it is as if it were not there: the two carry
    the whole of what lies between them.
    """
    found: dict[int, Figure] = {}
    placed = [index for index in order if places[index]]
    # Neighbours along the line, with whatever stands unplaced between them left out.
    for a, b in itertools.pairwise(placed):
        apart = _apart(places[a], places[b], joists[b])
        for bay in {a, b - 1}:
            _widest(found, bay, apart)
            out.doubtful |= {bay} if b > a + 1 and bay not in out.between else set()
    out.between = {**found, **out.between}


def _from_gaps(out: Spaces, gaps: Mapping[int, Figure], breadths: Mapping[int, float]) -> None:
    """Turn clear gaps into centres, and into the distance to a wall, where nothing else says."""
    first, last = out.joists
    for bay, gap in gaps.items():
        halves = [breadths[joist] / 2 for joist in (bay, bay + 1) if joist in breadths]
        value = Figure(gap.value + sum(halves), gap.sd)
        if bay == 0 and first == 1:
            out.beside.setdefault(0, value)
        elif bay == last:
            out.beside.setdefault(1, value)
        elif bay not in out.between and len(halves) == 2:
            out.between[bay] = value


def _places(node: Node, limits: Mapping[str, Sequence[float]]) -> dict[str, Figure]:
    """Return a joist's or wall's place along each tape line from the start wall [mm]."""
    if not node:
        return {}
    out = {}
    for name, line in node.at("at").members():
        x, sd = line.at("x"), line.at("sd")
        if x:
            out[name] = Figure(x.number(limits["x"]), sd.number(limits["sd"]) if sd else 0.0)
    return out


def _apart(a: Mapping[str, Figure], b: Mapping[str, Figure], later: Node) -> list[Figure]:
    """Return the centres of two neighbours on each tape line that both lie on [mm]."""
    out = []
    for line in a.keys() & b.keys():
        value = b[line].value - a[line].value
        if value <= 0:
            later.at("at").at(line).at("x").fail("must be more than that of the joist before it")
        out.append(Figure(value, math.hypot(a[line].sd, b[line].sd)))
    return out


def _widest(table: dict[int, Figure], key: int, found: Sequence[Figure]) -> None:
    """Keep the widest of what was found: where a bay tapers, the joist is held for its wide end."""
    for figure in found:
        if key not in table or figure.value > table[key].value:
            table[key] = figure


def _walls(
    out: Spaces,
    places: Mapping[int, Mapping[str, Figure]],
    end: Mapping[str, Figure],
    joists: Mapping[int, Node],
) -> None:
    first, last = out.joists
    _widest(out.beside, 0, list(places[first].values()) if first == 1 else [])
    for line in places[last].keys() & end.keys():
        beyond = end[line].value - places[last][line].value
        if beyond < 0:
            joists[last].at("at").at(line).at("x").fail("lies beyond the end wall")
        spread = math.hypot(end[line].sd, places[last][line].sd)
        _widest(out.beside, 1, [Figure(beyond, spread)])
    out.across = max((figure.value for figure in end.values()), default=None)
