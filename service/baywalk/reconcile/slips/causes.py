"""How likely each slip of the hand turns the right number into the one written down."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

Chance = tuple[str, float]
"""A cause and the chance that it makes this reading of that right one."""

_NEARLY = 0.5
"""A cause with this share of the likeliest one's chance is named beside it."""


@dataclass(frozen=True)
class Setting:
    """What is known of one reading beyond its number.

    Attributes:
        shares: share of each cause among all slips, from the rule pack.
        breadths: breadths [mm] of the joists whose faces the reading names.
        ends: how many faces it names, each of which may be the wrong one.
        hooked: True where the tape's hook or tip was at one end.
        neighbours: what the bays beside it read along the same line [mm].
        spread: standard deviation of such a reading [mm].

    """

    shares: dict[str, float]
    breadths: tuple[float, ...]
    hooked: bool
    neighbours: tuple[float, ...]
    spread: float


def chances(right: float, written: float, decimals: int, setting: Setting) -> Iterator[Chance]:
    """Yield every cause that turns ``right`` into ``written`` [mm], with its chance.

    ``decimals`` is how many the written number carries; digits are those of that notation.
    """
    yield from _digits(_text(right, decimals), _text(written, decimals), setting.shares)
    yield from _misread(written - right, setting)
    yield from _units(right, written, setting.shares)
    yield from _faces(written - right, setting)
    yield from _wrong_bay(written, setting)


def _text(value: float, decimals: int) -> str:
    return str(round(value * 10**decimals))


def _digits(right: str, written: str, shares: dict[str, float]) -> Iterator[Chance]:
    """Yield slips of typing: one digit wrong, two swapped, one lost, added or doubled."""
    count = len(right)
    if count == len(written):
        wrong = [i for i in range(count) if right[i] != written[i]]
        if len(wrong) == 1:
            yield "wrong_digit", shares["wrong_digit"] / (9 * count)
        elif _swapped(right, written, wrong):
            yield "digits_swapped", shares["digits_swapped"] / (count - 1)
    elif count == len(written) + 1:
        ways = sum(right[:i] + right[i + 1 :] == written for i in range(count))
        if ways:
            yield "digit_lost", shares["digit_lost"] * ways / count
    elif count + 1 == len(written):
        yield from _added(right, written, shares)


def _swapped(right: str, written: str, wrong: list[int]) -> bool:
    if len(wrong) != 2 or wrong[1] != wrong[0] + 1:
        return False
    i, j = wrong
    return right[i] == written[j] and right[j] == written[i]


def _added(right: str, written: str, shares: dict[str, float]) -> Iterator[Chance]:
    places = [i for i in range(len(written)) if written[:i] + written[i + 1 :] == right]
    if not places:
        return
    yield "digit_added", shares["digit_added"] * len(places) / (10 * len(written))
    if any(_repeats(written, i) for i in places):
        yield "digit_doubled", shares["digit_doubled"] / len(right)


def _repeats(text: str, i: int) -> bool:
    return text[i] in (text[i - 1 : i] + text[i + 1 : i + 2])


def _misread(slip: float, setting: Setting) -> Iterator[Chance]:
    """Yield whole marks of the tape misread, and a zero at 100 not taken off."""
    shares = setting.shares
    if abs(abs(slip) - 100) < 0.5:
        yield "hundred_misread", shares["hundred_misread"] / 2
    if abs(abs(slip) - 10) < 0.5:
        yield "ten_misread", shares["ten_misread"] / 2
    if setting.hooked and abs(slip - 100) < 0.5:
        yield "hooked_at_100", shares["hooked_at_100"]


def _units(right: float, written: float, shares: dict[str, float]) -> Iterator[Chance]:
    """Yield another unit: centimetres, or the inches side of the tape."""
    if abs(right / 10 - written) <= 0.5:
        yield "centimetres", shares["centimetres"]
    if abs(right / 25.4 - written) <= 0.5:
        yield "inches", shares["inches"]


def _faces(slip: float, setting: Setting) -> Iterator[Chance]:
    """Yield a joist's breadth too much or too little, which is also the wrong face of it."""
    if not setting.breadths:
        return
    each = 1 / (2 * len(setting.breadths))
    for breadth in setting.breadths:
        near = _normal(abs(slip) - breadth, setting.spread)
        name = "wrong_face" if len(setting.breadths) == 1 else _breadth_cause(slip)
        yield name, setting.shares["wrong_face"] * each * near


def _breadth_cause(slip: float) -> str:
    return "breadth_counted_twice" if slip > 0 else "breadth_forgotten"


def _wrong_bay(written: float, setting: Setting) -> Iterator[Chance]:
    """Yield the neighbouring bay measured instead, whatever this one is."""
    if setting.neighbours:
        each = setting.shares["wrong_bay"] / len(setting.neighbours)
        spread = setting.spread * math.sqrt(2)
        yield "wrong_bay", sum(each * _normal(written - n, spread) for n in setting.neighbours)


def _normal(distance: float, sd: float) -> float:
    """Return the chance of a whole millimetre at this distance from the middle."""
    return math.exp(-0.5 * (distance / sd) ** 2) / (sd * math.sqrt(2 * math.pi))


def likeliest(named: dict[str, float]) -> list[str]:
    """Return the likeliest cause first, then those nearly as likely."""
    top = max(named.values())
    shares = {cause: round(chance / top, 4) for cause, chance in named.items()}
    near = [cause for cause, share in shares.items() if share >= _NEARLY]
    return sorted(near, key=lambda cause: -shares[cause])
