"""A survey as the later parts read it: the outcome of the fold over its entries."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True)
class Run:
    """One run of joists: its tape ``lines`` from near to far, its usual timber, ``member``.

    ``laps`` are pairs of tape lines between which every joist goes over to another timber.
    """

    id: str
    title: str
    joists: int
    lines: tuple[str, ...]
    member: Mapping[str, Any]
    laps: tuple[tuple[str, str], ...] = ()

    @cached_property
    def sides(self) -> tuple[tuple[str, ...], ...]:
        """Return the tape lines parted at every lap: those of one side cross the same timbers."""
        out: list[tuple[str, ...]] = []
        for line in self.lines:
            pair = (out[-1][-1], line) if out else None
            parted = pair is None or pair in self.laps or pair[::-1] in self.laps
            out = [*out, (line,)] if parted else [*out[:-1], (*out[-1], line)]
        return tuple(out)

    def lines_of(self, joist: int) -> tuple[str, ...]:
        """Return the tape lines that cross one member: all for a wall, those before a lap else."""
        return self.lines if joist in (0, self.joists + 1) or not self.lines else self.sides[0]

    @cached_property
    def lapped(self) -> tuple[tuple[str, str], ...]:
        """Return the pairs of neighbouring tape lines that enclose a lap, the near one first."""
        return tuple((one[-1], other[0]) for one, other in pairwise(self.sides))


@dataclass(frozen=True)
class Survey:
    """A whole survey.

    ``entries`` are all of them, struck ones too, in the order (n, by, id); ``standing`` the ids
    of those that count; ``struck`` the others with the reason; ``head`` the outcome of the head.
    """

    id: str
    title: str
    tape: Mapping[str, Any]
    runs: tuple[Run, ...]
    entries: tuple[Mapping[str, Any], ...]
    standing: frozenset[str]
    struck: Mapping[str, str]
    head: dict[str, Any]

    def export(self) -> dict[str, Any]:
        """Return the survey as JSON of format ``baywalk.survey`` 1."""
        return {**self.head, "entries": [dict(entry) for entry in self.entries]}
