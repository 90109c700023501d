"""How a store of an older version becomes one of today's, a step at a time.

A step, once released, is never changed: the next change is the next step. A store made by a newer
Baywalk is refused, for what this one does not know it might lose.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import Connection, Engine, text

if TYPE_CHECKING:
    from collections.abc import Sequence

STEPS: tuple[Sequence[str], ...] = (
    (
        "CREATE TABLE surveys (id VARCHAR(36) NOT NULL PRIMARY KEY, head TEXT NOT NULL)",
        (
            "CREATE TABLE entries (seq {big} NOT NULL PRIMARY KEY,"
            " survey VARCHAR(36) NOT NULL REFERENCES surveys (id), id VARCHAR(36) NOT NULL,"
            " kind TEXT NOT NULL, body TEXT NOT NULL, UNIQUE (survey, id))"
        ),
        "CREATE INDEX entries_by_seq ON entries (survey, seq)",
        "CREATE TABLE counter (name VARCHAR(20) NOT NULL PRIMARY KEY, value {big} NOT NULL)",
        "INSERT INTO counter (name, value) VALUES ('entries', 0)",
        (
            "CREATE TABLE photos (sha256 VARCHAR(64) NOT NULL PRIMARY KEY,"
            " type VARCHAR(20) NOT NULL, size INTEGER NOT NULL)"
        ),
    ),
    (
        (
            "CREATE TABLE offers (id VARCHAR(36) NOT NULL PRIMARY KEY,"
            " secret VARCHAR(64) NOT NULL, salt VARCHAR(32) NOT NULL, code VARCHAR(64) NOT NULL,"
            " survey VARCHAR(36), made {big} NOT NULL, tries INTEGER NOT NULL,"
            " used BOOLEAN NOT NULL)"
        ),
        (
            "CREATE TABLE devices (id VARCHAR(36) NOT NULL PRIMARY KEY, name TEXT NOT NULL,"
            " token VARCHAR(64) NOT NULL, survey VARCHAR(36), paired {big} NOT NULL,"
            " seen {big} NOT NULL, out BOOLEAN NOT NULL)"
        ),
        "CREATE TABLE facts (name VARCHAR(20) NOT NULL PRIMARY KEY, value TEXT NOT NULL)",
    ),
)


class NewerStore(RuntimeError):  # noqa: N818 - read as a sentence where it is raised
    """The store was made by a newer Baywalk than this one."""


def migrate(engine: Engine) -> None:
    """Bring the store to today's version; raise :class:`NewerStore` where it is past it.

    All steps are one transaction: a store is of one version or of another, never between.
    """
    with engine.begin() as connection:
        version = _version(connection)
        if version > len(STEPS):
            raise NewerStore(
                f"This data is of version {version}; this Baywalk knows up to {len(STEPS)}."
            )
        for step in STEPS[version:]:
            for statement in step:
                connection.execute(text(statement.format(big=_big(connection))))
        connection.execute(text("UPDATE baywalk_store SET version = :v"), {"v": len(STEPS)})


def _version(connection: Connection) -> int:
    """Return the store's version, 0 where it is new, holding off every other migration."""
    connection.execute(text("CREATE TABLE IF NOT EXISTS baywalk_store (version INTEGER NOT NULL)"))
    if connection.dialect.name == "postgresql":
        connection.execute(text("LOCK TABLE baywalk_store IN EXCLUSIVE MODE"))
    version = connection.execute(text("SELECT max(version) FROM baywalk_store")).scalar_one()
    if version is None:
        connection.execute(text("INSERT INTO baywalk_store (version) VALUES (0)"))
    return version or 0


def _big(connection: Connection) -> str:
    """Return the name of a whole number of 64 bits that may number the rows."""
    return "INTEGER" if connection.dialect.name == "sqlite" else "BIGINT"
