"""Joists, timbers and decks as a building model: IFC 4 (ISO 16739-1:2018) in millimetres.

The model says what is where and how thick: a beam for each joist, a member for each timber
between them, a slab for each deck. Joist tops are drawn level, at zero; boards lie on them. What
has no known depth has no solid, and is left out.
"""

from __future__ import annotations

import math
import uuid
from typing import TYPE_CHECKING, Any

from shapely import Polygon

from baywalk.sheets.exchange.spf import Name, Out, Reference, Unset

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from baywalk.sheets.exchange.things import Thing
    from baywalk.sheets.plan_parts import Deck

_DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_$"
"""The digits of the schema's own short form of an identifier, lowest first."""

_BENT = 0.01
"""How far a timber's sides may stray from straight ones, and it be one straight timber [mm]."""

_BEAMS = {"joists": "joist", "added joists": "added joist"}
_MEMBERS = {"noggins": "noggin", "cleats": "cleat"}


def write(things: Iterable[Thing], decks: Iterable[Deck], survey: str, title: str) -> bytes:
    """Return a model of things and decks; the same ones give the same bytes."""
    model = _Model(survey, title)
    for thing in things:
        model.timber(thing)
    for deck in decks:
        model.deck(deck)
    return model.text().encode("ascii")


class _Model:
    """A model while it is written: what is shared by all its parts, and the parts so far."""

    def __init__(self, survey: str, title: str) -> None:
        self._out = out = Out("IFC4", title)
        self._survey = survey
        self._parts: list[Reference] = []
        self._names: set[str] = set()
        self._zero = out.add("IfcCartesianPoint", (0.0, 0.0, 0.0))
        self._up = out.add("IfcDirection", (0.0, 0.0, 1.0))
        self._world = out.add("IfcAxis2Placement3D", self._zero, None, None)
        whole = out.add(
            "IfcGeometricRepresentationContext", None, "Model", 3, 1e-5, self._world, None
        )
        kept = [Unset()] * 4
        self._body = out.add(
            "IfcGeometricRepresentationSubContext",
            *("Body", "Model", *kept, whole, None, Name("MODEL_VIEW"), None),
        )
        self._place = out.add("IfcLocalPlacement", None, self._world)
        project = out.add(
            "IfcProject", self._id("project"), None, title, *[None] * 4, (whole,), self._units()
        )
        self._storey = self._within(project, title)

    def _units(self) -> Reference:
        units = (("LENGTHUNIT", "MILLI", "METRE"), ("PLANEANGLEUNIT", None, "RADIAN"))
        made = [
            self._out.add("IfcSIUnit", Unset(), Name(of), Name(part) if part else None, Name(unit))
            for of, part, unit in units
        ]
        return self._out.add("IfcUnitAssignment", tuple(made))

    def _within(self, project: Reference, title: str) -> Reference:
        """Add the building and its loft; return the loft, which holds all parts."""
        out, shared = self._out, (self._place, None, None, Name("ELEMENT"))
        building = out.add(
            "IfcBuilding", self._id("building"), None, title, None, None, *shared, *[None] * 3
        )
        storey = out.add(
            "IfcBuildingStorey", self._id("loft"), None, "Loft", None, None, *shared, 0.0
        )
        for name, outer, inner in (("site", project, building), ("floors", building, storey)):
            out.add("IfcRelAggregates", self._id(name), *[None] * 3, outer, (inner,))
        return storey

    def timber(self, thing: Thing) -> None:
        """Add a joist or another timber, where its depth is known."""
        depth, outline = thing.known.get("depth"), thing.shape
        if not depth or not isinstance(outline, Polygon):
            return
        solid = self._timber_solid(outline, float(depth))
        if thing.layer in _BEAMS:
            self._part("IfcBeam", thing.name, _BEAMS[thing.layer], solid, "JOIST")
        elif thing.layer in _MEMBERS:
            self._part("IfcMember", thing.name, _MEMBERS[thing.layer], solid, "USERDEFINED")

    def deck(self, deck: Deck) -> None:
        """Add a deck of one thickness, with its openings."""
        data = deck.data["deck"]
        outline = Polygon(data["outline"], data.get("holes") or [])
        solid = self._upright(outline, 0.0, float(data["board"]["thickness"]))
        self._part("IfcSlab", f"Deck {deck.data.get('id')}", "deck", solid, "FLOOR")

    def _part(self, what: str, name: str, kind: str, solid: Reference, own: str) -> None:
        out = self._out
        shown = out.add("IfcShapeRepresentation", self._body, "Body", "SweptSolid", (solid,))
        shape = out.add("IfcProductDefinitionShape", None, None, (shown,))
        about = (name, None, kind, self._place, shape, name, Name(own))
        self._parts.append(out.add(what, self._id(f"{what} {name}"), None, *about))

    def _timber_solid(self, outline: Polygon, depth: float) -> Reference:
        """Return a straight timber as its section swept along it; a bent one stands upright."""
        box = outline.minimum_rotated_rectangle
        assert isinstance(box, Polygon)  # noqa: S101 - an outline has an area
        if box.symmetric_difference(outline).area > _BENT * outline.length:
            return self._upright(outline, -depth, depth)
        ring = [(x, y) for x, y, *_ in box.exterior.coords[:-1]]
        if math.dist(ring[0], ring[1]) < math.dist(ring[1], ring[2]):
            ring = [*ring[1:], ring[0]]
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = ring
        start, end = ((x0 + x3) / 2, (y0 + y3) / 2), ((x1 + x2) / 2, (y1 + y2) / 2)
        long = math.dist(start, end)
        way = ((end[0] - start[0]) / long, (end[1] - start[1]) / long, 0.0)
        out = self._out
        section = out.add(
            "IfcRectangleProfileDef",
            *(Name("AREA"), None, None, math.dist(ring[1], ring[2]), depth),
        )
        middle = out.add("IfcCartesianPoint", (*start, -depth / 2))
        along = out.add("IfcDirection", way)
        # The section's own x lies across the timber, and its y then stands upright.
        across = out.add("IfcDirection", (-way[1], way[0], 0.0))
        place = out.add("IfcAxis2Placement3D", middle, along, across)
        return out.add("IfcExtrudedAreaSolid", section, place, self._up, long)

    def _upright(self, outline: Polygon, foot: float, height: float) -> Reference:
        """Return what stands on its outline, from ``foot`` up by ``height`` [mm]."""
        out = self._out
        outer, *inner = (self._ring(r.coords) for r in (outline.exterior, *outline.interiors))
        if inner:
            plan = out.add(
                "IfcArbitraryProfileDefWithVoids", Name("AREA"), None, outer, tuple(inner)
            )
        else:
            plan = out.add("IfcArbitraryClosedProfileDef", Name("AREA"), None, outer)
        at = out.add("IfcCartesianPoint", (0.0, 0.0, foot))
        place = out.add("IfcAxis2Placement3D", at, None, None)
        return out.add("IfcExtrudedAreaSolid", plan, place, self._up, height)

    def _ring(self, coords: Sequence[Any]) -> Reference:
        points = [self._out.add("IfcCartesianPoint", (p[0], p[1])) for p in coords[:-1]]
        return self._out.add("IfcPolyline", (*points, points[0]))

    def _id(self, name: str) -> str:
        """Return an identifier in the schema's short form: the same name has the same one."""
        while name in self._names:
            name += " again"
        self._names.add(name)
        number = uuid.uuid5(uuid.NAMESPACE_OID, f"{self._survey} {name}").int
        digits = []
        for _ in range(22):
            number, digit = divmod(number, 64)
            digits.append(_DIGITS[digit])
        return "".join(reversed(digits))

    def text(self) -> str:
        """Return the whole model, its parts within the loft."""
        if self._parts:
            self._out.add(
                "IfcRelContainedInSpatialStructure",
                *(self._id("parts"), None, None, None, tuple(self._parts), self._storey),
            )
        return self._out.text()
