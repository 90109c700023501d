"""Marshmallow fields for what a field book holds, stricter than the library's own.

A number is never read from a text or a boolean, and every refusal is one plain sentence.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any, TypeVar

from marshmallow import Schema, ValidationError, fields

MAX_LENGTH = 1_000_000
"""Greatest value of a reading [mm]."""
MAX_JOIST = 10_000
"""Greatest joist number [-]."""
MAX_TITLE = 200
"""Greatest length of a title or a name [characters]."""
MAX_TEXT = 10_000
"""Greatest length of a remark, reason, note or caption [characters]."""
MAX_COUNTER = 2**53 - 1
"""Greatest logical counter [-]: the greatest whole number that every JSON reader keeps."""

UUID = r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"
SHA256 = r"^[0-9a-f]{64}$"
_TIME = re.compile(
    r"\d{4}-\d\d-\d\d[Tt]\d\d:\d\d:\d\d(\.\d+)?([Zz]|[+-]([01]\d|2[0-3]):[0-5]\d)", re.ASCII
)


_Value = TypeVar("_Value")


def _describe(field: fields.Field[Any], **limits: object) -> None:
    """Note a field's limits in the words of JSON Schema, for the description of the routes."""
    field.metadata = {**field.metadata, **{k: v for k, v in limits.items() if v is not None}}


class _Plain(fields.Field[_Value]):
    """The library's own refusals, in the words of this house."""

    default_error_messages = {  # noqa: RUF012 - as the library declares it
        "required": "is missing",
        "null": "must not be null",
    }


class Length(_Plain[float]):
    """A length [mm]: a JSON number from ``least`` to ``most``."""

    def __init__(self, *, least: float = 0, most: float = MAX_LENGTH, **more: Any) -> None:
        """Take the limits, and what every field takes."""
        super().__init__(**more)
        _describe(self, minimum=least, maximum=most)
        self._least, self._most = least, most

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> float:  # noqa: ARG002 - the library's signature
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValidationError("must be a number")
        # A whole number may be longer than any float: it is compared, never converted.
        if isinstance(value, float) and not math.isfinite(value):
            raise ValidationError("must be a finite number")
        if not self._least <= value <= self._most:
            raise ValidationError(f"must be from {self._least} to {self._most}")
        return value


class Whole(_Plain[int]):
    """A whole number from ``least`` to ``most``.

    To JSON Schema 14.0 is one as well. So that nobody behind the border need know of it, it is put
    right where it stands: the object that was read has 14 from then on.
    """

    def __init__(self, *, least: int = 0, most: int, **more: Any) -> None:
        """Take the limits, and what every field takes."""
        super().__init__(**more)
        _describe(self, minimum=least, maximum=most)
        self._least, self._most = least, most

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> int:
        if isinstance(value, float) and value.is_integer():
            value = int(value)
            if attr is not None:
                data[attr] = value
        if isinstance(value, bool) or not isinstance(value, int):
            raise ValidationError("must be a whole number")
        if not self._least <= value <= self._most:
            raise ValidationError(f"must be from {self._least} to {self._most}")
        return value


class Text(_Plain[str]):
    """A text of at most ``most`` characters, of the ``pattern`` where one is given."""

    def __init__(
        self,
        *,
        least: int = 0,
        most: int = MAX_TEXT,
        pattern: str | None = None,
        say: str = "",
        **more: Any,
    ) -> None:
        """Take the limits [characters], the pattern with its words ``say``, and the rest."""
        super().__init__(**more)
        _describe(self, minLength=least or None, maxLength=most, pattern=pattern)
        self._least, self._most, self._say = least, most, say
        self._pattern = re.compile(pattern, re.ASCII) if pattern else None

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> str:  # noqa: ARG002 - the library's signature
        if not isinstance(value, str):
            raise ValidationError("must be a text")
        if len(value) < self._least:
            raise ValidationError("must not be empty")
        if len(value) > self._most:
            raise ValidationError(f"must be at most {self._most} characters")
        if self._pattern and not self._pattern.fullmatch(value):
            raise ValidationError(f"must be {self._say}")
        return value


class Id(Text):
    """A UUID in its canonical form, in lower case."""

    def __init__(self, **more: Any) -> None:
        """Take what every field takes."""
        super().__init__(most=36, pattern=UUID, say="a UUID in lower case", **more)


