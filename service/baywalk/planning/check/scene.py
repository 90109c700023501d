"""One deck of a plan over its ground: what every part of the checker looks things up in."""

from __future__ import annotations

import string
from dataclasses import dataclass
from functools import cached_property
from itertools import chain
from typing import TYPE_CHECKING, Any

from shapely.geometry import Polygon
from shapely.ops import unary_union

from baywalk.planning.check.area import thin
from baywalk.planning.check.ground import Line, Point, crossing

if TYPE_CHECKING:
    from collections.abc import Iterable

    from baywalk.planning.check.ground import Ground
    from baywalk.planning.check.laid import Laid
    from baywalk.rules import Pack

Area = Any
"""A shapely area, of one part or of several."""

Json = dict[str, Any]

OPPOSITE = {"tongue": "groove", "groove": "tongue", "cut": "cut"}


@dataclass(frozen=True)
class Bay:
    """The space between two neighbouring supports, added joists among them.

    Attributes:
        bay: the bay of the as-built that it is, or is a part of.
        a: what stands on its start-wall side.
        b: what stands on its end-wall side.
        doubled: how much timbers that double either side take from it [mm].
    """

    bay: int
    a: Line
    b: Line
    doubled: tuple[float, float] = (0.0, 0.0)

    @property
    def names(self) -> list[str]:
        """The names of both sides."""
        return [self.a.name, self.b.name]

    def gap(self, middle: tuple[float, float], slope: float) -> float:
        """Return the clear gap along a line of ``slope`` dy/dx through ``middle`` [mm]."""
        (x0, y0), (x1, y1) = (
            crossing(self.a, "right", middle, slope),
            crossing(self.b, "left", middle, slope),
        )
        whole = float(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5) * (1 if x1 > x0 else -1)
        return whole - sum(self.doubled)

    def clear(self, y: float) -> tuple[float, float]:
        """Return both faces at ``y`` [mm]."""
        return self.a.right(y) + self.doubled[0], self.b.left(y) - self.doubled[1]


