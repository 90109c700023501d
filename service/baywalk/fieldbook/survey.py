"""A survey as the later parts read it: the outcome of the fold over its entries."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True)
class Run:
    """One run of joists: its tape ``lines`` from near to far, its usual timber, ``member``."""

    id: str
    title: str
    joists: int
    lines: tuple[str, ...]
    member: Mapping[str, Any]


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
