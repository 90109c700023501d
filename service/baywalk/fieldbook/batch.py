"""Sorting a batch of entries into those that are sound and those that are not."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from baywalk.fieldbook.entry import entry_fault, entry_name

if TYPE_CHECKING:
    from collections.abc import Sequence

_SHOWN = 200
"""How much of a wrong id is said back [characters]."""


@dataclass(frozen=True)
class Refused:
    """An entry that is not kept: its id as sent, its place in the batch, the field, and why."""

    id: str | None
    index: int
    field: str
    why: str

    def json(self) -> dict[str, Any]:
        """Return it as the answer carries it."""
        return asdict(self)


def settle(batch: Sequence[object]) -> tuple[list[tuple[int, dict[str, Any]]], list[Refused]]:
    """Return the sound entries of a batch, each with its place, and the refused ones."""
    sound: list[tuple[int, dict[str, Any]]] = []
    refused: list[Refused] = []
    for index, entry in enumerate(batch):
        fault = entry_fault(entry)
        if fault:
            name = entry_name(entry)
            refused.append(Refused(name and name[:_SHOWN], index, fault.field, fault.why))
        elif isinstance(entry, dict):
            sound.append((index, entry))
    return sound, refused
