"""What can be done with the store: heads merged, entries added and read again in the same order."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Engine, insert, select, update

from baywalk.fieldbook.batch import Refused, settle
from baywalk.fieldbook.fold import fold
from baywalk.fieldbook.head import merge
from baywalk.fieldbook.store import queries, tables
from baywalk.fieldbook.store.engine import WRITES, reads
from baywalk.fieldbook.text import parse, same, write

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from baywalk.fieldbook.survey import Survey

PAGE = 500
"""The most entries of one page [-]."""
PAGE_BYTES = 8_000_000
"""The most bytes of one page [bytes]; a single entry may be larger."""


@dataclass
class Added:
    """What became of a batch: each entry's id in exactly one list, and the last cursor."""

    stored: list[str] = field(default_factory=list)
    known: list[str] = field(default_factory=list)
    refused: list[Refused] = field(default_factory=list)
    cursor: int = 0


@dataclass(frozen=True)
class Page:
    """Entries as JSON texts in the service's own sequence, and the cursor to go on from."""

    entries: Sequence[str]
    cursor: int


class Store:
    """The surveys of one service. Every method is one transaction of its own."""

    def __init__(self, engine: Engine) -> None:
        """Take an engine from ``open_engine``."""
        self._engine = engine.execution_options(**reads(engine))
        self._writing = engine.execution_options(**WRITES)

    def close(self) -> None:
        """Let go of every connection."""
        self._engine.dispose()

    def surveys(self) -> list[dict[str, Any]]:
        """Return id, title, created and cursor of every survey, the oldest first."""
        with self._engine.begin() as connection:
            heads = connection.execute(select(tables.surveys)).all()
            cursors = queries.cursors(connection)
            outcomes = [queries.outcome(connection, row.id, row.head).head for row in heads]
        listed = [
            {
                "id": head["id"],
                "title": head["title"],
                "created": head["created"],
                "cursor": cursors.get(head["id"], 0),
            }
            for head in outcomes
        ]
        return sorted(listed, key=lambda survey: (survey["created"], survey["id"]))

    def put_head(self, head: dict[str, Any]) -> str:
        """Keep a sound head and say what it was: ``new``, ``equal`` or ``merged``."""
        with self._writing.begin() as connection:
            queries.lock(connection)
            kept = queries.head_text(connection, head["id"])
            if kept is None:
                connection.execute(insert(tables.surveys).values(id=head["id"], head=write(head)))
                return "new"
            if _equal(connection, kept, head):
                return "equal"
            merged = write(merge(parse(kept), head))
            table = tables.surveys
            connection.execute(update(table).where(table.c.id == head["id"]).values(head=merged))
            return "merged"

    def add(self, survey: str, batch: Sequence[object]) -> Added | None:
        """Keep the entries of a batch that are sound and new; None where there is no such survey.

        Returns after the commit. What it says is stored or known is on disk.
        """
        sound, refused = settle(batch)
        with self._writing.begin() as connection:
            queries.lock(connection)
            if queries.head_text(connection, survey) is None:
                return None
            added = Added(refused=refused)
            rows = _sift(
                sound, queries.bodies(connection, survey, [e["id"] for _, e in sound]), added
            )
            queries.append(connection, survey, rows)
            added.cursor = queries.cursor(connection, survey)
        added.refused.sort(key=lambda one: one.index)
        return added

    def page(self, survey: str, after: int) -> Page | None:
        """Return the entries past a cursor, at most :data:`PAGE`; None for no such survey."""
        table = tables.entries
        with self._engine.begin() as connection:
            if queries.head_text(connection, survey) is None:
                return None
            wanted = (
                select(table.c.seq, table.c.body)
                .where(table.c.survey == survey, table.c.seq > after)
                .order_by(table.c.seq)
                .limit(PAGE)
            )
            with connection.execute(wanted, execution_options={"yield_per": 25}) as found:
                rows = _within(found)
            end = after if after <= queries.given(connection) else 0
        # A cursor beyond all that was ever given comes from another store, such as one restored
        # from a copy. Whoever has it is sent back to the start, or would miss what comes next.
        cursor = rows[-1].seq if rows else end
        return Page([row.body for row in rows], cursor)

    def whole(self, survey: str) -> Survey | None:
        """Return the fold of a survey, or None where there is no such one."""
        table = tables.entries
        with self._engine.begin() as connection:
            head = queries.head_text(connection, survey)
            if head is None:
                return None
            bodies = connection.execute(select(table.c.body).where(table.c.survey == survey))
            entries = [parse(body) for body in bodies.scalars()]
        return fold(parse(head), entries)

    def stamp(self, survey: str) -> tuple[str, int] | None:
        """Return what tells whether a survey has changed: a text, and its cursor."""
        with self._engine.begin() as connection:
            head = queries.head_text(connection, survey)
            if head is None:
                return None
            # A store put back from a copy may give the same places to other entries.
            mark = queries.fact(connection, "mark")
            return f"{mark} {head}", queries.cursor(connection, survey)

    def note_photo(self, sha256: str, kind: str, size: int) -> None:
        """Note that a photo is whole: its media type, and its size as sent [bytes]."""
        table = tables.photos
        with self._writing.begin() as connection:
            queries.lock(connection)
            if connection.execute(select(table).where(table.c.sha256 == sha256)).first() is None:
                connection.execute(insert(table).values(sha256=sha256, type=kind, size=size))

    def photo(self, sha256: str) -> tuple[str, int] | None:
        """Return a whole photo's media type and its size as sent [bytes], or None."""
        table = tables.photos
        with self._engine.begin() as connection:
            row = connection.execute(select(table).where(table.c.sha256 == sha256)).first()
        return (row.type, row.size) if row else None

    def shows(self, survey: str, sha256: str) -> bool:
        """Say whether an entry of a survey is of the photo of this hash."""
        table = tables.entries
        wanted = select(table.c.body).where(
            table.c.survey == survey, table.c.kind == "photo", table.c.body.contains(sha256)
        )
        with self._engine.begin() as connection:
            bodies = connection.execute(wanted).scalars().all()
        return any(parse(body).get("sha256") == sha256 for body in bodies)

    def mark(self) -> str:
        """Return the store's mark, made at the first asking.

        A store put back from a copy has another one, so that whoever has sent it entries knows to
        send them again.
        """
        with self._engine.begin() as connection:
            known = queries.fact(connection, "mark")
        if known:
            return known
        with self._writing.begin() as connection:
            queries.lock(connection)
            return queries.fact(connection, "mark") or queries.new_mark(connection)


