"""Writing exchange structures in clear text (ISO 10303-21): instances, one a line, by number."""

from __future__ import annotations

from dataclasses import dataclass

_HEAD = """ISO-10303-21;
HEADER;
FILE_DESCRIPTION((''),'2;1');
FILE_NAME({title},'1970-01-01T00:00:00',(''),(''),'baywalk','baywalk','');
FILE_SCHEMA(({schema}));
ENDSEC;
DATA;
"""
"""What comes before the instances; its day is always the same, so that files can be compared."""


@dataclass(frozen=True)
class Reference:
    """Points at an instance by its number."""

    number: int


@dataclass(frozen=True)
class Name:
    """One of the names that a schema lists."""

    text: str


@dataclass(frozen=True)
class Unset:
    """An attribute that follows from others, and is not written."""


Value = Reference | Name | Unset | str | float | None | tuple["Value", ...]


class Out:
    """An exchange structure while it is written."""

    def __init__(self, schema: str, title: str) -> None:
        """Begin one of that schema."""
        self._head = _HEAD.format(title=_written(title), schema=_written(schema))
        self._lines: list[str] = []

    def add(self, entity: str, *attributes: Value) -> Reference:
        """Write an instance of an entity; return what points at it."""
        number = len(self._lines) + 1
        inside = ",".join(map(_written, attributes))
        self._lines.append(f"#{number}={entity.upper()}({inside});\n")
        return Reference(number)

    def text(self) -> str:
        """Return the whole."""
        return self._head + "".join(self._lines) + "ENDSEC;\nEND-ISO-10303-21;\n"


def _written(value: Value) -> str:
    match value:
        case None:
            return "$"
        case Reference():
            return f"#{value.number}"
        case Name():
            return f".{value.text}."
        case Unset():
            return "*"
        case str():
            return _quoted(value)
        case tuple():
            return f"({','.join(map(_written, value))})"
        case int():
            return str(value)
        case float():
            # Every real has a point; six places are a millionth of a millimetre.
            plain = f"{round(value, 9):.9f}".rstrip("0")
            return "0." if plain == "-0." else plain


def _quoted(text: str) -> str:
    """Return a string as the structure has it: an apostrophe twice, other letters by their code."""
    plain = "".join(
        char if " " <= char <= "~" else f"\\X4\\{ord(char):08X}\\X0\\"
        for char in text.replace("\\", "\\\\").replace("'", "''")
    )
    return f"'{plain}'"
