"""What sheets read out of one deck of a plan, found by name; what may be absent is stood in for."""

from __future__ import annotations

import statistics
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from shapely import LineString, Polygon
from shapely import Point as Spot

from baywalk.reconcile import words
from baywalk.sheets import shape
from baywalk.sheets.paper import short
from baywalk.sheets.table import Column

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from baywalk.sheets.ink import Point
    from baywalk.sheets.table import Table


_INSIDE = 0.01
"""How far within the outline a wall's own face is taken, so that the edge is met there [mm]."""

_NO_RUN: Mapping[str, Any] = {"id": "", "lines": [], "joists": [], "walls": {}, "member": {}}


@dataclass(frozen=True)
class Timber:
    """A joist under the deck: its ``name``, centre ``line`` and ``breadth`` [mm].

    ``base`` is how far from the near edge of the loft its line begins [mm].
    """

    name: str
    line: list[Point]
    breadth: float
    base: float = 0.0

    def along(self, at: Sequence[float]) -> float:
        """Return how far along the joist a spot lies, from its near end [mm]."""
        return float(LineString(self.line).project(Spot(at[0], at[1])))

    @property
    def length(self) -> float:
        """Return its length under the deck [mm]."""
        return float(LineString(self.line).length)

    def place(self, y: float) -> float:
        """Return how far from the near edge it crosses a height, as it is drawn [mm]."""
        return self.base + self.along(self.crossing(y))

    def crossing(self, y: float) -> Point:
        """Return the point of its centre line, lengthened as needed, at a height [mm]."""
        return _crossing(self.line, y)


class Deck:
    """One deck of a plan beside the run that carries it."""

    def __init__(
        self,
        deck: Mapping[str, Any],
        as_built: Mapping[str, Any],
        rules: Any = None,
        *,
        several: bool = False,
    ) -> None:
        """Take a deck, the as-built with its run, and the rules that the plan was made by.

        Where there are ``several`` decks, each says its name: their numbers begin anew.
        """
        self.data, self.several = deck, several
        self.rules: Mapping[str, Any] = rules if isinstance(rules, dict) else {}
        runs = as_built["runs"]
        named = [run for run in runs if run["id"] == deck.get("run")]
        self.run: Mapping[str, Any] = (named or runs or [_NO_RUN])[0]
        self.pieces = {piece["id"]: piece for piece in deck["pieces"]}
        self.noggins: list[Mapping[str, Any]] = list(deck["noggins"])
        self.timbers = self._timbers()

    def many(self, name: str) -> list[Mapping[str, Any]]:
        """Return a list of the deck, empty where it has none."""
        return list(self.data.get(name) or [])

    @property
    def board(self) -> Mapping[str, Any]:
        """Return the size of the board [mm]."""
        size: Mapping[str, Any] = self.data["deck"]["board"]
        return size

    @property
    def kerf(self) -> float | None:
        """Return what a saw cut takes out of a board [mm]; None where the plan does not say."""
        return figure(self.rules, "board.kerf")

    @property
    def title(self) -> str:
        """Return the heading of its sheets."""
        title = short(str(self.run.get("title") or ""), f"Run {self.run['id']}")
        return f"{title}, deck {self.name}" if self.several else title

    @property
    def name(self) -> str:
        """Return its id, by which it goes among others."""
        return str(self.data.get("id") or "")

    def cautions(self, *codes: str) -> list[str]:
        """Return the deck's cautions as sentences; those whose code begins so, where codes are."""
        return [
            c["say"]
            for c in self.many("cautions")
            if not codes or str(c.get("code", "")).startswith(codes)
        ]

    def _timbers(self) -> list[Timber]:
        """Return the joists from the start wall: the plan's own, else those of the as-built."""
        own = self.many("joists")
        if own:
            limit = shape.outline(self.run)
            found = [Timber(t["name"], _within(t["line"], limit), t["breadth"]) for t in own]
            # A deck may begin further in than the loft does.
            return [replace(one, base=self.from_near(one.line[0], one)) for one in found]
        out = []
        for joist in self.run["joists"]:
            line = shape.centre_line(self.run, joist)
            if line:
                out.append(
                    Timber(f"J{joist['index']}", line, shape.breadth(self.run, joist) or 0.0)
                )
        return out

    def reaches(self, timber: Timber) -> bool:
        """Say whether a joist or wall lies under this deck, or is the next one beside it."""
        left, low, right, high = Polygon(self.data["deck"]["outline"]).bounds
        xs = [t.crossing((low + high) / 2)[0] for t in self.timbers]
        x = timber.crossing((low + high) / 2)[0]
        before = max((p for p in xs if p <= left), default=left)
        after = min((p for p in xs if p >= right), default=right)
        beyond = (x <= left and before == left) or (x >= right and after == right)
        return before <= x <= after or beyond

    def wall(self, end: str) -> Timber | None:
        """Return a side wall as a line without breadth; None where it is not determined."""
        wall = self.run["walls"].get(end)
        line = shape.centre_line(self.run, wall) if wall else []
        return Timber("wall", line, 0.0) if line else None

    def between(self, noggin: Mapping[str, Any]) -> tuple[str, str]:
        """Return the names of the two things that a noggin stands between."""
        names = noggin.get("between")
        if names and len(names) == 2:
            return (str(names[0]), str(names[1]))
        bay, last = noggin["bay"], len(self.run["joists"])
        return ("wall" if bay == 0 else f"J{bay}", "wall" if bay == last else f"J{bay + 1}")

    def named(self, name: str, *, left: bool) -> Timber | None:
        """Return a joist by its name; the start wall on the left, the end wall on the right."""
        if name == "wall":
            return self.wall("start" if left else "end")
        return next((t for t in self.timbers if t.name == name), None)

    def marks(self, noggin: Mapping[str, Any]) -> tuple[float | None, float | None]:
        """Return how far along the joists to its left and right a noggin's centre lies [mm]."""
        ends = noggin.get("ends")
        out: list[float | None] = []
        for k, name in enumerate(self.between(noggin)):
            timber = self.named(name, left=k == 0)
            if timber is None:
                out.append(None)
                continue
            at = ends[k] if ends and len(ends) == 2 else timber.crossing(noggin["y"])
            out.append(self.from_near(at, timber))
        return (out[0], out[1])

    def from_near(self, at: Sequence[float], timber: Timber) -> float:
        """Return how far a spot on a joist's side lies from the near edge [mm].

        The tape lies along that side of the joist, so the zero is the near edge just there.
        """
        limit = shape.outline(self.run)
        if limit is None:
            return timber.along(at)
        if timber.name == "wall":
            # A wall leans along the outline: what lies straight below a spot on it may be itself.
            return float(at[1] - timber.line[0][1])
        left, low, right, high = limit.bounds
        x = min(max(at[0], left + _INSIDE), right - _INSIDE)
        across = limit.intersection(LineString([(x, low - 1), (x, high + 1)]))
        return timber.along(at) if across.is_empty else float(at[1] - across.bounds[1])

    def wall_x(self, y: float) -> float | None:
        """Return where the start wall's face lies at a height [mm] in the plane."""
        wall = self.wall("start")
        return None if wall is None else wall.crossing(y)[0]

    def stands(self, noggin: Mapping[str, Any], left: Timber, right: Timber) -> bool:
        """Say whether a noggin stands between two joists; one along them, beside either.

        One across may end on one along them, and then stands between that and a joist.
        """
        names, spot = self.between(noggin), noggin.get("x")
        if not noggin.get("along"):
            if names == (left.name, right.name):
                return True
            if left.name != names[0] and right.name != names[1]:
                return False
            spot = statistics.mean(x for x, _ in noggin["ends"]) if noggin.get("ends") else None
        y = noggin["y"]
        return spot is not None and bool(left.crossing(y)[0] <= spot < right.crossing(y)[0])

    def services(self, left: str) -> str:
        """Return what runs in the bay past a joist or the start wall, as words; empty for nothing.

        Where an added joist divides a bay, what is in it may run in either part: both are named.
        """
        bay = int("".join(sign for sign in left if sign.isdigit()) or 0)
        found = [
            str(f["feature"])
            for f in self.run.get("features") or []
            if f.get("feature") in ("cable", "pipe") and f.get("bay") == bay
        ]
        where = words.bay(bay, len(self.run["joists"]))
        return f"{' and '.join(dict.fromkeys(found))} in {where}" if found else ""

    @staticmethod
    def cleat_joist(cleat: Mapping[str, Any]) -> str:
        """Return the name of the joist that a cleat is fixed to."""
        added = cleat.get("added")
        return f"J{cleat['joist']}" + (chr(ord("a") + int(added) - 1) if added else "")

    def cleat_mark(self, cleat: Mapping[str, Any]) -> float | None:
        """Return how far along its joist a cleat's middle lies [mm]."""
        timber = self.named(self.cleat_joist(cleat), left=True)
        if timber is None:
            return None
        x, y = timber.crossing(cleat["y"])
        side = -1 if cleat.get("side") == "left" else 1
        return self.from_near((x + side * timber.breadth / 2, y), timber)


