"""What sheets are made from, at the border: as-built, plan and load check as files of anyone's.

Only the fields that a sheet draws are looked at; those that a file may leave out, it may leave out.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import EXCLUDE, Schema, ValidationError, fields

from baywalk.fieldbook.fields import MAX_JOIST, MAX_LENGTH, Length, Name, Text, Two, Whole
from baywalk.fieldbook.head import first_fault
from baywalk.fieldbook.text import plain, unsound
from baywalk.sheets.filled import filled


class BadGiven(ValueError):  # noqa: N818 - read as a sentence where it is raised
    """A file that no sheet can be made from; its text is one line naming the field."""


class _Read(Schema):
    """A schema that passes over what no sheet reads."""

    error_messages = {"type": "must be an object"}  # noqa: RUF012 - as the library declares it

    class Meta:
        """Other fields are no business of sheets."""

        unknown = EXCLUDE


def _place(**more: Any) -> Length:
    """Return the field of a coordinate, either side of zero [mm]."""
    return Length(least=-MAX_LENGTH, **more)


class _Point(fields.Field[list[float]]):
    """A point in the plane: x and y [mm]."""

    default_error_messages = {  # noqa: RUF012 - as the library declares it
        "required": "is missing",
        "null": "must not be null",
    }

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> list[float]:  # noqa: ARG002 - the library's signature
        if not isinstance(value, list) or len(value) != 2:
            raise ValidationError("must be a list of two numbers")
        for part in value:
            _place().deserialize(part)
        return value


_LIST: dict[str, Any] = {
    "invalid": "must be a list",
    "required": "is missing",
    "null": "must not be null",
}
_MAP: dict[str, Any] = {
    "invalid": "must be an object",
    "required": "is missing",
    "null": "must not be null",
}


def _many(inner: fields.Field[Any] | type[Schema], **more: Any) -> fields.List[Any]:
    field = inner if isinstance(inner, fields.Field) else fields.Nested(inner)
    return fields.List(field, error_messages=_LIST, **more)


def _map(inner: type[Schema], **more: Any) -> fields.Dict:
    return fields.Dict(keys=Name(), values=fields.Nested(inner), error_messages=_MAP, **more)


class _Figure(fields.Field[Any]):
    """A length [mm]: a number, or an object with its value."""

    default_error_messages = {"null": "must not be null"}  # noqa: RUF012 - as the library declares it

    def _deserialize(self, value: Any, attr: str | None, data: Any, **more: Any) -> Any:
        if isinstance(value, Mapping):
            return fields.Nested(FigureSchema).deserialize(value, attr, data, **more)
        return _place().deserialize(value, attr, data, **more)


class FigureSchema(_Read):
    """A length and its standard deviation [mm]."""

    value = _place(required=True)
    sd = Length()


class PlaceSchema(_Read):
    """Where a joist or wall stands on a tape line [mm]."""

    x = _place(allow_none=True)
    sd = Length(allow_none=True)
    point = _Point(allow_none=True)


class WallSchema(_Read):
    """A wall that the joists run parallel to."""

    at = _map(PlaceSchema, required=True)


class JoistSchema(WallSchema):
    """One joist."""

    index = Whole(required=True, least=1, most=MAX_JOIST)
    breadth = _Figure(allow_none=True)
    depth = _Figure(allow_none=True)
    span = _Figure(allow_none=True)
    angle = _place(allow_none=True)
    level = fields.Dict(keys=Name(), values=_Figure(), allow_none=True, error_messages=_MAP)


class GapSchema(_Read):
    """A bay on one tape line [mm]."""

    gap = _place(allow_none=True)
    sd = Length(allow_none=True)
    centres = _place(allow_none=True)
    centres_sd = Length(allow_none=True)


class BaySchema(_Read):
    """One bay."""

    bay = Whole(required=True, most=MAX_JOIST)
    at = _map(GapSchema, required=True)


class SaidSchema(_Read):
    """A finding, a caution, or anything else that is printed as a sentence."""

    say = Text(required=True)


class FeatureSchema(_Read):
    """A feature; its other fields are those of its entry."""

    feature = Text(required=True)
    polygon = _many(_Point(), allow_none=True)


class MemberSchema(_Read):
    """The usual timber [mm]."""

    breadth = Length(allow_none=True)
    depth = Length(allow_none=True)


class RunSchema(_Read):
    """One run."""

    id = Name(required=True)
    title = Text()
    lines = _many(Name())
    laps = _many(Two())
    member = fields.Nested(MemberSchema, allow_none=True)
    walls = _map(WallSchema)
    joists = _many(JoistSchema, required=True)
    bays = _many(BaySchema)
    findings = _many(SaidSchema)
    next_readings = _many(SaidSchema)
    outline = _many(_Point(), allow_none=True)
    features = _many(FeatureSchema)
    readings = _many(fields.Dict(error_messages=_MAP))


class AsBuiltSchema(_Read):
    """An as-built."""

    survey = Name()
    title = Text()
    runs = _many(RunSchema, required=True)


class PieceSchema(_Read):
    """A piece of board."""

    id = Name(required=True)
    course = Whole(required=True, most=MAX_JOIST)
    polygon = _many(_Point(), required=True)
    length = Length(required=True)
    width = Length(required=True)
    board = Name(required=True)


class BoardSchema(_Read):
    """A board and what is cut from it."""

    id = Name(required=True)
    cuts = _many(Name())
    strips = _many(_many(Name()))
    offcut = Length()


class NogginSchema(_Read):
    """A noggin."""

    id = Name(required=True)
    bay = Whole(required=True, most=MAX_JOIST)
    y = _place(required=True)
    length = Length(required=True)
    use = Text(required=True)


class CourseSchema(_Read):
    """A row of boards."""

    index = Whole(required=True, most=MAX_JOIST)
    y0 = _place(required=True)
    y1 = _place(required=True)


class JointSchema(_Read):
    """An end joint."""

    course = Whole(required=True, most=MAX_JOIST)
    x = _place(required=True)
    support = fields.Dict(required=True, error_messages=_MAP)


class FrameSchema(_Read):
    """A noggin frame: its bay, and the noggins that it is made of."""

    id = Text(required=True)
    bay = Whole(required=True, most=MAX_JOIST)
    joint = Text()
    noggins = _many(Text(), required=True)


class StockSchema(_Read):
    """A board's size [mm]."""

    length = Length(required=True)
    width = Length(required=True)
    thickness = Length(required=True)


