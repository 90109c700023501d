"""How much a reading is worth: the tape, its resolution and the hand, from the rule pack."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from baywalk.rules import Pack


@dataclass(frozen=True)
class Tape:
    """One tape or device.

    Attributes:
        name: what tells it from another tape of the same survey.
        grade: its accuracy class in the pack, "I", "II" or "III".

    """

    name: str
    grade: str


def tape_of(entry: Mapping[str, Any], usual: Mapping[str, Any], pack: Pack) -> Tape:
    """Return the tape a reading was taken with: its own ``tape``, else the survey's usual one.

    A text that is no class of the pack names a device of the usual class.
    """
    default = _grade(usual.get("class"), pack) or pack["tape.class.default"]
    own = entry.get("tape")
    if own is None:
        return Tape("", default)
    if isinstance(own, Mapping):
        grade = _grade(own.get("class"), pack) or default
        return Tape(str(own.get("id") or own.get("name") or grade), grade)
    grade = _grade(own, pack)
    # The usual class named again is the usual tape, not a second one.
    return Tape("" if grade == default else str(own), grade or default)


def _grade(name: object, pack: Pack) -> str | None:
    known = isinstance(name, str) and f"tape.class.{name}" in pack and name != "default"
    return str(name) if known else None


def sigma(entry: Mapping[str, Any], tape: Tape, pack: Pack, *, hooked: bool) -> float:
    """Return a reading's standard deviation before adjustment [mm].

    ``hooked`` says that one end of the length is a surface taken with the hook or tip. The part of
    the tape's error that grows with length is common to all its lengths and stands in its scale.
    """
    limits = pack[f"tape.class.{tape.grade}"]
    limit = limits["a"] + (limits["c"] if hooked else 0.0)
    step = float(entry.get("resolution") or pack["tape.resolution"])
    # Limits and steps of a uniform error: its standard deviation is half its width over root 3.
    return math.sqrt(limit**2 / 3 + step**2 / 12 + pack["reading.hand"] ** 2)


def scale_sigma(tape: Tape, pack: Pack) -> float:
    """Return the standard deviation of a tape's scale [mm per m], uniform within its class."""
    return float(pack[f"tape.class.{tape.grade}"]["b"] / math.sqrt(3))
