"""Joists to be added that meet an opening: cut there, and hung from its trimmers."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.ground import Member
    from baywalk.planning.trimming import Opening, Trimmer
    from baywalk.rules import Pack

_TOUCH = 1.0
"""An end within this of what it should meet meets it [mm]."""


@dataclass(frozen=True)
class Tail:
    """A part of a joist to be added, from ``low`` to ``high`` [mm], ``length`` [mm] to cut.

    ``hangs`` has the trimmers that it hangs from at its near and at its far end, None where it
    bears as a whole joist does.
    """

    member: Member
    low: float
    high: float
    length: float
    hangs: tuple[Trimmer | None, Trimmer | None]

    @property
    def trimmers(self) -> list[Trimmer]:
        """Return the trimmers that it hangs from, the near one first."""
        return [trimmer for trimmer in self.hangs if trimmer]

    @property
    def ends(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Return both ends of its centre line [mm], the near one first."""
        near, far = ((self.member.centre(y), y) for y in (self.low, self.high))
        return near, far

    def json(self) -> dict[str, Any]:
        """Return it as the plan shows it."""
        near, far = ([round(x, 2), round(y, 2)] for x, y in self.ends)
        hangs = [trimmer.id for trimmer in self.trimmers]
        return {"near": near, "far": far, "length": self.length, "hangs": hangs}


@dataclass(frozen=True)
class _Gap:
    """Where a joist is cut away, from y to y [mm], and what its parts on either side hang from."""

    low: float
    high: float
    before: Trimmer | None
    after: Trimmer | None


def tails(
    member: Member, ends: tuple[float, float], openings: Sequence[Opening], pack: Pack
) -> list[Tail]:
    """Return the parts of a joist to be added that meets openings; none where it stays whole.

    ``ends`` are the ys [mm] from which to which it would lie. What is too short to be cut is left
    out: the boards bear on the trimmer there.
    """
    gaps = sorted((g for o in openings for g in _gaps(member, o)), key=lambda gap: gap.low)
    if not gaps:
        return []
    low, high = ends
    stops = [_Gap(low, low, None, None), *gaps, _Gap(high, high, None, None)]
    parts = [
        (before.high, after.low, before.after, after.before)
        for before, after in itertools.pairwise(stops)
    ]
    least = pack["noggin.cut_least"]
    return [
        Tail(member, a, b, length, (near, far))
        for a, b, near, far in parts
        if (length := _length(member, a, b, pack)) >= least
    ]


def unborne(
    member: Member, ends: tuple[float, float], openings: Sequence[Opening], pack: Pack
) -> bool:
    """Say whether a joist to be added is cut so that nothing is left, or a part bears on nothing.

    Arguments as for :func:`tails`.
    """
    if not any(_gaps(member, opening) for opening in openings):
        return False
    found = tails(member, ends, openings, pack)
    return not found or any(
        trimmer is None and abs(y - end) > _TOUCH
        for tail in found
        for trimmer, y, end in zip(tail.hangs, (tail.low, tail.high), ends, strict=True)
    )


def _gaps(member: Member, opening: Opening) -> list[_Gap]:
    if member not in opening.crossed:
        return []
    bands = [(trimmer.band, trimmer) for trimmer in opening.trimmers]
    if member not in opening.stopped:
        return [_Gap(low, high, trimmer, trimmer) for (low, high), trimmer in bands]
    _, y0, _, y1 = opening.polygon.bounds
    near = next((t for (_, high), t in bands if high <= y0 + _TOUCH), None)
    far = next((t for (low, _), t in bands if low >= y1 - _TOUCH), None)
    return [_Gap(near.band[0] if near else y0, far.band[1] if far else y1, near, far)]


def _length(member: Member, low: float, high: float, pack: Pack) -> float:
    """Return how long a part from ``low`` to ``high`` [mm] is cut: it goes in without force."""
    if high <= low:
        return 0.0
    lean = (member.centre(high) - member.centre(low)) / (high - low)
    # Of one that leans, square ends let in the shorter of its sides.
    clear = (high - low) * math.hypot(1, lean) - member.breadth * abs(lean)
    return float(math.floor(clear - pack["noggin.fit"] + 1e-6))
