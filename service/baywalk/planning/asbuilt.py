"""The as-built at the border: what planning reads of it, checked before anything is reckoned."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from typing import Any

from marshmallow import EXCLUDE, Schema, ValidationError, fields
from marshmallow.validate import Length as Corners
from shapely import Polygon

from baywalk.fieldbook.fields import MAX_JOIST, MAX_LENGTH, Length, Name, Text, Two, Whole
from baywalk.fieldbook.head import first_fault
from baywalk.fieldbook.text import unsound
from baywalk.planning.good import made_good, value
from baywalk.planning.ground import ground
from baywalk.planning.refused import BadAsBuilt, Reason, Refused

FORMAT, VERSION = "baywalk.as-built", 1
AGAINST = 25.0
"""How far a joist against a wall may be read into it [mm]."""
MOST_ANGLE = 80.0
"""How far a joist may lean from square to the first tape line [degrees]."""
THINNEST, THICKEST = 10, 1000
"""Breadths and depths that a joist may have [mm]."""


class _Read(Schema):
    """A schema that passes over what planning does not read."""

    error_messages = {"type": "must be an object"}  # noqa: RUF012 - as the library declares it

    class Meta:
        """Other fields are no business of planning."""

        unknown = EXCLUDE


_MESSAGES: dict[str, Any] = {"required": "is missing", "null": "must not be null"}
_LIST: dict[str, Any] = {"invalid": "must be a list", **_MESSAGES}
_OBJECT: dict[str, Any] = {"invalid": "must be an object", **_MESSAGES}


class _Coordinate(Length):
    """A coordinate in the plane [mm]."""

    def __init__(self, **more: Any) -> None:
        """Take what every field takes."""
        super().__init__(least=-MAX_LENGTH, **more)


class _Angle(Length):
    """A direction from square to the first tape line [degrees]."""

    def __init__(self, **more: Any) -> None:
        """Take what every field takes."""
        super().__init__(least=-MOST_ANGLE, most=MOST_ANGLE, **more)


class _Point(fields.Field[list[float | None]]):
    """A point in the plane: x and y [mm]."""

    default_error_messages = _MESSAGES

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> list[float | None]:  # noqa: ARG002 - the library's signature
        if not isinstance(value, list) or len(value) != 2:
            raise ValidationError("must be a list of two numbers")
        return [_Coordinate().deserialize(part) for part in value]


def _points(**more: Any) -> fields.List[Any]:
    three = Corners(min=3, error="must have three corners or more")
    return fields.List(_Point(), error_messages=_LIST, validate=three, **more)


class FigureSchema(_Read):
    """A length and its standard deviation [mm]."""

    value = Length(required=True, least=-MAX_LENGTH)
    sd = Length(allow_none=True)


class _Figure(fields.Field[Any]):
    """A length with its deviation, or a bare number [mm]."""

    default_error_messages = _MESSAGES

    def __init__(self, *, least: float = 0, **more: Any) -> None:
        """Take the least value [mm], and what every field takes."""
        super().__init__(allow_none=True, **more)
        self._least = least

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> Any:  # noqa: ARG002 - the library's signature
        if not isinstance(value, Mapping):
            return Length(least=self._least).deserialize(value)
        fault = first_fault(FigureSchema(), value)
        if fault:
            raise ValidationError({fault.field: [fault.why]})
        Length(least=self._least).deserialize(value["value"])
        return value


class _Levels(fields.Field[Any]):
    """A level on each tape line; a bare number, which belongs to no line, is passed over [mm]."""

    default_error_messages = _MESSAGES

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> Any:  # noqa: ARG002 - the library's signature
        if not isinstance(value, Mapping):
            return Length(least=-MAX_LENGTH).deserialize(value)
        for line, figure in value.items():
            try:
                _Figure(least=-MAX_LENGTH).deserialize(figure)
            except ValidationError as fault:
                raise ValidationError({line: fault.messages}) from None
        return value


class PlaceSchema(_Read):
    """Where a member stands on a tape line [mm]."""

    x = _Coordinate(allow_none=True)
    point = _Point(allow_none=True)


def _by_line(inner: fields.Field[Any], **more: Any) -> fields.Dict:
    return fields.Dict(keys=Name(), values=inner, error_messages=_OBJECT, **more)


class WallSchema(_Read):
    """A wall that the joists run parallel to."""

    at = _by_line(fields.Nested(PlaceSchema), required=True)
    angle = _Angle(allow_none=True)


class WallsSchema(_Read):
    """Both of them."""

    start = fields.Nested(WallSchema, allow_none=True)
    end = fields.Nested(WallSchema, allow_none=True)


class JoistSchema(WallSchema):
    """One joist."""

    index = Whole(required=True, least=1, most=MAX_JOIST)
    breadth = _Figure()
    depth = _Figure()
    span = _Figure()
    ends = _by_line(_Figure(least=-MAX_LENGTH), allow_none=True)
    level = _Levels(allow_none=True)


class GapSchema(_Read):
    """A bay on one tape line [mm]."""

    sd = Length(allow_none=True)
    centres = Length(allow_none=True)


class BaySchema(_Read):
    """One bay."""

    bay = Whole(required=True, most=MAX_JOIST)
    at = _by_line(fields.Nested(GapSchema), required=True)


class MemberSchema(_Read):
    """The usual timber [mm]."""

    breadth = Length(allow_none=True)
    depth = Length(allow_none=True)


class NominalSchema(_Read):
    """The spacing set out to [mm]."""

    centres = Length(allow_none=True)


class FeatureSchema(_Read):
    """A feature; its other fields are those of its entry."""

    id = Name(required=True)
    feature = Text(required=True)
    polygon = _points(allow_none=True)
    bay = Whole(allow_none=True, most=MAX_JOIST)
    depth = Length(allow_none=True)


class RunSchema(_Read):
    """One run; only what planning cannot do without must be there."""

    id = Name(required=True)
    title = Text()
    lines = fields.List(Name(), allow_none=True, error_messages=_LIST)
    laps = fields.List(Two(), allow_none=True, error_messages=_LIST)
    member = fields.Nested(MemberSchema, allow_none=True)
    walls = fields.Nested(WallsSchema, allow_none=True)
    joists = fields.List(fields.Nested(JoistSchema), required=True, error_messages=_LIST)
    bays = fields.List(fields.Nested(BaySchema), allow_none=True, error_messages=_LIST)
    nominal = fields.Nested(NominalSchema, allow_none=True)
    outline = _points(allow_none=True)
    features = fields.List(fields.Nested(FeatureSchema), allow_none=True, error_messages=_LIST)
    settled = fields.Boolean(truthy={True}, falsy={False})


class AsBuiltSchema(_Read):
    """The whole of it."""

    format = Text(required=True)
    version = Whole(required=True, most=MAX_JOIST)
    survey = Name()
    title = Text()
    runs = fields.List(fields.Nested(RunSchema), required=True, error_messages=_LIST)
    settled = fields.Boolean(truthy={True}, falsy={False})


_SCHEMA = AsBuiltSchema()


def sound(data: object) -> dict[str, Any]:
    """Return a parsed as-built with every field that planning reads, those left out made good.

    Raises :class:`BadAsBuilt` with one line naming the field where it is not of its shape.
    """
    if not isinstance(data, Mapping):
        raise BadAsBuilt("an as-built must be an object")
    if data.get("format") != FORMAT:
        raise BadAsBuilt(f"field 'format': must be {FORMAT}")
    if isinstance(data.get("version"), bool) or data.get("version") != VERSION:
        raise BadAsBuilt(f"field 'version': this version is not known here; version {VERSION} is")
    fault = unsound(data) or first_fault(_SCHEMA, data)
    if fault:
        raise BadAsBuilt(str(fault))
    _check_ids("runs", data["runs"])
    for place, run in enumerate(data["runs"]):
        _check_joists(f"runs/{place}", run)
        _check_ids(f"runs/{place}/features", run.get("features") or [])
    good = made_good(data)
    for place, run in enumerate(good["runs"]):
        _check_laps(f"runs/{place}", run)
    return good


def _check_ids(where: str, things: Sequence[Mapping[str, Any]]) -> None:
    """Raise the fault of two things with one id: what a plan says of one would be of both."""
    met: set[str] = set()
    for place, thing in enumerate(things):
        if thing["id"] in met:
            raise BadAsBuilt(f"field '{where}/{place}/id': is the id of another already")
        met.add(thing["id"])


def _check_laps(where: str, run: Mapping[str, Any]) -> None:
    """Raise the fault of a lap between tape lines that are no neighbours."""
    neighbours = [list(pair) for pair in itertools.pairwise(run["lines"])]
    for place, pair in enumerate(run["laps"]):
        if pair not in neighbours:
            why = "must name two neighbouring tape lines, the near one first"
            raise BadAsBuilt(f"field '{where}/laps/{place}': {why}")


def _check_joists(where: str, run: Mapping[str, Any]) -> None:
    """Raise the fault of joists out of order or of a size that no timber has."""
    indexes = [joist["index"] for joist in run["joists"]]
    if indexes != list(range(1, len(indexes) + 1)):
        raise BadAsBuilt(f"field '{where}/joists': must be numbered from 1 in order")
    for place, joist in enumerate(run["joists"]):
        for name in ("breadth", "depth"):
            size = value(joist.get(name))
            if size is not None and not THINNEST <= size <= THICKEST:
                raise BadAsBuilt(
                    f"field '{where}/joists/{place}/{name}': must be from {THINNEST} to {THICKEST}"
                )


def unready(run: Mapping[str, Any]) -> list[Reason]:
    """Return why a run cannot be planned: what the readings leave open."""
    name = run["title"] or run["id"]
    if not run["joists"]:
        return [Reason("run.no_joists", f"{name}: it has no joists.")]
    if run["outline"] is None:
        say = (
            f"{name}: the deck's limit is not determined. Read the near and the far edge along two"
            " joists, and a diagonal."
        )
        return [Reason("run.no_outline", say)]
    members = [*run["joists"], *run["walls"].values()]
    loose = [m["index"] for m in members if all(p["point"] is None for p in m["at"].values())]
    if loose:
        named = ", ".join(_name(run, index) for index in loose[:6])
        return [Reason("run.not_determined", f"{name}: {named} cannot be placed yet. Read it.")]
    return (
        _turned(run, name)
        or _lapped(run, name)
        or _thin(run, name)
        or _outline(run, name)
        or _crossing(run, name)
    )


def _turned(run: Mapping[str, Any], name: str) -> list[Reason]:
    """Return the reason that nothing says which way members run."""
    ways = [m.index for m in ground(dict(run)).members if not m.has_direction]
    if not ways:
        return []
    named = ", ".join(_name(run, index) for index in ways[:6])
    more = f" and {len(ways) - 6} more" if len(ways) > 6 else ""
    say = (
        f"{name}: {named}{more}: known at one place only, so nothing says which way it runs."
        " Read it on another tape line."
    )
    return [Reason("run.one_line", say)]


def _lapped(run: Mapping[str, Any], name: str) -> list[Reason]:
    """Return the reason that a timber beside a lap has no direction of its own."""
    lines, far = list(run["lines"]), [pair[1] for pair in run["laps"]]
    starts = [0, *(lines.index(line) for line in far), len(lines)]
    sides = [lines[a:b] for a, b in itertools.pairwise(sorted(starts))] if far else []
    for joist in run["joists"]:
        for side in sides:
            known = [line for line in side if joist["at"][line]["point"] is not None]
            beside = {line for pair in run["laps"] for line in pair if line in side}
            if len(known) < 2 or not beside <= {*known}:
                say = (
                    f"{name}: J{joist['index']} is not read on two tape lines on either side of the"
                    " lap, so nothing says which way its timbers run. Read it on both lines beside"
                    " the lap, and on one more on each side."
                )
                return [Reason("lap.not_read", say)]
    return []


def _outline(run: Mapping[str, Any], name: str) -> list[Reason]:
    """Return the reason that the outline is none."""
    shape = Polygon(run["outline"])
    if shape.is_valid and shape.area > 0:
        return []
    say = f"{name}: its outline crosses itself. Read its edges again."
    return [Reason("run.outline_crossed", say)]


def _crossing(run: Mapping[str, Any], name: str) -> list[Reason]:
    """Return the reason that two members stand in one place or out of their order."""
    members = ground(dict(run)).members
    edges = [y for _, y in run["outline"]]
    laps = [y for member in members for lap in member.laps for y in lap]
    ys = (min(edges), max(edges), *laps)
    for one, other in itertools.pairwise(members):
        # A joist may stand hard against a wall, and be read a little into it.
        room = -AGAINST if one.wall or other.wall else 0.0
        if any(other.left(y) - one.right(y) < room for y in ys):
            pair = " and ".join(_name(run, m.index) for m in (one, other))
            say = f"{name}: {pair} cross or stand in one place. Read them again."
            return [Reason("joists.cross", say)]
    return []


def _thin(run: Mapping[str, Any], name: str) -> list[Reason]:
    """Return the reason that nothing says how broad a joist is."""
    usual = run["member"].get("breadth")
    for joist in run["joists"]:
        if not ((joist["breadth"] or {}).get("value") or usual):
            say = f"{name}: nothing says how broad J{joist['index']} is. Read its breadth."
            return [Reason("joist.no_breadth", say)]
    return []


def _name(run: Mapping[str, Any], index: int) -> str:
    if index == 0:
        return "the start wall"
    return "the end wall" if index == len(run["joists"]) + 1 else f"J{index}"


def check_settled(data: Mapping[str, Any], *, anyway: bool) -> list[str]:
    """Return what the plan was told to go on with; raise :class:`Refused` if it was not told."""
    if data["settled"]:
        return []
    doubts = [
        finding["say"]
        for run in data["runs"]
        for finding in run.get("findings", ())
        if isinstance(finding, Mapping) and finding.get("severity") == "settle"
    ]
    if anyway:
        told = "Planned although the survey is not settled, because it was told to go on anyway."
        return [told, *map(str, doubts)]
    reasons = [Reason("survey.not_settled", "The survey is not settled.")]
    reasons += [Reason("survey.doubt", str(say)) for say in doubts]
    raise Refused(*reasons)
