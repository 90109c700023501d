"""A whole backup as one file, taken and put back while the service runs.

The file is a plain tar: heads, entries and notes of photos as lines of JSON, the photos themselves,
and a list with the hash of each. It holds no phone's session and no key: a phone that was put out
stays out, and one on a new machine is paired anew. The same store gives the same bytes.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
import tarfile
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Engine, delete, insert, select, update

from baywalk.fieldbook.batch import settle
from baywalk.fieldbook.errors import BadText
from baywalk.fieldbook.fields import SHA256
from baywalk.fieldbook.head import head_fault
from baywalk.fieldbook.store import queries, tables
from baywalk.fieldbook.store.engine import WRITES, reads
from baywalk.fieldbook.text import parse

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from baywalk.fieldbook.photos import Photos

FORMAT = "baywalk.backup"
VERSION = 1

_LIST = "backup.json"
_LINES = {"surveys": tables.surveys, "entries": tables.entries, "photos": tables.photos}
_FIELDS: dict[str, dict[str, type]] = {
    "surveys": {"id": str, "head": str},
    "entries": {"seq": int, "survey": str, "id": str, "kind": str, "body": str},
    "photos": {"sha256": str, "type": str, "size": int},
}
_AT_ONCE = 500


class BadBackup(ValueError):  # noqa: N818 - read as a sentence where it is raised
    """A file that is no whole backup; its text says why. Nothing was changed."""


@dataclass(frozen=True)
class Contents:
    """What a backup holds: how far the sequence had come, the rows by table, the photos by hash."""

    counter: int
    rows: dict[str, list[dict[str, Any]]]
    pictures: dict[str, bytes]


def take(engine: Engine, photos: Photos, file: Path) -> dict[str, int]:
    """Write a backup of one moment to a file; return how many rows of each kind it has."""
    with engine.execution_options(**reads(engine)).begin() as connection:
        rows = {name: list(_rows(connection, name)) for name in _LINES}
        counter = queries.given(connection)
    parts = {f"{name}.jsonl": _lines(found) for name, found in rows.items()}
    for row in rows["photos"]:
        # A photo that is noted is whole on the disk, and never changes again.
        whole = photos.whole(row["sha256"])
        if whole:
            parts[f"photos/{row['sha256']}"] = whole[0].read_bytes()
    head = {"format": FORMAT, "version": VERSION, "counter": counter}
    hashes = {name: hashlib.sha256(part).hexdigest() for name, part in parts.items()}
    listed = json.dumps({**head, "parts": hashes}, indent=1, sort_keys=True).encode()
    draft = file.with_name(file.name + ".draft")
    with tarfile.open(draft, "w", format=tarfile.USTAR_FORMAT) as tar:
        for name, part in {_LIST: listed, **parts}.items():
            _put(tar, name, part)
    draft.replace(file)
    return {name: len(found) for name, found in rows.items()}


def restore(engine: Engine, photos: Photos, file: Path) -> dict[str, int]:
    """Put a backup in the place of everything that is there; return how many rows it had.

    Raises :class:`BadBackup` where it is none that is whole. Photos that are there stay there. The
    sequence goes on from where either had come, so that no cursor ever given skips an entry, and
    the store gets a new mark, so that phones send again what the backup does not have.
    """
    contents = read(file)
    for row in contents.rows["photos"]:
        picture = contents.pictures.get(row["sha256"])
        if picture is not None:
            photos.keep(row["sha256"], row["type"], picture)
    with engine.execution_options(**WRITES).begin() as connection:
        queries.lock(connection)
        for table in (tables.entries, tables.photos, tables.surveys):
            connection.execute(delete(table))
        for name, table in _LINES.items():
            for some in _some(contents.rows[name]):
                connection.execute(insert(table), some)
        counter = max(contents.counter, queries.given(connection))
        connection.execute(update(tables.counter).values(value=counter))
        queries.new_mark(connection)
    return {name: len(found) for name, found in contents.rows.items()}


def read(file: Path) -> Contents:
    """Return what a backup holds, all of it checked; raise :class:`BadBackup` at a fault."""
    try:
        with tarfile.open(file, "r:") as tar:
            parts = {one.name: _content(tar, one) for one in tar}
    except (tarfile.TarError, EOFError) as fault:
        raise BadBackup(f"{file.name} is no backup: {fault}") from None
    counter, hashes = _listed(parts.pop(_LIST, b""))
    for name, sha256 in hashes.items():
        if hashlib.sha256(parts.get(name, b"")).hexdigest() != sha256:
            raise BadBackup(f"{name} is not whole")
    if set(parts) != set(hashes):
        raise BadBackup("it has a part that is not on its list")
    rows = {name: _parsed(name, parts.get(f"{name}.jsonl", b"")) for name in _LINES}
    _check(rows, counter)
    pictures = {row["sha256"]: parts.get(f"photos/{row['sha256']}") for row in rows["photos"]}
    return Contents(counter, rows, {k: v for k, v in pictures.items() if v is not None})


def _rows(connection: Connection, name: str) -> Iterator[dict[str, Any]]:
    """Yield a table's rows in the order of their first column."""
    table = _LINES[name]
    for row in connection.execute(select(table).order_by(*table.primary_key)):
        yield dict(row._mapping)


