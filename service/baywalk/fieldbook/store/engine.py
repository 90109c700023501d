"""Opening a database so that an answer given after a commit is kept whatever happens next."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url

from baywalk.fieldbook.store.migrations import migrate

if TYPE_CHECKING:
    from pathlib import Path

WRITES = {"writes": True}
"""Execution options of a connection that is going to write."""

_PRAGMAS = (
    "PRAGMA journal_mode=WAL",
    "PRAGMA synchronous=FULL",
    "PRAGMA foreign_keys=ON",
    "PRAGMA trusted_schema=OFF",
)
_PATIENCE = 15
"""How long a write waits for another one to end [s]."""


def open_engine(data: Path, database: str | None = None) -> Engine:
    """Open the database at the URL ``database``, or the SQLite file in ``data``, and migrate it.

    Raises ``NewerStore`` where a newer Baywalk made it, and SQLAlchemy's errors where the URL
    or the file is no good.
    """
    url = make_url(database) if database else _file(data)
    engine = create_engine(url, pool_size=8, max_overflow=24, **_options(url))
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _on_connect)
        event.listen(engine, "begin", _on_begin)
    migrate(engine.execution_options(**WRITES))
    return engine


def reads(engine: Engine) -> dict[str, Any]:
    """Return the execution options of a connection that only reads: all of one moment."""
    # SQLite's readers see one moment anyway. A writer must not: it waits for the lock, and then
    # has to see what the other one wrote.
    return {} if engine.dialect.name == "sqlite" else {"isolation_level": "REPEATABLE READ"}


def _file(data: Path) -> URL:
    """Return the URL of the SQLite file in the data folder."""
    return URL.create("sqlite", database=str(data / "baywalk.sqlite"))


def _options(url: URL) -> dict[str, Any]:
    """Return what one kind of database is to be opened with."""
    if url.get_backend_name() == "sqlite":
        return {"connect_args": {"timeout": _PATIENCE}}
    # A connection may have died while nobody used it; ask before trusting it.
    return {"pool_pre_ping": True, "connect_args": {"connect_timeout": _PATIENCE}}


def _on_connect(connection: Any, _record: object) -> None:
    """Set a new SQLite connection up, and take its transactions out of the driver's hands."""
    connection.isolation_level = None
    for pragma in _PRAGMAS:
        connection.execute(pragma)


def _on_begin(connection: Connection) -> None:
    """Begin a SQLite transaction, taking the write lock at once where it is going to write.

    A transaction that reads first and writes later could find the lock taken and fail.
    """
    writes = connection.get_execution_options().get("writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
