"""All cases of the reconciliation vectors, in the order of their numbers."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from baywalk import fieldbook, places
from baywalk.reconcile import reconcile
from tests.lofts import Loft
from tests.unit.reconcile.book import Book
from tests.vectors import gaps, kinds, shapes, slipped

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

Case = tuple[str, str, Book | Loft]
"""A name, what it shows, and the field book."""


def folder() -> Path:
    """Return where the vectors lie."""
    return places.shared() / "vectors" / "reconcile"


def cases() -> Iterator[Case]:
    """Yield every case."""
    for module in (kinds, gaps, slipped, shapes):
        yield from module.cases()
    yield from slipped.turned()


def vectors() -> dict[str, dict[str, Any]]:
    """Return each vector by the name of its file."""
    out = {}
    for number, (name, say, book) in enumerate(cases(), 1):
        survey = book.survey()
        as_built = reconcile(fieldbook.load_survey(json.dumps(survey)))
        vector = {"name": name, "say": say, "survey": survey, "as_built": as_built}
        out[f"{number:02d}-{name}.json"] = json.loads(json.dumps(vector))
    return out
