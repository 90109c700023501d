"""The entries of a field book: what each kind must carry.

A kind or field not known here is kept and handed on as it came: a later phone may write it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import INCLUDE, Schema

from baywalk.fieldbook.errors import Fault
from baywalk.fieldbook.fields import (
    MAX_COUNTER,
    MAX_JOIST,
    MAX_LENGTH,
    SHA256,
    Anything,
    Choice,
    Id,
    Length,
    Name,
    Pair,
    Text,
    Time,
    Whole,
)
from baywalk.fieldbook.head import first_fault
from baywalk.fieldbook.text import MAX_NESTING, unsound

_FACES = ("left", "right", "centre", "face")


class EntrySchema(Schema):
    """What every entry carries, of whatever kind."""

    class Meta:
        """Fields of a later version pass through unchanged."""

        unknown = INCLUDE

    id = Id(required=True)
    at = Time(required=True)
    by = Name(required=True)
    n = Whole(most=MAX_COUNTER)
    kind = Name(required=True)


class _Placed(EntrySchema):
    """What may say where in a run it belongs."""

    run = Name()
    line = Name()
    joist = Whole(most=MAX_JOIST)
    bay = Whole(most=MAX_JOIST)


class ReadingSchema(EntrySchema):
    """What every reading carries: its run and ``value`` [mm]."""

    run = Name(required=True)
    value = Length(required=True)
    resolution = Length()
    note = Text()
    hook = Name()


class AcrossSchema(ReadingSchema):
    """A distance along a tape line from one face to another."""

    line = Name(required=True)
    from_ = Pair(Choice(*_FACES), data_key="from", required=True)
    to = Pair(Choice(*_FACES), required=True)


class AlongSchema(ReadingSchema):
    """A distance along a joist between two of its places."""

    joist = Whole(most=MAX_JOIST, required=True)
    from_ = Name(data_key="from", required=True)
    to = Name(required=True)


class DiagonalSchema(ReadingSchema):
    """A distance between two joists' centres where they cross tape lines."""

    from_ = Pair(Name(), data_key="from", required=True)
    to = Pair(Name(), required=True)


class SizeSchema(ReadingSchema):
    """A joist's breadth or depth."""

    joist = Whole(most=MAX_JOIST, required=True)


class LevelSchema(SizeSchema):
    """A distance from a level line down to a joist's top."""

    line = Name(required=True)


class BearingSchema(SizeSchema):
    """How long a joist's end bears on its support."""

    end = Choice("near", "far", required=True)


class StrikeSchema(EntrySchema):
    """The striking out of an entry, with the reason."""

    target = Id(required=True)
    reason = Text(required=True)


class RestoreSchema(EntrySchema):
    """The taking back of a strike."""

    target = Id(required=True)
    reason = Text()


class SetSchema(EntrySchema):
    """A change of the head."""

    path = Text(required=True, most=1_000)
    value = Anything(required=True)


class PhotoSchema(_Placed):
    """A photo, by the hash of its bytes as taken."""

    sha256 = Text(required=True, most=64, pattern=SHA256, say="a SHA-256 in lower case")
    width = Whole(most=MAX_LENGTH)
    height = Whole(most=MAX_LENGTH)
    caption = Text()


class RemarkSchema(_Placed):
    """A remark in words."""

    text = Text(required=True)


class UnreachedSchema(_Placed):
    """A reading that was asked for and could not be taken."""

    run = Name(required=True)
    reason = Text()


class FeatureSchema(_Placed):
    """A thing in the loft: a rectangle, something on a joist, or something in a bay [mm]."""

    run = Name(required=True)
    feature = Name(required=True)
    from_ = Pair(Choice(*_FACES), data_key="from")
    across = Length(least=-MAX_LENGTH)
    along = Length(least=-MAX_LENGTH)
    width = Length()
    length = Length()
    depth = Length()
    from_near_support = Length()
    edge = Text()
    note = Text()


KINDS: dict[str, EntrySchema] = {
    "across": AcrossSchema(),
    "along": AlongSchema(),
    "diagonal": DiagonalSchema(),
    "breadth": SizeSchema(),
    "depth": SizeSchema(),
    "level": LevelSchema(),
    "bearing": BearingSchema(),
    "strike": StrikeSchema(),
    "restore": RestoreSchema(),
    "set": SetSchema(),
    "photo": PhotoSchema(),
    "remark": RemarkSchema(),
    "unreached": UnreachedSchema(),
    "feature": FeatureSchema(),
}
"""The kinds known here, each with its schema."""

READINGS = frozenset(kind for kind, schema in KINDS.items() if isinstance(schema, ReadingSchema))
"""The kinds that are readings."""

_ANY = EntrySchema()
_DEPTH = MAX_NESTING - 2


def entry_fault(entry: object) -> Fault | None:
    """Return the first thing wrong with a parsed entry, or None. Its field is an outermost one."""
    if not isinstance(entry, Mapping):
        return Fault("", "an entry must be an object")
    # An entry lies in a list in an object, and the limit counts from the outermost.
    wide = unsound(entry, depth=_DEPTH, outermost=True)
    if wide:
        return wide
    fault = first_fault(_schema(entry), entry)
    return Fault(fault.field.split("/")[0], fault.why) if fault else None


def entry_name(entry: object) -> str | None:
    """Return the id that an entry goes by, be it right or wrong, or None where it has none.

    What no text may hold, half a surrogate pair, is shown as a question mark: an answer that held
    it could not be read everywhere.
    """
    named: Any = entry.get("id") if isinstance(entry, Mapping) else None
    return named.encode("utf-8", "replace").decode("utf-8") if isinstance(named, str) else None


def _schema(entry: Mapping[str, Any]) -> EntrySchema:
    """Return the schema of the entry's kind, or of any entry where the kind is not known."""
    kind = entry.get("kind")
    return KINDS.get(kind, _ANY) if isinstance(kind, str) else _ANY
