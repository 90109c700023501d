"""Choices read from texts, as a command line or an address has them."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from baywalk.planning.choices import Choices, Zone
from baywalk.planning.refused import BadChoice

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

_BOARD = re.compile(r"(\d{1,5}(?:\.\d{1,3})?)[x×](\d{1,5}(?:\.\d{1,3})?)", re.ASCII)
_NUMBER = re.compile(r"\d{1,9}(\.\d{1,6})?", re.ASCII)
_SIGNED = re.compile(r"-?\d{1,7}(\.\d{1,3})?", re.ASCII)
_PRICE = "price."


def read_choices(asked: Mapping[str, Sequence[str]], base: Choices | None = None) -> Choices:
    """Return the choices that are ``asked`` for by name, each once; lengths in mm.

    What is not asked for is as in ``base``.

    Raises :class:`BadChoice` naming what is not known, comes twice or is not of its form.
    """
    found: dict[str, Any] = {}
    prices = {}
    for name, texts in asked.items():
        if len(texts) != 1:
            raise BadChoice(name, "must come once")
        text = texts[0].strip()
        if name.startswith(_PRICE):
            prices[name.removeprefix(_PRICE)] = number(name, text)
        elif name in READERS:
            field, read = READERS[name]
            found[field] = read(name, text)
        else:
            raise BadChoice(name, "there is no such choice")
    start = base or Choices()
    return replace(start, **found, prices={**start.prices, **prices})


def number(name: str, text: str) -> float:
    """Read one number of a choice, in the unit of that choice."""
    if not _NUMBER.fullmatch(text) or not math.isfinite(float(text)):
        raise BadChoice(name, f"{text[:40]!a} is not a number")
    return float(text)


def _whole(name: str, text: str) -> int:
    value = number(name, text)
    if value != int(value):
        raise BadChoice(name, "must be a whole number")
    return int(value)


def _board(name: str, text: str) -> tuple[float, float]:
    return _pair(name, text, "write its length and width, as 2400x600")


def _hatch(name: str, text: str) -> tuple[float, float]:
    return _pair(name, text, "write its clear size across and along the joists, as 600x900")


def _pair(name: str, text: str, form: str) -> tuple[float, float]:
    match = _BOARD.fullmatch(text)
    if not match:
        raise BadChoice(name, form)
    return float(match[1]), float(match[2])


def _zone(name: str, text: str) -> Zone:
    """Read a zone: two corners, or a joist, its face, a tape line and four lengths from there."""
    run, colon, rest = text.rpartition(":")
    parts = [part.strip() for part in rest.split(",")]
    form = "write x0,y0,x1,y1, or joist,face,line,across,along,width,length"
    if len(parts) not in (4, 7) or not all(_SIGNED.fullmatch(part) for part in parts[-4:]):
        raise BadChoice(name, form)
    a, b, c, d = (float(part) for part in parts[-4:])
    start = None
    if len(parts) == 7:
        if not parts[0].isascii() or not parts[0].isdigit() or len(parts[0]) > 5:
            raise BadChoice(name, form)
        start = (int(parts[0]), parts[1], parts[2])
    return Zone((a, b, c, d), start, run if colon else None)


def _lengths(name: str, text: str) -> tuple[float, ...]:
    return tuple(number(name, part.strip()) for part in text.split(","))


def _yes(name: str, text: str) -> bool:
    if text not in ("0", "1", "true", "false", ""):
        raise BadChoice(name, "must be 1 or 0")
    return text in ("1", "true", "")


def _word(name: str, text: str) -> str:
    del name
    return text


READERS: dict[str, tuple[str, Callable[[str, str], Any]]] = {
    "deck": ("deck", number),
    "board": ("board", _board),
    "had": ("had", _whole),
    "gap": ("gap", number),
    "start_wall": ("start_wall", _word),
    "first": ("first", _word),
    "use": ("use", _word),
    "stock": ("stock", _lengths),
    "roof": ("roof", _word),
    "hatch": ("hatch", _hatch),
    "zone": ("zone", _zone),
    "time": ("seconds", number),
    "anyway": ("anyway", _yes),
}
"""Every choice by the name it is written with: its field, and what reads it."""
