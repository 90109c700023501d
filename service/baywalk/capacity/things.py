"""Things put on the floor: what they weigh, where they stand, what they bring to each joist."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, NoReturn

from baywalk.capacity import beam
from baywalk.capacity.errors import BadCapacityInput

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.capacity.model import Joist
    from baywalk.rules import Pack

_SIZES = ("width", "length", "height", "feet", "x", "y")


@dataclass(frozen=True)
class Thing:
    """A thing to be put on the floor.

    Attributes:
        name: what it is. mass: [kg]. moving: a key of the rule ``load.thing.moving``.
        width, length, height: across the joists, along them, and up [mm]; None where not said.
        feet: how many it stands on, at its corners; 0 where it stands on its whole underside.
        x, y: its middle in the as-built's coordinates [mm]; None where not said.

    """

    name: str
    mass: float
    moving: str = "still"
    width: float | None = None
    length: float | None = None
    height: float | None = None
    feet: int = 0
    x: float | None = None
    y: float | None = None

    def weight(self, pack: Pack) -> float:
        """Return its weight with what moving adds [N]."""
        return (
            self.mass * float(pack["load.gravity"]) * float(pack["load.thing.moving"][self.moving])
        )

    @property
    def placed(self) -> bool:
        """Whether it is known where it stands."""
        return self.x is not None and self.y is not None


def read_thing(text: str, pack: Pack) -> Thing:
    """Return the thing of ``name,mass=300,width=700,length=1700,x=1200,y=900``.

    Raises BadCapacityInput, naming the field, for what cannot be.
    """
    name, *parts = (part.strip() for part in text.split(","))
    pairs = [_pair(part) for part in parts]
    given = dict(pairs)
    twice = [key for number, (key, _) in enumerate(pairs) if key in dict(pairs[:number])]
    if twice:
        _fail(twice[0][:20], "comes twice")
    unknown = [key for key in given if key not in ("mass", "moving", *_SIZES)]
    if unknown:
        _fail(unknown[0][:20], "is nothing that is asked of a thing")
    if not name or "=" in name:
        _fail("name", "must come first, with no equals sign")
    if "mass" not in given:
        _fail("mass", f"is missing for {name[:40]!r}")
    moving = given.get("moving", "still")
    if moving not in pack["load.thing.moving"]:
        _fail("moving", f"must be one of {', '.join(pack['load.thing.moving'])}")
    limits = pack["load.thing.most"]
    sizes = {key: _number(given, key, limits[key]) for key in _SIZES}
    if (sizes["x"] is None) != (sizes["y"] is None):
        _fail("x" if sizes["x"] is None else "y", "is missing: a place is both x and y")
    mass = _number(given, "mass", limits["mass"])
    return Thing(
        name=name[:100],
        mass=mass or 0.0,
        moving=moving,
        width=sizes["width"],
        length=sizes["length"],
        height=sizes["height"],
        feet=_feet(sizes["feet"]),
        x=sizes["x"],
        y=sizes["y"],
    )


def _pair(part: str) -> tuple[str, str]:
    key, sign, value = part.partition("=")
    if not sign:
        _fail(part[:20], "must be written name=value")
    return key.strip(), value.strip()


def _fail(field: str, why: str) -> NoReturn:
    raise BadCapacityInput(f"thing/{field}", why, "What is asked")


_NUMBER = re.compile(r"\s*[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*", re.ASCII)


def plain_number(text: str) -> float | None:
    """Return the number that a text is, in its field's own unit; None where it is none.

    Digits, a point and a power of ten: what only a programmer would write is a slip of the hand.
    """
    return float(text) if _NUMBER.fullmatch(text) else None


def _number(given: dict[str, str], key: str, limits: Sequence[float]) -> float | None:
    if key not in given:
        return None
    value = plain_number(given[key])
    if value is None:
        _fail(key, "must be a number")
    if not limits[0] <= value <= limits[1]:
        _fail(key, f"must be from {limits[0]:g} to {limits[1]:g}")
    return value


def _feet(feet: float | None) -> int:
    if feet not in (None, 0.0, 4.0):
        _fail("feet", "must be 4, or 0 for a thing that stands on its whole underside")
    return int(feet or 0)


def loads(thing: Thing, joist: Joist, pack: Pack) -> tuple[tuple[beam.Load, ...], bool]:
    """Return what a thing brings to a joist [N, N/mm], and whether its place is known.

    Deck boards are taken as borne from joist to joist, so a load between two joists goes to each
    by its nearness. A thing without a place stands over the middle of the joist, on it alone.
    Loads lie from the joist's near support.
    """
    weight = thing.weight(pack)
    span = joist.span.value if joist.span else 0.0
    length = min(thing.length or 0.0, span)
    if not thing.placed or joist.line is None or thing.x is None or thing.y is None:
        return _along(weight, span / 2, length, thing.feet, span), False
    (x0, y0), (x1, y1) = joist.line
    reach = math.dist((x0, y0), (x1, y1)) or 1.0
    ux, uy = (x1 - x0) / reach, (y1 - y0) / reach
    place = (thing.x - x0) * ux + (thing.y - y0) * uy
    off = (thing.x - x0) * uy - (thing.y - y0) * ux
    share = _share(off, thing, joist)
    if share <= 0 or not -length / 2 < place < span + length / 2:
        return (), True
    return _along(weight * share, place, length, thing.feet, span), True


def _share(off: float, thing: Thing, joist: Joist) -> float:
    """Return the share of a thing that a joist gets; ``off`` is how far right of it it stands."""
    half = (thing.width or 0.0) / 2
    if thing.feet:
        return (_near(off - half, joist) + _near(off + half, joist)) / 2
    if half == 0:
        return _near(off, joist)
    # Thin strips across: the shares are straight lines, so their middles give them all but exactly.
    steps = 40
    spots = [off - half + (2 * k + 1) * half / steps for k in range(steps)]
    return sum(_near(spot, joist) for spot in spots) / steps


def _near(off: float, joist: Joist) -> float:
    """Return the share of a load at ``off`` [mm] to the right of a joist that the joist gets."""
    side = joist.right if off > 0 else joist.left
    # Beside a wall the deck's edge is not borne there: all of it hangs on the joist.
    if side is None:
        return 1.0
    return max(0.0, 1.0 - abs(off) / side)


def _along(
    weight: float, place: float, length: float, feet: int, span: float
) -> tuple[beam.Load, ...]:
    """Return a load along a joist about ``place`` [mm], kept within the span."""
    a, b = (min(max(place + s * length / 2, 0.0), span) for s in (-1, 1))
    if feet and b > a:
        return beam.Point(a, weight / 2), beam.Point(b, weight / 2)
    if b - a < 1.0:
        return (beam.Point((a + b) / 2, weight),)
    return (beam.Spread(a, b, weight / (b - a)),)
