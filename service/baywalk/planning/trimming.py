"""One opening of a deck: the joists cut for it, and the timbers that take over from them."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from shapely import Polygon, box

from baywalk.planning.courses import sections

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.ground import Member


_ADDED = "the added joists at the trimmers"
"""What hangers for joists to be added are said to be for."""


@dataclass(frozen=True)
class Trimmer:
    """A timber across at one end of an opening; lengths in mm."""

    id: str
    y: float
    length: float
    sd: float
    plies: int
    breadth: float
    depth: float
    x0: float
    x1: float

    @property
    def band(self) -> tuple[float, float]:
        """Return the ys [mm] that it takes up."""
        half = self.breadth * self.plies / 2
        return self.y - half, self.y + half

    def polygon(self) -> Polygon:
        """Return the room that it takes up in the plane [mm]."""
        low, high = self.band
        return box(self.x0, low, self.x1, high)

    def json(self) -> dict[str, Any]:
        """Return it as the plan shows it."""
        return {
            "id": self.id,
            "y": round(self.y, 2),
            "length": self.length,
            "sd": round(self.sd, 2),
            "plies": self.plies,
            "section": {"breadth": self.breadth, "depth": self.depth},
        }


@dataclass(frozen=True)
class Opening:
    """One opening: its place, the joists cut, and the timbers round it.

    ``sides`` are the members beside it, walls among them, ``doubling`` the breadth of what doubles
    them [mm]. ``away`` says which of the two are doubled on the side away from it, for towards it
    the doubling would stand in an opening. ``breadths`` are those of the joists cut [mm].
    ``crossed`` are the joists to be added that meet its trimmers, ``stopped`` those of them that
    would stand in it: all are cut to hang from the trimmers.
    """

    feature: str
    polygon: Polygon
    cut: tuple[int, ...]
    sides: tuple[Member, Member]
    doubling: float
    trimmers: tuple[Trimmer, ...]
    away: tuple[bool, bool] = (False, False)
    breadths: tuple[float, ...] = ()
    crossed: tuple[Member, ...] = ()
    stopped: tuple[Member, ...] = ()

    @property
    def framed(self) -> bool:
        """Say whether timbers go round it: what hangs from them is a joist, cut or to be added."""
        return bool(self.cut or self.stopped)

    @property
    def over(self) -> str:
        """Return the joists that stand in it, as they are called in a sentence."""
        return ", ".join([*(f"J{n}" for n in self.cut), *(m.name for m in self.stopped)])

    @property
    def hands(self) -> tuple[str, str]:
        """Return on which of its own sides either member beside it is doubled."""
        return ("left" if self.away[0] else "right", "right" if self.away[1] else "left")

    def gone(self, member: Member, low: float, high: float) -> bool:
        """Say whether it cuts a joist away anywhere from one y to another [mm]."""
        if member.wall or member.timber:
            return False
        stopped = any((m.index, m.added) == (member.index, member.added) for m in self.stopped)
        if not (stopped or (member.index in self.cut and not member.added)):
            return False
        bands = [(self.polygon.bounds[1], self.polygon.bounds[3]), *(t.band for t in self.trimmers)]
        return min(a for a, _ in bands) < high and low < max(b for _, b in bands)

    def json(self, outline: Polygon, hung: Sequence[Member] = ()) -> dict[str, Any]:
        """Return it as the plan shows it; doublings run from limit to limit of ``outline``.

        ``hung`` has each joist to be added as often as an end of it hangs from a trimmer.
        """
        sides = zip(self.sides, self.hands, strict=True)
        # Where nothing hangs, the joists beside it carry no more than before.
        joists = [(m, side) for m, side in sides if self.framed and not m.wall]
        return {
            "feature": self.feature,
            "polygon": [
                [round(x, 3), round(y, 3)] for x, y in list(self.polygon.exterior.coords)[:-1]
            ],
            "joists_cut": list(self.cut),
            "trimming": [_doubled(m, side, self, outline) for m, side in joists],
            "trimmers": [trimmer.json() for trimmer in self.trimmers],
            "hangers": self._hangers([m for m, _ in joists], hung),
            "carries": None,
            "say": self._say([m for m, _ in joists]),
        }

    def _hangers(self, joists: Sequence[Member], hung: Sequence[Member]) -> list[dict[str, Any]]:
        ends = len(self.trimmers)
        if not ends:
            return []
        first = self.trimmers[0]
        # A hanger is as wide as the joist that hangs in it.
        rows = [
            {
                "for": "the cut joists at the trimmers",
                "breadth": breadth,
                "depth": first.depth,
                "count": ends * count,
            }
            for breadth, count in sorted(Counter(round(b) for b in self.breadths).items())
        ]
        sizes = Counter((round(m.breadth), float(round(m.depth))) for m in hung)
        rows += [
            {"for": _ADDED, "breadth": breadth, "depth": depth, "count": count}
            for (breadth, depth), count in sorted(sizes.items())
        ]
        if joists:
            across = {
                "for": "the trimmers at the trimming joists",
                "breadth": first.breadth * first.plies,
                "depth": first.depth,
                "count": ends * len(joists),
            }
            rows.append(across)
        return rows

    def _say(self, joists: Sequence[Member]) -> str:
        if not self.framed:
            return "The opening lies between two joists; none is cut."
        names = " and ".join(m.name for m in joists)
        far = [m.name for m, off in zip(self.sides, self.away, strict=True) if off and not m.wall]
        where = f", {' and '.join(far)} on the side away from the opening" if far else ""
        double = (
            f"Double {names} with a timber of the same size for the whole length{where}, hang the"
            " doubled trimmers between them"
        )
        more = ""
        if self.crossed:
            is_ = "is" if len(self.crossed) == 1 else "are"
            new = _and([m.name for m in self.crossed])
            more = f" {new}, which {is_} added, {is_} cut to hang from the trimmers."
        who = (
            "What the trimmers and trimming joists must carry is for a structural engineer;"
            " building control must know of it, before any cut."
        )
        if not self.cut:
            return (
                "The opening lies between two joists; none that is there already is cut."
                f" {double}.{more} {who}"
            )
        return (
            f"If the joists tie the rafters, do not cut them. {who} Prop the ceiling first."
            f" {double}, and only then cut {named(self.cut)} and hang the ends.{more}"
        )


def _and(names: Sequence[str]) -> str:
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last


def _doubled(member: Member, side: str, opening: Opening, outline: Polygon) -> dict[str, Any]:
    _, y0, _, y1 = opening.polygon.bounds
    found = sections(outline, member.centre((y0 + y1) / 2))
    length = found[-1][1] - found[0][0] if found else y1 - y0
    return {
        "joist": member.index,
        "side": side,
        "section": {"breadth": opening.doubling, "depth": float(round(member.depth))},
        "length": round(length, 1),
    }


def named(cut: Sequence[int]) -> str:
    """Return joists as they are called in a sentence."""
    return ", ".join(f"J{n}" for n in cut)
