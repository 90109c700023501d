"""What is asked of the database within one transaction, each question by its name."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, delete, func, insert, select, update

from baywalk.fieldbook.fold import fold
from baywalk.fieldbook.store import tables
from baywalk.fieldbook.text import parse, write

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.fieldbook.survey import Survey

_MARKING = ("set", "strike", "restore")
_AT_ONCE = 400


def lock(connection: Connection) -> None:
    """Let no other transaction write until this one ends.

    So entries become visible in the order of their sequence, and a cursor once given is passed
    by none. SQLite has only one writer; PostgreSQL waits here for the counter's row.
    """
    connection.execute(select(tables.counter.c.value).with_for_update()).all()


def append(connection: Connection, survey: str, rows: Sequence[tuple[dict[str, Any], str]]) -> None:
    """Write new entries at the end of the sequence."""
    if not rows:
        return
    first = given(connection) + 1
    connection.execute(update(tables.counter).values(value=tables.counter.c.value + len(rows)))
    connection.execute(
        insert(tables.entries),
        [
            {
                "seq": seq,
                "survey": survey,
                "id": e["id"],
                "kind": column_of(e["kind"]),
                "body": text,
            }
            for seq, (e, text) in enumerate(rows, first)
        ],
    )


def column_of(kind: str) -> str:
    """Return a kind as a column of any database can hold it: PostgreSQL's takes no sign zero."""
    return write(kind).strip('"')


def bodies(connection: Connection, survey: str, ids: Sequence[str]) -> dict[str, str]:
    """Return the bodies of the entries kept of these ids, by id."""
    table = tables.entries
    found: dict[str, str] = {}
    for start in range(0, len(ids), _AT_ONCE):
        rows = connection.execute(
            select(table.c.id, table.c.body).where(
                table.c.survey == survey, table.c.id.in_(ids[start : start + _AT_ONCE])
            )
        )
        found.update((row.id, row.body) for row in rows)
    return found


def outcome(connection: Connection, survey: str, head: str) -> Survey:
    """Return the fold of only those entries that bear on the head."""
    table = tables.entries
    marks = connection.execute(
        select(table.c.body).where(table.c.survey == survey, table.c.kind.in_(_MARKING))
    )
    return fold(parse(head), [parse(body) for body in marks.scalars()])


def head_text(connection: Connection, survey: str) -> str | None:
    """Return the text of a survey's head as put, or None."""
    table = tables.surveys
    return connection.execute(select(table.c.head).where(table.c.id == survey)).scalar()


def given(connection: Connection) -> int:
    """Return the last number of the sequence that was given [-]."""
    return int(connection.execute(select(tables.counter.c.value)).scalar_one())


def cursor(connection: Connection, survey: str) -> int:
    """Return the number of a survey's last entry, 0 where it has none."""
    table = tables.entries
    last = select(func.max(table.c.seq)).where(table.c.survey == survey)
    return connection.execute(last).scalar() or 0


def cursors(connection: Connection) -> dict[str, int]:
    """Return the number of the last entry of every survey that has one."""
    table = tables.entries
    rows = connection.execute(
        select(table.c.survey, func.max(table.c.seq).label("last")).group_by(table.c.survey)
    )
    return {row.survey: row.last for row in rows}


def fact(connection: Connection, name: str) -> str | None:
    """Return a fact about the store by its name."""
    table = tables.facts
    return connection.execute(select(table.c.value).where(table.c.name == name)).scalar()


def new_mark(connection: Connection) -> str:
    """Give the store a new mark and return it."""
    mark = str(uuid.uuid4())
    connection.execute(delete(tables.facts).where(tables.facts.c.name == "mark"))
    connection.execute(insert(tables.facts).values(name="mark", value=mark))
    return mark
