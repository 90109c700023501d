"""The check can fail: each thing that a service could do wrong is found within a few seeds."""

from __future__ import annotations

import importlib
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from baywalk.fieldbook.photos import folder
from baywalk.fieldbook.store import queries, store
from tests.faults.doors import Inside
from tests.faults.test_seeds import play

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

# The package offers the function of the same name, so the module is asked for by name.
FOLD = importlib.import_module("baywalk.fieldbook.fold")
SEEDS = 8
Patch = pytest.MonkeyPatch


def _loses_the_last(patch: Patch) -> None:
    """Answer for one entry more than was kept."""
    real = queries.append

    def append(connection: Any, survey: str, rows: Sequence[Any]) -> None:
        real(connection, survey, rows[: max(2, len(rows) - 1)])

    patch.setattr(queries, "append", append)


def _takes_another(patch: Patch) -> None:
    """Take other content under a known id as the same."""
    patch.setattr(store, "same", lambda *_: True)


def _passes_over_one(patch: Patch) -> None:
    """Give a cursor past an entry that was not given."""
    real = store.Store.page

    def page(self: store.Store, survey: str, after: int) -> store.Page | None:
        given = real(self, survey, after)
        return given and replace(
            given, entries=given.entries[: 6 if len(given.entries) > 6 else 99]
        )

    patch.setattr(store.Store, "page", page)


def _orders_by_arrival(patch: Patch) -> None:
    """Let the order of arrival decide."""
    patch.setattr(FOLD, "order", lambda _: 0)


def _forgets_restores(patch: Patch) -> None:
    """Let a strike stand that was taken back."""
    patch.setattr(FOLD, "_MARKS", ("strike",))


def _keeps_the_place(patch: Patch) -> None:
    """Give photos as they were sent, with the place in them."""
    patch.setattr(folder, "redraw", lambda sent: (sent, "image/jpeg"))


def _keeps_halves(patch: Patch) -> None:
    """Say stored, and forget it at the next start."""
    real = store.Store.add

    def add(self: store.Store, survey: str, batch: Sequence[object]) -> store.Added | None:
        added = real(self, survey, batch)
        if added and len(added.stored) > 3:
            with self._writing.begin() as connection:
                table = store.tables.entries
                connection.execute(table.delete().where(table.c.id == added.stored[1]))
        return added

    patch.setattr(store.Store, "add", add)


@pytest.mark.parametrize(
    "wrong",
    [
        _loses_the_last,
        _takes_another,
        _passes_over_one,
        _orders_by_arrival,
        _forgets_restores,
        _keeps_the_place,
        _keeps_halves,
    ],
)
def test_what_is_wrong_is_found(
    wrong: Callable[[Patch], None], monkeypatch: Patch, tmp_path: Path
) -> None:
    """A service that does this is caught."""
    wrong(monkeypatch)
    for seed in range(SEEDS):
        try:
            play(seed, Inside(tmp_path / f"{seed}"), 70, tmp_path / f"{seed}")
        except AssertionError:
            return
    pytest.fail(f"{SEEDS} seeds found nothing wrong")