class AreaSchema(_Read):
    """What is decked."""

    outline = _many(_Point(), required=True)
    board = fields.Nested(StockSchema, required=True)
    gap = Length()


class DeckSchema(_Read):
    """The plan of one deck."""

    run = Name()
    deck = fields.Nested(AreaSchema, required=True)
    courses = _many(CourseSchema, required=True)
    pieces = _many(PieceSchema, required=True)
    joints = _many(JointSchema, required=True)
    boards = _many(BoardSchema, required=True)
    noggins = _many(NogginSchema, required=True)
    frames = _many(FrameSchema)
    timbers = _many(fields.Dict(error_messages=_MAP))
    sequence = _many(fields.Dict(error_messages=_MAP))
    cautions = _many(SaidSchema)


class PlanSchema(_Read):
    """A plan."""

    survey = Name()
    told = _many(Text())
    decks = _many(DeckSchema, required=True)


class CapacitySchema(_Read):
    """A load check; its runs are read as they come."""

    survey = Name()
    runs = _many(fields.Dict(error_messages=_MAP), required=True)


_SCHEMAS: dict[str, Schema] = {
    "baywalk.as-built": AsBuiltSchema(),
    "baywalk.plan": PlanSchema(),
    "baywalk.capacity": CapacitySchema(),
}

VERSION = 1


def sound(data: object, form: str) -> dict[str, Any]:
    """Return a parsed file that is of the format ``form`` and can be drawn.

    Raises :class:`BadGiven` with one line naming the field where it is not.
    """
    if not isinstance(data, Mapping):
        raise BadGiven("the file must hold an object")
    if data.get("format") != form:
        raise BadGiven(f"field 'format': must be {form}")
    if data.get("version") is True or data.get("version") != VERSION:
        raise BadGiven(f"field 'version': this version is not known here; version {VERSION} is")
    fault = unsound(data) or first_fault(_SCHEMAS[form], data)
    if fault:
        raise BadGiven(str(fault))
    # Parts of it are drawn as they come, and no sheet should say "J4.0".
    given = plain(data)
    return filled(given) if form == "baywalk.as-built" else dict(given)
