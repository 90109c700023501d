"""Points inside the running code where a fault can be set off, once, by their name.

They are put around what the service calls (the commit, the flush of a file, its renaming), so the
code that is tested is the code that is shipped. What a fault does is for the caller to say: in a
process of its own the service is killed, in this process an exception ends the request.
"""

from __future__ import annotations

import os
import threading
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Engine, event
from sqlalchemy.engine.default import DefaultDialect

if TYPE_CHECKING:
    from collections.abc import Callable

    import pytest

STORE = ("before-commit", "after-commit")
"""The points of any request that writes."""
PHOTO = ("before-flush", "before-rename", "after-rename", *STORE)
"""The points of a photo that is whole."""

_ARMED = "armed"
_FULL = "full"
_NO_LIMIT = 1_073_741_823


class Points:
    """The points of one service, whatever process it is in.

    They are set off through files in a ``folder``, or without one within this process.
    """

    def __init__(self, act: Callable[[], None], folder: Path | None = None) -> None:
        """Take what happens where a point is reached that is armed, and the folder."""
        self._act, self._folder = act, folder
        self._words: dict[str, str] = {}
        self._thread = threading.local()

    def arm(self, point: str) -> None:
        """Set ``point`` off the next time it is reached."""
        self._tell(_ARMED, point)

    def disarm(self) -> bool:
        """Take the armed point back; say whether it had not been reached."""
        return self._forget(_ARMED)

    def fill(self, *, full: bool) -> None:
        """Let the database grow no further from now on, or let it grow again (SQLite only)."""
        if full:
            self._tell(_FULL, _FULL)
        else:
            self._forget(_FULL)

    def _tell(self, name: str, words: str) -> None:
        if self._folder:
            (self._folder / name).write_text(words)
        else:
            self._words[name] = words

    def _told(self, name: str) -> str | None:
        if not self._folder:
            return self._words.get(name)
        with suppress(FileNotFoundError):
            return (self._folder / name).read_text()
        return None

    def _forget(self, name: str) -> bool:
        """Take back what was told; say whether there was anything."""
        if not self._folder:
            return self._words.pop(name, None) is not None
        with suppress(FileNotFoundError):
            (self._folder / name).unlink()
            return True
        return False

    def note(self, connection: Connection) -> None:
        """Note whether what is about to be committed was written or only read."""
        self._thread.writes = bool(connection.get_execution_options().get("writes"))

    def reach(self, point: str) -> None:
        """Pass a point of the code, and fall there if it is armed."""
        if point in STORE and not getattr(self._thread, "writes", False):
            return
        if self._told(_ARMED) == point:
            # Gone before the fall, for the service that starts after it must not fall again.
            self._forget(_ARMED)
            self._act()

    def limit(self, connection: Connection) -> None:
        """Set how far a SQLite database may grow: not at all where the disk is to be full."""
        if connection.dialect.name != "sqlite":
            return
        pages = 1 if self._told(_FULL) else _NO_LIMIT
        if connection.info.get(_FULL, _NO_LIMIT) != pages:
            connection.exec_driver_sql(f"PRAGMA max_page_count={pages}")
            connection.info[_FULL] = pages


def install(points: Points, patch: pytest.MonkeyPatch) -> None:
    """Put the points into the code of this process, until ``patch`` is undone."""
    _around(patch, os, "fsync", points, "before-flush", "after-flush")
    _around(patch, Path, "replace", points, "before-rename", "after-rename")
    _around(patch, DefaultDialect, "do_commit", points, "before-commit", "after-commit")
    event.listen(Engine, "begin", points.limit)
    event.listen(Engine, "commit", points.note)


def uninstall(points: Points) -> None:
    """Take out what ``patch`` does not."""
    event.remove(Engine, "begin", points.limit)
    event.remove(Engine, "commit", points.note)


def _around(
    patch: pytest.MonkeyPatch, owner: Any, name: str, points: Points, before: str, after: str
) -> None:
    """Put a point before a function and one after it."""
    real = getattr(owner, name)

    def call(*given: Any, **more: Any) -> Any:
        points.reach(before)
        result = real(*given, **more)
        points.reach(after)
        return result

    patch.setattr(owner, name, call)