def _lines(rows: Iterable[dict[str, Any]]) -> bytes:
    return b"".join(json.dumps(row, sort_keys=True).encode() + b"\n" for row in rows)


def _put(tar: tarfile.TarFile, name: str, content: bytes) -> None:
    """Add a part; nothing of the machine, the person or the hour goes with it."""
    info = tarfile.TarInfo(name)
    info.size, info.mode = len(content), 0o600
    tar.addfile(info, io.BytesIO(content))


def _content(tar: tarfile.TarFile, one: tarfile.TarInfo) -> bytes:
    """Return a part's bytes. It is never unpacked to the disk, so its name leads nowhere."""
    out = tar.extractfile(one) if one.isreg() else None
    if out is None:
        raise BadBackup(f"{one.name[:80]!r} is no part of a backup")
    return out.read()


def _listed(content: bytes) -> tuple[int, dict[str, str]]:
    """Return from the list of a backup how far its sequence had come, and the hash of each part."""
    try:
        listed = parse(content)
        kind = listed["format"], listed["version"]
        counter, parts = listed["counter"], listed["parts"]
    except (BadText, KeyError, TypeError):
        raise BadBackup("it has no list of what it holds") from None
    if kind != (FORMAT, VERSION):
        raise BadBackup(f"it is {str(kind[0])[:80]} {str(kind[1])[:80]}, not {FORMAT} {VERSION}")
    if not isinstance(counter, int) or not isinstance(parts, dict):
        raise BadBackup("its list is not one")
    return counter, parts


def _parsed(name: str, content: bytes) -> list[dict[str, Any]]:
    """Return the rows of a part, each with its own fields and no other."""
    rows: list[dict[str, Any]] = []
    for number, line in enumerate(content.splitlines(), start=1):
        try:
            row = parse(line)
        except BadText as fault:
            raise BadBackup(f"{name}.jsonl, line {number}: {fault}") from None
        fits = isinstance(row, dict) and set(row) == set(_FIELDS[name])
        if not fits or any(type(row[key]) is not kind for key, kind in _FIELDS[name].items()):
            raise BadBackup(f"{name}.jsonl, line {number}: its fields are not those of a row")
        rows.append(row)
    return rows


def _check(rows: dict[str, list[dict[str, Any]]], counter: int) -> None:
    """Raise for the first row that the service itself would not have kept."""
    known = {row["id"] for row in rows["surveys"]}
    for row in rows["surveys"]:
        head = _inside(row["head"], row["id"])
        fault = head_fault(head)
        if fault or head["id"] != row["id"]:
            raise BadBackup(f"survey {row['id'][:40]}: {fault or 'its id is another'}")
    for some in _some(rows["entries"]):
        bodies = [_inside(row["body"], row["id"]) for row in some]
        _, refused = settle(bodies)
        if refused:
            bad = refused[0]
            raise BadBackup(f"entry {some[bad.index]['id'][:40]}, field {bad.field}: {bad.why}")
        for row, body in zip(some, bodies, strict=True):
            same = body["id"] == row["id"] and queries.column_of(body["kind"]) == row["kind"]
            if not same or row["survey"] not in known or not 0 < row["seq"] <= counter:
                raise BadBackup(f"entry {row['id'][:40]}: it does not go with its row")
    if any(not re.fullmatch(SHA256, row["sha256"], re.ASCII) for row in rows["photos"]):
        raise BadBackup("photos.jsonl: a name is no SHA-256")


def _inside(text: str, name: str) -> Any:
    """Return the JSON of a row's text."""
    try:
        return parse(text)
    except BadText as fault:
        raise BadBackup(f"{name[:40]}: {fault}") from None


def _some(rows: list[dict[str, Any]]) -> Iterator[list[dict[str, Any]]]:
    """Yield the rows, some hundred at a time."""
    for start in range(0, len(rows), _AT_ONCE):
        yield rows[start : start + _AT_ONCE]