def listed(table: Table, decks: Sequence[Deck], fill: Callable[[Deck], None]) -> Table:
    """Fill a schedule deck by deck; return it, the deck before each row, on paper among several."""
    several = len(decks) > 1
    for deck in decks:
        shown, filed = len(table.rows), len(table.file)
        fill(deck)
        for cells in table.file[filed:]:
            cells.insert(0, deck.name)
        for row in table.rows[shown:] if several else ():
            row.insert(0, deck.name)
    table.heads.insert(0, "deck")
    if several:
        table.columns.insert(0, Column("deck", right=False))
        table.by = None if table.by is None else table.by + 1
    return table


def rule(rules: Any, name: str) -> Any:
    """Return what a rule of a plan says; None where the plan does not give it."""
    one = rules.get(name) if isinstance(rules, dict) else None
    return one.get("value") if isinstance(one, dict) else None


def figure(rules: Any, name: str) -> float | None:
    """Return a rule's figure, in its own unit; None where the plan gives none."""
    value = rule(rules, name)
    return float(value) if isinstance(value, int | float) else None


def _within(line: Sequence[Sequence[float]], limit: Polygon | None) -> list[Point]:
    """Return the part of a joist's line that lies in the outline [mm]: there its marks begin."""
    whole = [(p[0], p[1]) for p in line]
    inside = LineString(whole).intersection(limit) if limit is not None else None
    if isinstance(inside, LineString) and not inside.is_empty:
        return [(x, y) for x, y, *_ in inside.coords]
    return whole


def _crossing(line: Sequence[Point], y: float) -> Point:
    """Return the point of a line, lengthened as needed, at a height [mm]."""
    (xa, ya), (xb, yb) = line[0], line[-1]
    for (x0, y0), (x1, y1) in pairwise(line):
        if min(y0, y1) <= y <= max(y0, y1) and y1 != y0:
            return (x0 + (y - y0) / (y1 - y0) * (x1 - x0), y)
    if yb == ya:
        return (xa, y)
    return (xa + (y - ya) / (yb - ya) * (xb - xa), y)


def polygon(piece: Mapping[str, Any]) -> Polygon:
    """Return a piece's outline [mm], holes left out."""
    return Polygon(piece["polygon"], piece.get("holes") or [])