class Name(Text):
    """A short name that is not empty: of a run, a tape line, a device."""

    def __init__(self, **more: Any) -> None:
        """Take what every field takes."""
        super().__init__(least=1, most=MAX_TITLE, **more)


class Time(Text):
    """A moment as RFC 3339 writes it, with its offset. It is a label, never an order."""

    def __init__(self, **more: Any) -> None:
        """Take what every field takes."""
        super().__init__(least=1, most=64, **more)
        _describe(self, format="date-time")

    def _deserialize(self, value: Any, attr: str | None, data: Any, **more: Any) -> str:
        text = super()._deserialize(value, attr, data, **more)
        match = _TIME.fullmatch(text)
        if not match or not _in_calendar(text):
            raise ValidationError("must be a date and time with an offset (RFC 3339)")
        return text


def _in_calendar(text: str) -> bool:
    """Say whether the calendar has this moment, given in the form of RFC 3339."""
    # RFC 3339 allows a leap second, which Python's calendar does not know.
    second = "59" if text[17:19] == "60" else text[17:19]
    try:
        datetime.fromisoformat(f"{text[:10]}T{text[11:17]}{second}")
    except ValueError:
        return False
    return True


class Choice(Text):
    """One of a few words."""

    def __init__(self, *words: str, **more: Any) -> None:
        """Take the words, and what every field takes."""
        super().__init__(most=MAX_TITLE, **more)
        _describe(self, enum=list(words))
        self._words = words

    def _deserialize(self, value: Any, attr: str | None, data: Any, **more: Any) -> str:
        text = super()._deserialize(value, attr, data, **more)
        if text not in self._words:
            raise ValidationError(f"must be one of {', '.join(self._words)}")
        return text


class Anything(_Plain[Any]):
    """A JSON value of any shape, null among them."""

    def __init__(self, **more: Any) -> None:
        """Take what every field takes."""
        super().__init__(allow_none=True, **more)


class Pair(_Plain[list[Any]]):
    """Two values in a list: a joist, and its face or a tape line."""

    def __init__(self, second: Text, **more: Any) -> None:
        """Take the field of the second value, and what every field takes."""
        super().__init__(**more)
        self.first: Whole = Whole(most=MAX_JOIST)
        self.second = second

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> list[Any]:  # noqa: ARG002 - the library's signature
        if not isinstance(value, list) or len(value) != 2:
            raise ValidationError("must be a list of two: a joist, and its face or tape line")
        for index, place in enumerate(("first", "second")):
            field: fields.Field[Any] = self.second if index else self.first
            try:
                value[index] = field.deserialize(value[index])
            except ValidationError as fault:
                raise ValidationError(f"its {place} part {fault.messages[0]}") from None
        return value


class Two(_Plain[list[str]]):
    """The names of two things, in a list: two tape lines."""

    def __init__(self, **more: Any) -> None:
        """Take what every field takes."""
        super().__init__(**more)
        self.inner: Name = Name()

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> list[str]:  # noqa: ARG002 - the library's signature
        if not isinstance(value, list) or len(value) != 2 or value[0] == value[1]:
            raise ValidationError("must be a list of two names")
        for name in value:
            self.inner.deserialize(name)
        return value


def part(schema: type[Schema]) -> fields.Nested:
    """Return a field that is an object of another schema, refused in the words of this house."""
    return fields.Nested(schema, error_messages=_Plain.default_error_messages)


class Many(_Plain[list[Any]]):
    """A list whose every member is of one field or schema, no two of them of the same name."""

    def __init__(self, inner: fields.Field[Any] | type[Schema], **more: Any) -> None:
        """Take what each member must be, and what every field takes."""
        super().__init__(**more)
        self.inner: fields.Field[Any] = inner if isinstance(inner, fields.Field) else part(inner)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> list[Any]:  # noqa: ARG002 - the library's signature
        if not isinstance(value, list):
            raise ValidationError("must be a list")
        names: set[Any] = set()
        for index, member in enumerate(value):
            try:
                self.inner.deserialize(member)
            except ValidationError as fault:
                raise ValidationError({index: fault.messages}) from None
            name = member["id"] if isinstance(member, Mapping) else member
            name = tuple(name) if isinstance(name, list) else name
            if name in names:
                raise ValidationError({index: [f"comes twice: {name[:40]!a}"]})
            names.add(name)
        return value