@dataclass(frozen=True)
class Scene:
    """A deck, its run, the rules, and what is said to be laid of it."""

    deck: Json
    plan: Json
    ground: Ground
    pack: Pack
    told: Laid | None = None

    @cached_property
    def laid_pieces(self) -> frozenset[str]:
        """Ids of the pieces that are laid already."""
        return frozenset(self.told.pieces if self.told else ())

    @cached_property
    def fixed(self) -> frozenset[str]:
        """Ids of the noggins and cleats that are fixed already."""
        return self.told.fixed() if self.told else frozenset()

    def off(self, names: Iterable[str]) -> float:
        """Return by how much what is laid among some pieces may be larger than its board [mm]."""
        return float(self.pack["laid.size"]) if self.laid_pieces & set(names) else 0.0

    def of_course(self, index: int) -> list[str]:
        """Return the ids of a course's pieces."""
        return [piece["id"] for piece in self.deck["pieces"] if piece["course"] == index]

    @cached_property
    def area(self) -> Area:
        """The deck as the plan gives it."""
        area = self.deck["deck"]
        return Polygon(area["outline"], area["holes"])

    @cached_property
    def pieces(self) -> dict[str, Json]:
        """Pieces by id."""
        return {piece["id"]: piece for piece in self.deck["pieces"]}

    @cached_property
    def shapes(self) -> dict[str, Area]:
        """Area of each piece by its id."""
        return {
            piece["id"]: Polygon(piece["polygon"], piece.get("holes", ()))
            for piece in self.deck["pieces"]
        }

    @cached_property
    def laid(self) -> Area:
        """All pieces together."""
        return unary_union(list(self.shapes.values()))

    @cached_property
    def courses(self) -> dict[int, Json]:
        """Courses by index."""
        return {course["index"]: course for course in self.deck["courses"]}

    @cached_property
    def noggins(self) -> dict[str, Json]:
        """Noggins by id."""
        return {noggin["id"]: noggin for noggin in self.deck["noggins"]}

    @cached_property
    def added(self) -> dict[tuple[int, int], Line]:
        """Joists that the plan adds, by bay and count."""
        return {
            (a["bay"], a["n"]): Line(
                self.added_name(a["bay"], a["n"]),
                tuple(
                    sorted(
                        (tuple(p) for p in (a["near"], *chain(*a.get("laps", ())), a["far"])),
                        key=lambda p: p[1],
                    )
                ),
                a["section"]["breadth"],
                tuple((one[1], other[1]) for one, other in a.get("laps", ())),
            )
            for a in self.deck["added_joists"]
        }

    @staticmethod
    def added_name(bay: int, n: int) -> str:
        """Return the name of the n-th joist added in a bay: J4a."""
        return f"J{bay}{string.ascii_lowercase[(n - 1) % 26]}"

    @cached_property
    def joists(self) -> list[Line]:
        """Joists from the start wall, added ones among them."""
        out: list[Line] = []
        for bay in range(len(self.ground.joists) + 1):
            out += [self.ground.joists[bay]] if bay else []
            out += [line for (b, _), line in sorted(self.added.items()) if b == bay]
        return out

    @cached_property
    def bays(self) -> list[Bay]:
        """Bays from the start wall, divided by added joists."""
        lines = [self.ground.start, *self.joists, self.ground.end]
        numbers = [0]
        for bay in range(len(self.ground.joists) + 1):
            numbers += [bay] if bay else []
            numbers += [bay for (b, _) in sorted(self.added) if b == bay]
        return [
            Bay(k, a, b, (self.doubling(a, "right"), self.doubling(b, "left")))
            for k, a, b in zip(numbers, lines[:-1], lines[1:], strict=True)
        ]

    def doubling(self, line: Line, side: str) -> float:
        """Return the breadth of the timber that doubles a joist on one side, 0 for none [mm].

        One timber doubles it for all openings along it.
        """
        found = [
            timber["section"]["breadth"]
            for opening in self.deck["openings"]
            for timber in opening["trimming"]
            if timber["side"] == side and self.ground.joists.get(timber["joist"]) == line
        ]
        return float(max(found, default=0.0))

    @cached_property
    def stopped(self) -> list[list[Line]]:
        """For each opening, the added joists that would stand in it."""
        out = []
        for opening in self.deck["openings"]:
            shape = Polygon(opening["polygon"])
            low, high = shape.bounds[1], shape.bounds[3]
            lines = self.added.values()
            out.append([n for n in lines if not thin(n.strip(low, high).intersection(shape), 1.0)])
        return out

    def gone(self, opening: Json) -> list[Line]:
        """Return the joists that an opening cuts away, those among them that are added last."""
        numbers = opening["joists_cut"]
        found = [self.ground.joists[n] for n in numbers if n in self.ground.joists]
        openings = zip(self.deck["openings"], self.stopped, strict=True)
        return found + [line for own, row in openings if own is opening for line in row]

    @cached_property
    def _cuts(self) -> list[tuple[float, float, list[Line]]]:
        """From where to where each opening cuts joists away, and which [mm]."""
        ys = [[y for _, y in opening["polygon"]] for opening in self.deck["openings"]]
        found = [self.gone(opening) for opening in self.deck["openings"]]
        return [(min(own), max(own), lines) for own, lines in zip(ys, found, strict=True)]

    def cut_at(self, line: Line, y: float) -> bool:
        """Say whether an opening cuts a joist away at a place along it."""
        return any(low < y < high and line in lines for low, high, lines in self._cuts)

    @cached_property
    def bearers(self) -> list[Line]:
        """Everything along the joists that carries boards: joists and what doubles them."""
        out = list(self.joists)
        for line in self.joists:
            for side, sign in (("left", -1), ("right", 1)):
                wide = self.doubling(line, side)
                # The doubling lies against the joist, so its centre is half of both away.
                off = sign * (line.breadth + wide) / 2
                points = tuple((x + off, y) for x, y in line.points)
                out += [Line(f"{line.name} doubled", points, wide)] if wide else []
        return out

    def bay_at(self, x: float, y: float) -> Bay | None:
        """Return the bay that a place lies in; None on a joist or behind a wall."""
        for bay in self.bays:
            x0, x1 = bay.clear(y)
            if x0 <= x <= x1:
                return bay
        return None

    @cached_property
    def ends(self) -> dict[str, str]:
        """What each side of a whole board is as it lies here: tongue or groove by side.

        Face up, a board can only be turned end for end, which swaps all four.
        """
        # The groove looks back at what is laid, the tongue leads.
        near = "groove" if self.deck["laid_from"] == "near" else "tongue"
        continues = self.deck["deck"]["continues"]
        # Onto a groove only a tongue fits: the boards lie turned end for end.
        if continues and continues["edge"] == "groove":
            near = OPPOSITE[near]
        # Tongues meet at one corner of a board: turning it takes them both along.
        left = near if self.pack["board.tongue"] == "right" else OPPOSITE[near]
        return {"near": near, "far": OPPOSITE[near], "left": left, "right": OPPOSITE[left]}

    @cached_property
    def board(self) -> Json:
        """The board used."""
        found: Json = self.deck["deck"]["board"]
        return found


def touching(a: Area, b: Area, within: float) -> list[tuple[Point, Point]]:
    """Return the stretches along which two areas lie against each other, both ends of each.

    Args:
        a: an area.
        b: another one.
        within: how far apart they may be and still touch [mm].
    """
    (x0, y0, x1, y1), (u0, v0, u1, v1) = a.bounds, b.bounds
    if x0 - within > u1 or u0 - within > x1 or y0 - within > v1 or v0 - within > y1:
        return []
    shared = a.exterior.intersection(b.buffer(within, join_style="mitre"))
    return [
        (part.coords[0], part.coords[-1])
        for part in getattr(shared, "geoms", [shared])
        if part.geom_type == "LineString" and part.length > within * 4
    ]
