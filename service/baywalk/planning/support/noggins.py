"""One noggin: where it lies between its two joists, and how long it must be."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from baywalk.planning.ground import Bay, Ground
    from baywalk.rules import Pack

PERIMETER, FRAME, STRUTTING = "perimeter", "frame", "strutting"


@dataclass(frozen=True)
class Section:
    """A timber's breadth and depth [mm]."""

    breadth: float
    depth: float

    def json(self) -> dict[str, float]:
        """Return it as the plan shows it."""
        return {"breadth": self.breadth, "depth": self.depth}


@dataclass(frozen=True)
class Noggin:
    """A noggin; lengths and places in mm.

    Across a bay, ``y`` is where its centre line crosses the middle of the bay and ``slope`` how it
    leaves square. Along the joists, ``x`` is its centre line and ``y`` the middle of its length.
    ``stops`` are what it stands between where that is not the bay's own two members.
    """

    bay: Bay
    y: float
    use: str
    section: Section
    length: float
    sd: float
    ends: tuple[tuple[float, float], tuple[float, float]]
    between: tuple[str, str]
    slope: float = 0.0
    out_of_square: float = 0.0
    x: float | None = None
    frame: str = ""
    id: str = ""
    serves: tuple[str, ...] = field(default=())

    @property
    def number(self) -> tuple[int, int]:
        """Return what its id says, once it has one: its bay, and its number in it."""
        bay, number = self.id[1:].split("-")
        return int(bay), int(number)

    @property
    def band(self) -> tuple[float, float]:
        """Return the ys [mm] that it takes up."""
        half = self.section.breadth / 2
        ys = [y for _, y in self.ends]
        if self.x is not None:
            return min(ys), max(ys)
        return min(ys) - half, max(ys) + half

    @property
    def thick(self) -> float:
        """Return half the room that one across takes along the joists [mm]."""
        return self.section.breadth / 2 * math.hypot(1, self.slope)

    def at(self, x: float) -> float:
        """Return where the centre line of one across is at ``x`` [mm]."""
        return self.y + self.slope * (x - (self.ends[0][0] + self.ends[1][0]) / 2)

    def over(self, x: float) -> bool:
        """Say whether it lies across, from this side of ``x`` to that [mm]."""
        return self.x is None and self.ends[0][0] - 1 <= x <= self.ends[1][0] + 1

    @property
    def measured(self) -> int:
        """Return from which of its ends it is measured: 0 the left, 1 where no joist is there."""
        return int(self.bay.left.wall or self.bay.left.timber)

    def face(self, x: float, side: int) -> float:
        """Return where the near (-1) or far (1) face of one across is at ``x`` [mm]."""
        return self.at(x) + side * self.thick

    def serving(self, name: str) -> Noggin:
        """Return it serving one thing more."""
        return self if name in self.serves else replace(self, serves=(*self.serves, name))

    def json(self) -> dict[str, Any]:
        """Return it as the plan shows it."""
        along = {} if self.x is None else {"along": True, "x": round(self.x, 2)}
        return {
            "id": self.id,
            "bay": self.bay.number,
            "between": list(self.between),
            "y": round(self.y, 2),
            "slope": round(self.slope, 6),
            "length": round(self.length, 1),
            "sd": round(self.sd, 2),
            "out_of_square": round(self.out_of_square, 1),
            "use": self.use,
            "serves": list(self.serves),
            **({"frame": self.frame} if self.frame else {}),
            **along,
            "section": self.section.json(),
            "ends": [[round(x, 2), round(y, 2)] for x, y in self.ends],
        }


def section(ground: Ground, pack: Pack) -> Section:
    """Return the section of noggins, frames and cleats [mm]; no deeper than the least joist."""
    depths = [m.depth for m in ground.joists if m.depth > 0]
    depth = min([pack["noggin.depth"], *depths])
    return Section(float(pack["noggin.breadth"]), float(round(depth)))


def strutting_section(ground: Ground, pack: Pack) -> Section:
    """Return the section of solid strutting [mm]: deep enough for the deepest joist."""
    depth = max((m.depth for m in ground.joists), default=0.0)
    least = pack["strutting.depth"] * depth
    sold = [d for d in pack["timber.depths"] if d >= least - 0.05]
    breadth = max(pack["noggin.breadth"], pack["strutting.breadth"])
    return Section(float(breadth), float(min(sold) if sold else math.ceil(least)))


def across(
    ground: Ground, bay: Bay, y: float, use: str, size: Section, pack: Pack, slope: float = 0.0
) -> Noggin | None:
    """Return a noggin across a bay at ``y`` [mm]; None where the bay is too narrow for one."""
    half = size.breadth / 2
    near, far = (_clear(bay, y + side * half, slope) for side in (-1, 1))
    length = min(near, far) - pack["noggin.fit"]
    if length < pack["noggin.cut_least"]:
        return None
    gap = bay.gap(y)
    skew = far - near
    xl, xr = bay.left.right(y - slope * gap / 2), bay.right.left(y + slope * gap / 2)
    rise = slope * (xr - xl) / 2
    return Noggin(
        bay=bay,
        y=y,
        use=use,
        section=size,
        length=float(math.floor(length + 1e-6)),
        sd=ground.sd(bay.number, y),
        ends=((xl, y - rise), (xr, y + rise)),
        between=(bay.left.name, bay.right.name),
        slope=slope,
        out_of_square=skew if abs(skew) > pack["noggin.out_of_square"] else 0.0,
    )


def _clear(bay: Bay, y: float, slope: float) -> float:
    """Return the clear distance [mm] along a line that crosses a bay at ``y`` with a slope."""
    rise = slope * bay.gap(y) / 2
    low, high = y - rise, y + rise
    return math.hypot(bay.right.left(high) - bay.left.right(low), high - low)


def along(
    bay: Bay,
    x: float,
    y0: float,
    y1: float,
    use: str,
    size: Section,
    pack: Pack,
    stops: tuple[str, str],
    turn: float = 0.0,
) -> Noggin | None:
    """Return a noggin along the joists at ``x`` from ``y0`` to ``y1`` [mm], the fit taken off.

    ``turn`` is how much one of its stops leaves the direction of the other [-]: it must go in on
    its shorter side.
    """
    length = y1 - y0 - abs(turn) * size.breadth / 2 - pack["noggin.fit"]
    if length < pack["noggin.cut_least"]:
        return None
    return Noggin(
        bay=bay,
        y=(y0 + y1) / 2,
        use=use,
        section=size,
        length=float(math.floor(length + 1e-6)),
        sd=0.0,
        ends=((x, y0), (x, y1)),
        between=stops,
        x=x,
    )
