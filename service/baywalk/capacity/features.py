"""What a run's features say of its joists: cuts, damage, supports between the ends, openings."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from baywalk.capacity.model import Cut, Point, Support

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.capacity.node import Node

    Limits = Mapping[str, Sequence[float]]

_JOIST = (0, 100_000)
_DAMAGE = ("split", "decay")
_ON_JOIST = ("notch", "hole", *_DAMAGE, "timber")
_EDGES = ("top", "bottom", "centre")
_WALLS = ("start", "end")
_ROOF = ("ties", "trussed", "fixing", "plate", "purlins", "collars")


@dataclass
class OnJoist:
    """What features say of one joist; lengths within it in mm."""

    cuts: list[Cut] = field(default_factory=list)
    supports: list[Support] = field(default_factory=list)
    damage: list[str] = field(default_factory=list)
    unmeasured: list[str] = field(default_factory=list)
    grade: str = ""
    plies: int | None = None


@dataclass
class Things:
    """All features of a run that bear on its strength; ``insulation`` is a depth [mm].

    ``borne`` holds the walls, 0 start and 1 end, where the deck's edge has a bearer of its own.
    """

    joists: dict[int, OnJoist] = field(default_factory=dict)
    everywhere: list[Support] = field(default_factory=list)
    insulation: float | None = None
    openings: tuple[tuple[str, tuple[Point, ...]], ...] = ()
    roof: dict[str, str] = field(default_factory=dict)
    stray: list[str] = field(default_factory=list)
    borne: set[int] = field(default_factory=set)

    def on(self, joist: int) -> OnJoist:
        """Return what is said of a joist, supports under all joists among it."""
        own = self.joists.get(joist, OnJoist())
        return replace(own, supports=[*own.supports, *self.everywhere])


def read(node: Node, limits: Limits) -> Things:
    """Return what a run's features say; a feature of another kind is passed over.

    What was written down without its joist, its size or its place is told of and never guessed.
    """
    out = Things()
    for feature in node.each():
        kind = feature.at("feature").text()
        if kind in _ON_JOIST:
            _on_joist(out, feature, kind, limits)
        elif kind == "support":
            _support_of(out, feature, limits)
        elif kind == "bearer" and feature.at("wall").text() in _WALLS:
            out.borne.add(_WALLS.index(feature.at("wall").text()))
        elif kind == "insulation" and feature.at("depth"):
            depth = feature.at("depth").number((0, limits["span"][1]))
            out.insulation = max(depth, out.insulation or 0.0)
        elif kind == "opening":
            out.openings += _opening(feature, limits)
        elif kind == "roof":
            out.roof |= {k: feature.at(k).text() for k in _ROOF if feature.at(k)}
    return out


def _on_joist(out: Things, feature: Node, kind: str, limits: Limits) -> None:
    if not feature.at("joist"):
        out.stray.append(f"A {kind} was written down without its joist, so no joist counts it.")
        return
    own = _own(out, feature)
    if kind in _DAMAGE:
        own.damage.append(kind)
    elif kind == "timber":
        _timber(own, feature)
    elif not feature.at("depth"):
        own.unmeasured.append(f"the depth of its {kind}")
    else:
        cut = _cut(feature, kind, limits)
        # From below there is no rule for a cut, so one whose edge nobody wrote down may have none.
        if cut.edge in _EDGES:
            own.cuts.append(cut)
        else:
            own.unmeasured.append(f"the edge of its {kind}")


def _support_of(out: Things, feature: Node, limits: Limits) -> None:
    if not feature.at("from_near_support"):
        # A longer span is the safer reading.
        out.stray.append("A support was written down without its place; no joist counts on it.")
        return
    where = _own(out, feature).supports if feature.at("joist") else out.everywhere
    where.append(_support(feature, limits))


def _own(things: Things, feature: Node) -> OnJoist:
    return things.joists.setdefault(feature.at("joist").whole(_JOIST), OnJoist())


def _cut(feature: Node, kind: str, limits: Limits) -> Cut:
    size = feature.at("depth").number((0, limits["depth"][1]))
    edge = feature.at("edge").text()
    length = feature.at("length")
    far = (0, limits["span"][1])
    # A notch without a length is a saw cut; a hole is as long as it is wide.
    along = length.number(far) if length else (size if kind == "hole" else 0.0)
    place = feature.at("from_near_support")
    where = place.number((-limits["bearing"][1], limits["span"][1])) if place else None
    return Cut(kind, edge, size, along, where, feature.at("id").text())


def supports(node: Node, limits: Limits) -> list[Support]:
    """Return the supports between a joist's ends that the joist itself names [mm]."""
    return [_support(one, limits) for one in node.each()]


def _support(feature: Node, limits: Limits) -> Support:
    place = feature.at("from_near_support")
    if not place:
        place.fail("is missing")
    length = feature.at("length")
    bearing = length.number(limits["bearing"]) if length else None
    return Support(
        place.number((1, limits["span"][1])), bearing, feature.at("through").value is True
    )


def apart(supports: Sequence[Support]) -> tuple[Support, ...]:
    """Return supports in order of their places, those that lie on one another taken as one.

    Written down twice, once under all joists and once under this one, a wall is still one wall.
    """
    out: list[Support] = []
    for support in sorted(supports, key=lambda one: one.place):
        last = out[-1] if out else None
        if last is None or support.place - last.place > _reach(last, support):
            out.append(support)
            continue
        # The shorter bearing, and in one piece only where both say so: the worse of the two.
        known = [one.bearing for one in (last, support) if one.bearing is not None]
        out[-1] = Support(last.place, min(known, default=None), last.through and support.through)
    return tuple(out)


def _reach(one: Support, other: Support) -> float:
    """Return how far apart two supports' middles may be and still touch [mm]."""
    return max(1.0, ((one.bearing or 0.0) + (other.bearing or 0.0)) / 2)


def _timber(own: OnJoist, feature: Node) -> None:
    """Take the grade stamped on a joist, or that it is of several plies."""
    own.grade = feature.at("grade").text() or own.grade
    if feature.at("plies"):
        own.plies = feature.at("plies").whole((1, 6))


def _opening(feature: Node, limits: Limits) -> tuple[tuple[str, tuple[Point, ...]], ...]:
    corners: list[Point] = []
    for corner in feature.at("polygon").each():
        both = [part.number(limits["x"]) for part in corner.each()]
        if len(both) != 2:
            corner.fail("must be two numbers")
        corners.append((both[0], both[1]))
    # An opening that is not tied to the plane is kept, so that it is told of.
    return ((feature.at("id").text(), tuple(corners) if len(corners) > 2 else ()),)
