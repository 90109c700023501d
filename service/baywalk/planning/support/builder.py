"""All noggins of a deck while they are being set out: no two of them in one place."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from shapely import Polygon

from baywalk.planning.ground import Bay, Member
from baywalk.planning.support.noggins import Noggin, Section, across

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.ground import Ground
    from baywalk.planning.trimming import Opening
    from baywalk.rules import Pack

_REACH = 1.0
"""How near a noggin's edge and the end of a joint must lie to count as one [mm]."""
_PARALLEL = 1e-3
"""Slopes within this of one another are one [-]."""
_SAME = 0.05
"""Lengths within this of one another are one: coordinates are rounded [mm]."""


class Builder:
    """All noggins of a deck while they are being set out."""

    def __init__(
        self,
        ground: Ground,
        pack: Pack,
        size: Section,
        openings: Sequence[Opening] = (),
        fixed: Sequence[Noggin] = (),
    ) -> None:
        """Take the ground, the rules, the noggins' section, openings, and noggins ``fixed``."""
        self.ground, self.pack, self.size = ground, pack, size
        self.openings = tuple(openings)
        self.trimmers = tuple(trimmer for o in openings for trimmer in o.trimmers)
        self.fixed = tuple(fixed)
        self.noggins: list[Noggin] = list(fixed)

    def add(self, noggin: Noggin) -> int:
        """Add a noggin and return its place in the list; one that is there already serves both."""
        for k, there in enumerate(self.noggins):
            if there.bay == noggin.bay and _same(there, noggin):
                for name in noggin.serves:
                    self.noggins[k] = self.noggins[k].serving(name)
                return k
        self.noggins.append(noggin)
        return len(self.noggins) - 1

    def crossing(self, x: float, low: float = -math.inf, high: float = math.inf) -> list[int]:
        """Return the places of the noggins across that reach over ``x`` from low to high [mm]."""
        return [
            k
            for k, n in enumerate(self.noggins)
            if n.over(x) and low < n.at(x) + n.thick and n.at(x) - n.thick < high
        ]

    def room(self, bay: Bay, x: float, y: float) -> Bay:
        """Return the part of a bay, parted by timbers along it, in which a place lies [mm]."""
        left, right, half = bay.left, bay.right, self.size.breadth / 2
        for k, noggin in enumerate(self.noggins):
            low, high = noggin.band
            if noggin.x is None or not low - half < y < high + half:
                continue
            side = Member(
                str(k),
                bay.number,
                ((noggin.x, low), (noggin.x, high)),
                noggin.section.breadth,
                noggin.section.depth,
                timber=True,
            )
            if left.right(y) < noggin.x < x:
                left = side
            elif x <= noggin.x < right.left(y):
                right = side
        return replace(bay, left=left, right=right)

    def under(self, bay: Bay, x: float, y: float, inward: int, noggin: Noggin) -> int | None:
        """Return the noggin that bears an edge at a place, setting one where there is none [mm].

        ``inward`` is the direction of y in which lies what is borne, ``noggin`` what is set where
        nothing is in its way. Else it goes against what is, or that bears the edge as well. None
        where a trimmer bears it, or where there is no room.
        """
        half = self.size.breadth / 2
        bands = [t.band for t in self.trimmers if t.x0 - 1 <= x <= t.x1 + 1]
        if any(self._far_enough((a + b) / 2 - y, (b - a) / 2, inward) for a, b in bands):
            return None
        there = sorted(self.crossing(x), key=lambda k: abs(self.noggins[k].at(x) - y))
        bearing = [k for k in there if self._bears(self.noggins[k], x, y, inward)]
        # What is fixed stays, as long as the end lies over it at all.
        over = [k for k in there if abs(self.noggins[k].at(x) - y) <= half + _SAME]
        bearing += [k for k in over if k < len(self.fixed)]
        if bearing:
            return self._serving(bearing[0], noggin)
        if self._free(noggin):
            return self.add(noggin)
        others = [self.noggins[k] for k in there]
        met = [(n.at(x), n.thick + half * math.hypot(1, n.slope), n.slope) for n in others]
        met += [((a + b) / 2, (b - a) / 2 + half, 0.0) for a, b in bands]
        for at, off, slope in met:
            for place in (at + inward * off, at - inward * off):
                beside = self._beside(bay, x, place, slope, noggin)
                near = beside and abs(place - y) <= half + _SAME and self._free(beside)
                if beside and near and not self.hangs(beside) and not self.in_opening(beside):
                    return self.add(beside)
        return self._serving(over[0], noggin) if over else None

    def at_edge(self, noggin: Noggin, inward: int) -> int:
        """Add a noggin under the deck's edge, moved outwards where another is in its way.

        ``inward`` is the direction of y in which the deck lies. Another that bears the edge as well
        serves it.
        """
        slack = self.size.breadth - self.pack["noggin.edge.bearing"]
        (x0, _), (x1, _) = noggin.ends
        x = (x0 + x1) / 2
        if self._free(noggin):
            return self.add(noggin)
        for k in self.crossing(x):
            other, off = self.noggins[k], self.noggins[k].thick + noggin.thick
            # One that stands elsewhere in the bay is in nobody's way.
            far = abs(noggin.y - other.at(x)) >= off
            if far or abs(other.slope - noggin.slope) > _PARALLEL:
                continue
            if -_SAME <= (noggin.y - other.at(x)) * inward <= slack:
                return self._serving(k, noggin)
            moved = self._beside(noggin.bay, x, other.at(x) - inward * off, other.slope, noggin)
            if moved and (noggin.y - moved.y) * inward <= slack and self._free(moved):
                return self.add(moved)
        return self.add(noggin)

    def fixed_along(self, noggin: Noggin) -> bool:
        """Say whether a timber along the joists that is fixed bears the edge in its place."""
        slack = self.size.breadth - self.pack["noggin.edge.bearing"]
        low, high = noggin.band
        for k, there in enumerate(self.fixed):
            if there.x is None or noggin.x is None or there.bay.number != noggin.bay.number:
                continue
            if abs(there.x - noggin.x) > slack:
                continue
            y0, y1 = there.band
            if y0 - self.size.breadth <= low and high <= y1 + self.size.breadth:
                self._serving(k, noggin)
                return True
        return False

    def hangs(self, noggin: Noggin) -> bool:
        """Say whether an end of a noggin across would be where an opening cuts its joist away."""
        # What only touches a trimmer stands beside it.
        low, high = noggin.y - noggin.thick + _REACH, noggin.y + noggin.thick - _REACH
        sides = (noggin.bay.left, noggin.bay.right)
        return any(o.gone(side, low, high) for o in self.openings for side in sides)

    def in_opening(self, noggin: Noggin) -> bool:
        """Say whether a noggin across would stand out into an opening further than it may."""
        (xa, ya), (xb, yb) = noggin.ends
        half = noggin.thick
        body = Polygon([(xa, ya - half), (xb, yb - half), (xb, yb + half), (xa, ya + half)])
        shapes = [opening.polygon for opening in self.openings]
        least = (self.pack["opening.edge"] - _SAME) / 2
        return any(
            not shape.intersection(body).buffer(-least, join_style="mitre").is_empty
            for shape in shapes
        )

    def _beside(self, bay: Bay, x: float, y: float, slope: float, like: Noggin) -> Noggin | None:
        """Return a noggin that crosses ``x`` at ``y`` with a slope, for what another is for."""
        middle = (bay.left.right(y) + bay.right.left(y)) / 2
        y += slope * (middle - x)
        found = across(self.ground, bay, y, like.use, self.size, self.pack, slope)
        return replace(found, serves=like.serves, frame=like.frame) if found else None

    def _serving(self, place: int, noggin: Noggin) -> int:
        for name in noggin.serves:
            self.noggins[place] = self.noggins[place].serving(name)
        return place

    def _bears(self, noggin: Noggin, x: float, y: float, inward: int) -> bool:
        """Say whether a noggin bears an edge, and far enough on the side where its board lies."""
        return self._far_enough(noggin.at(x) - y, noggin.section.breadth / 2, inward)

    def _far_enough(self, off: float, half: float, inward: int) -> bool:
        least = self.pack["noggin.edge.bearing"]
        return abs(off) <= half + _SAME and off * inward + half >= least - _SAME

    def _free(self, noggin: Noggin) -> bool:
        """Say whether no other noggin across, and no trimmer, stands where one would."""
        (x0, _), (x1, _) = noggin.ends
        for x in (x0, x1):
            low, high = noggin.at(x) - noggin.thick + 1, noggin.at(x) + noggin.thick - 1
            middle = (x0 + x1) / 2
            others = [self.noggins[k] for k in self.crossing(middle)]
            if any(n.at(x) - n.thick < high and low < n.at(x) + n.thick for n in others):
                return False
            bands = [t.band for t in self.trimmers if t.x0 - 1 <= middle <= t.x1 + 1]
            if any(a < high and low < b for a, b in bands):
                return False
        return True


def _same(one: Noggin, other: Noggin) -> bool:
    if (one.x is None) != (other.x is None):
        return False
    if one.x is not None and other.x is not None and abs(one.x - other.x) > _REACH:
        return False
    return abs(one.y - other.y) <= _REACH and abs(one.slope - other.slope) < _PARALLEL