def _equal(connection: Connection, kept: str, head: dict[str, Any]) -> bool:
    """Say whether a head is the one kept, or what that has become by its entries."""
    return same(parse(kept), head) or same(queries.outcome(connection, head["id"], kept).head, head)


def _sift(
    sound: Iterable[tuple[int, dict[str, Any]]], kept: dict[str, str], added: Added
) -> list[tuple[dict[str, Any], str]]:
    """Sort entries into ``added`` against the bodies ``kept``; return the new, with their text.

    A new one joins ``kept``, so that its twin in the same batch meets it there.
    """
    rows = []
    for index, entry in sound:
        name, text = entry["id"], write(entry)
        if name not in kept:
            kept[name] = text
            added.stored.append(name)
            rows.append((entry, text))
        elif kept[name] == text or same(parse(kept[name]), entry):
            added.known.append(name)
        else:
            why = "an entry of this id is kept already and differs; it stands"
            added.refused.append(Refused(name, index, "id", why))
    return rows


def _within(rows: Iterable[Any]) -> list[Any]:
    """Return the first rows whose bodies together are of the size of a page; one at least."""
    taken: list[Any] = []
    size = 0
    for row in rows:
        size += len(row.body)
        if taken and size > PAGE_BYTES:
            break
        taken.append(row)
    return taken
