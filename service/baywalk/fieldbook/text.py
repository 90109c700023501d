"""JSON text in and out, strictly: what two readers could understand differently is refused.

Python's own reader takes NaN, keeps the last of two equal keys and lets half a surrogate pair
through. Here each of these is found and named.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any, NoReturn

from baywalk.fieldbook.errors import BadText, Fault

MAX_NESTING = 32
"""Greatest depth of objects and lists within one another in a text [-]."""


MOST_DIGITS = 4300
"""Greatest length of a whole number that is read [digits]: the reader's own limit."""

_HALVED = "holds half of a surrogate pair, which is no character"
_TOO_LARGE = "holds a number too large to read"


class _Twice(dict[str, Any]):
    """An object that named a key twice; kept so that the fault can be told where it lies."""

    key = ""


class _TooLarge(float):
    """A number that no machine number holds; kept so that the fault can be told where it lies."""


def parse(text: str | bytes) -> Any:
    """Read one JSON text in UTF-8.

    Raises :class:`BadText` where it is not JSON, holds NaN or an infinity, or is nested past all
    reading. What only spoils a part of it, a number too large to hold for one, is left for
    :func:`unsound` to find and name.
    """
    try:
        decoded = text.decode("utf-8") if isinstance(text, bytes) else text
        if decoded.startswith("\ufeff"):
            raise BadText("not JSON: it begins with a byte order mark, which JSON does not have")
        return json.loads(
            decoded,
            object_pairs_hook=_object,
            parse_constant=_no_constant,
            parse_float=_number,
            parse_int=_whole,
        )
    except UnicodeDecodeError as fault:
        raise BadText(f"not UTF-8 at byte {fault.start}") from None
    except json.JSONDecodeError as fault:
        raise BadText(
            f"not JSON at line {fault.lineno}, column {fault.colno}: {fault.msg}"
        ) from None
    except RecursionError:
        raise BadText(f"nested more than {MAX_NESTING} deep") from None


def write(value: object) -> str:
    """Return ``value`` as compact JSON in ASCII, which any store and any line can carry."""
    return json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"))


def unsound(value: object, *, depth: int = MAX_NESTING, outermost: bool = False) -> Fault | None:
    """Return the first thing that makes a parsed value unfit to keep, or None.

    That is a key named twice, half a surrogate pair, a number too large to hold, or a nesting
    deeper than ``depth`` [-]. Its field is where it lies, the names on the way joined by "/", or
    with ``outermost`` the first of them alone.
    """
    found = _unfit(value, depth)
    if found is None:
        return None
    trail, why = found
    return Fault("/".join(trail[:1] if outermost else trail), why)


def named_twice(value: object) -> Fault | None:
    """Return the fault of an object that names a key twice, its insides aside, or None."""
    return Fault("", f"names {value.key[:40]!a} twice") if isinstance(value, _Twice) else None


def same(one: object, other: object) -> bool:
    """Say whether two parsed values are equal as JSON: 1 is 1.0, but true is not 1."""
    if isinstance(one, bool) or isinstance(other, bool):
        return one is other
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    return one == other


def plain(value: Any) -> Any:
    """Return a parsed value with every whole number written without a point: 14 for 14.0."""
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, dict):
        return {key: plain(inner) for key, inner in value.items()}
    return [plain(inner) for inner in value] if isinstance(value, list) else value


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Build an object, marking it where a key comes twice."""
    built = dict(pairs)
    if len(built) == len(pairs):
        return built
    marked = _Twice(built)
    seen: set[str] = set()
    for key, _ in pairs:
        if key in seen:
            marked.key = key
            break
        seen.add(key)
    return marked


def _no_constant(name: str) -> NoReturn:
    """Refuse NaN and the infinities, which JSON does not have."""
    raise BadText(f"not JSON: {name} is not a number")


def _number(digits: str) -> float:
    """Read a number with a point or exponent, marking one too large to hold."""
    value = float(digits)
    return _TooLarge(value) if value in (float("inf"), float("-inf")) else value


def _whole(digits: str) -> int | float:
    """Read a whole number, marking one of more digits than are read."""
    return int(digits) if len(digits) <= MOST_DIGITS else _TooLarge("inf")


def _unfit(part: object, depth: int) -> tuple[list[str], str] | None:
    """Return where in a value that may be nested ``depth`` deep something is unfit, and why."""
    if isinstance(part, _TooLarge):
        return [], _TOO_LARGE
    if not isinstance(part, str | dict | list):
        return None
    why = _why_outside(part, depth)
    if why:
        return [], why
    for name, inner in _inside(part):
        found = _unfit(inner, depth - 1)
        if found:
            return [name, *found[0]], found[1]
    return None


def _why_outside(part: object, depth: int) -> str | None:
    """Return why a value, its insides aside, is unfit to keep, or None."""
    if isinstance(part, str):
        return _HALVED if _halved(part) else None
    if isinstance(part, dict | list) and depth < 1:
        return f"nested more than {MAX_NESTING} deep"
    twice = named_twice(part)
    if twice:
        return twice.why
    return _HALVED if isinstance(part, dict) and any(map(_halved, part)) else None


def _inside(part: object) -> Iterable[tuple[str, object]]:
    """Return the insides of an object or list with their names."""
    if isinstance(part, dict):
        return part.items()
    return (
        ((str(index), inner) for index, inner in enumerate(part)) if isinstance(part, list) else ()
    )


def _halved(text: str) -> bool:
    """Say whether a text cannot be written in UTF-8."""
    return not text.isascii() and any("\ud800" <= sign <= "\udfff" for sign in text)
