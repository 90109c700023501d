"""What stands between two joists on the set-out sheet, and the room that it needs on paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from baywalk.sheets import lengths, letters
from baywalk.sheets.ink import SMALL

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.sheets.plan_parts import Deck, Timber


JOIST = 3.0


LANE = 7.5


CLEAT = 4.0


@dataclass(frozen=True)
class Bay:
    """What stands between two joists, and the room that its figures need on paper [mm].

    ``marks`` are the noggins across with their places along both joists [mm]; ``along`` those
    that run along the joists; ``cleats`` those on the left joist's and on the right one's side.
    """

    left: Timber
    right: Timber
    marks: list[tuple[Mapping[str, Any], float, float]]
    along: list[Mapping[str, Any]]
    cleats: dict[str, list[Mapping[str, Any]]]
    units: str
    scale: int

    def figure(self, side: int) -> float:
        """Return the room of the figures beside the left joist (0) or the right one (1) [mm]."""
        texts = [self.say(m[2] if side else m[1]) for m in self.marks]
        return _widest(texts) + 2.5

    def lane(self, side: str) -> float:
        """Return the room of the cleats' names on one side, those beside each other too [mm]."""
        spans = [
            self.reach(self.marked(cleat), 0.0, self.lettered(cleat)) for cleat in self.cleats[side]
        ]
        return CLEAT * len(_columns(spans))

    def marked(self, cleat: Mapping[str, Any]) -> float:
        """Return about where along its joist a cleat's middle lies [mm]."""
        return self.left.place(cleat["y"])

    def lettered(self, cleat: Mapping[str, Any]) -> float:
        """Return how long a cleat's number and length are, written beside it [mm]."""
        return _widest([self.called(cleat)]) + 1

    def reach(self, middle: float, long: float, lettered: float) -> tuple[float, float]:
        """Return from where to where along the joists a timber or its longer words reach [mm].

        Words never reach below the near wall: there they begin at it.
        """
        half = max(long, lettered * self.scale) / 2
        centre = max(middle, half + min(self.left.base, self.right.base))
        return centre - half, centre + half

    @property
    def name(self) -> float:
        """Return the room of the noggins' names [mm]."""
        return _widest([self.called(m[0]) for m in self.marks]) * 1.12 + 2

    @property
    def width(self) -> float:
        """Return the room of the whole bay [mm]."""
        lanes = self.lane("right") + self.lane("left") + (LANE * len(self.columns()))
        return max(16.0, self.figure(0) + self.name + self.figure(1) + lanes) + JOIST

    def columns(self) -> list[list[Mapping[str, Any]]]:
        """Return the timbers along the joists in columns, none beside another in one column."""
        order = sorted(self.along, key=lambda n: n["y"])
        spans = []
        for one in order:
            lettered = max(_widest([self.called(one)]) * 1.12, _widest([self.off(one)])) + 1
            middle = self.left.place(one["y"])
            spans.append(self.reach(middle, float(one["length"]), lettered))
        return [[order[k] for k in column] for column in _columns(spans)]

    def say(self, length: float) -> str:
        """Return a length [mm] as it is written here."""
        return lengths.say(length, self.units)

    def called(self, noggin: Mapping[str, Any]) -> str:
        """Return a noggin's number and its length."""
        return f"{noggin['id']}: {self.say(noggin['length'])}"

    def off(self, noggin: Mapping[str, Any]) -> str:
        """Return how far the centre of a timber along lies off the left joist, and its frame."""
        spot = self.left.crossing(noggin["y"])
        length = self.say(noggin["x"] - spot[0] - self.left.breadth / 2)
        frame = f" ({noggin['frame']})" if noggin.get("frame") else ""
        from_ = "the wall" if self.left.name == "wall" else self.left.name
        return f"{length} off {from_}{frame}"


def _columns(spans: Sequence[tuple[float, float]]) -> list[list[int]]:
    """Return stretches by their numbers, in columns in which none lies beside another [mm]."""
    out: list[list[int]] = []
    for k in sorted(range(len(spans)), key=lambda k: spans[k]):
        column = next((c for c in out if spans[c[-1]][1] <= spans[k][0]), None)
        if column is None:
            out.append([k])
        else:
            column.append(k)
    return out


def _widest(texts: Sequence[str]) -> float:
    return max((letters.width(letters.clean(t), SMALL) for t in texts), default=0.0)


def bay_of(deck: Deck, left: Timber, right: Timber, units: str, scale: int) -> Bay:
    """Return what stands between two joists, or a joist and a wall, drawn at 1:``scale``."""
    inside = [n for n in deck.noggins if deck.stands(n, left, right)]
    marks = [(n, *deck.marks(n)) for n in inside if not n.get("along")]
    cleats = {
        side: [
            c
            for c in deck.many("cleats")
            if c.get("side") == side and deck.cleat_joist(c) == timber.name
        ]
        # A cleat on the right side of the left joist stands in this bay, and the other way about.
        for side, timber in (("right", left), ("left", right))
    }
    # One that ends on a timber along the bay has a mark on one joist: it is drawn level with that.
    level = [(n, b if a is None else a, a if b is None else b) for n, a, b in marks]
    placed = [(n, a, b) for n, a, b in level if a is not None and b is not None]
    return Bay(left, right, placed, [n for n in inside if n.get("along")], cleats, units, scale)
