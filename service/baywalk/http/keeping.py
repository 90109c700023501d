"""The commands that take a whole backup and put one back, while the service runs."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from sqlalchemy.exc import SQLAlchemyError

from baywalk.fieldbook.photos import Photos
from baywalk.fieldbook.store import NewerStore, Store, backup, open_engine

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from sqlalchemy import Engine

REFUSED = 2


def take(file: Path, data: Path, database: str | None) -> int:
    """Take a backup to a file that is not there yet; return 2, with one line, where it cannot."""
    if file.exists():
        return _refuse(f"{file} is there already; give another name")

    def work(engine: Engine, photos: Photos) -> None:
        _say("Taken", backup.take(engine, photos, file))

    return _run(work, data, database)


def put_back(file: Path, data: Path, database: str | None) -> int:
    """Put a backup back; what was there is kept in a backup of its own beside the data.

    Returns 2, with one line, where the file is no whole backup. Nothing is changed then.
    """

    def work(engine: Engine, photos: Photos) -> None:
        backup.read(file)
        moment = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
        before = data / f"before-restore-{moment}.tar"
        backup.take(engine, photos, before)
        _say("Put back", backup.restore(engine, photos, file))
        sys.stdout.write(f"What was there before is in {before}\n")

    return _run(work, data, database)


def _run(work: Callable[[Engine, Photos], None], data: Path, database: str | None) -> int:
    """Do the work on the store and the photos; tell what goes wrong in one line."""
    try:
        with _opened(data, database) as (engine, photos):
            work(engine, photos)
    except (backup.BadBackup, NewerStore, OSError, SQLAlchemyError, ImportError) as fault:
        return _refuse(" ".join(str(getattr(fault, "orig", None) or fault).split()))
    return 0


@contextmanager
def _opened(data: Path, database: str | None) -> Iterator[tuple[Engine, Photos]]:
    """Give the store's engine and the photos."""
    data.mkdir(parents=True, exist_ok=True, mode=0o700)
    engine = open_engine(data, database)
    try:
        yield engine, Photos(data / "photos", Store(engine))
    finally:
        engine.dispose()


def _say(what: str, counts: dict[str, int]) -> None:
    """Tell how much it was."""
    words = ", ".join(f"{count} {name}" for name, count in counts.items())
    sys.stdout.write(f"{what}: {words}\n")


def _refuse(why: str) -> int:
    sys.stderr.write(f"baywalk: {why}\n")
    return REFUSED
