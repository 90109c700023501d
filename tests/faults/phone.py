"""A model of a phone: what it wrote, what is still to go, and what the service said of it.

As on a real one, an entry has its id and is kept before it is first sent; it leaves the outbox
only when an answer names it; and what the service has is pulled by the service's own cursor.
"""

from __future__ import annotations

import json
import uuid
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import random

    from tests.support.process import Answer

Entry = dict[str, Any]

JSON = {"Content-Type": "application/json"}
RETRY = frozenset({500, 503, 507})
"""The answers after which what was sent is sent again, as it was."""


@dataclass
class Message:
    """One request on its way: whose, what for, and the ids in it."""

    phone: Phone
    what: str
    method: str
    path: str
    body: bytes = b""
    headers: dict[str, str] = field(default_factory=dict)
    ids: tuple[str, ...] = ()
    early: bool = False

    def __post_init__(self) -> None:
        """Note whether the service may not know the survey yet."""
        self.early = not self.phone.introduced


class Phone:
    """One phone with one survey."""

    def __init__(self, draw: random.Random, head: Entry) -> None:
        """Take the phone's own source of chance, and the head of its survey."""
        self.draw, self.head = draw, head
        self.by = new_id(draw)
        self.clock = datetime.fromisoformat("2026-11-02T09:00:00+00:00")
        self.n = 0
        self.book: dict[str, Entry] = {}
        self.outbox: dict[str, Entry] = {}
        self.acknowledged: dict[str, Entry] = {}
        self.refused: dict[str, str] = {}
        self.cursor = 0
        self.introduced = False
        self.photos: dict[str, bytes] = {}
        self.photos_to_go: list[str] = []
        self.photos_there: set[str] = set()

    def write(self, kind: str, **fields: Any) -> Entry:
        """Write an entry into the book and the outbox, before anything is sent of it."""
        self.n += 1
        self.clock += timedelta(seconds=20)
        known = {"id": new_id(self.draw), "at": self.clock.isoformat(), "by": self.by, "n": self.n}
        entry = {**known, "kind": kind, **fields}
        self.book[entry["id"]] = self.outbox[entry["id"]] = entry
        return entry

    def batch(self, most: int) -> Message | None:
        """Return the sending of the oldest entries that are still to go, or None."""
        entries = list(self.outbox.values())[:most]
        return self.sending(entries) if entries else None

    def sending(self, entries: list[Entry]) -> Message:
        """Return the sending of these entries."""
        body = json.dumps({"entries": entries}).encode()
        ids = tuple(entry["id"] for entry in entries)
        return Message(self, "entries", "POST", f"{self._address()}/entries", body, JSON, ids)

    def introducing(self) -> Message:
        """Return the sending of the head."""
        body = json.dumps(self.head).encode()
        return Message(self, "head", "PUT", self._address(), body, JSON)

    def pulling(self) -> Message:
        """Return the asking for what the service has past the cursor."""
        return Message(self, "page", "GET", f"{self._address()}/entries?after={self.cursor}")

    def photo(self, sha256: str, start: int) -> Message:
        """Return the sending of a photo, from ``start`` on [bytes]."""
        content = self.photos[sha256]
        headers = {"Content-Type": "image/jpeg"}
        if start:
            headers["Content-Range"] = f"bytes {start}-{len(content) - 1}/{len(content)}"
        path = f"/api/photos/{sha256}"
        return Message(self, "photo", "PUT", path, content[start:], headers, (sha256,))

    def hear(self, message: Message, answer: Answer) -> None:
        """Take in an answer, whenever it comes."""
        assert answer.status != 500, answer.body
        if answer.status in RETRY or (answer.status == 404 and message.early):
            return
        getattr(self, f"_hear_{message.what}")(message, answer)

    def _hear_head(self, _: Message, answer: Answer) -> None:
        assert answer.status in (200, 201, 204), answer.body
        self.introduced = True

    def _hear_entries(self, message: Message, answer: Answer) -> None:
        assert answer.status == 200, answer.body
        said = answer.json()
        named = [*said["stored"], *said["known"], *(one["id"] for one in said["refused"])]
        assert sorted(named) == sorted(message.ids), "every entry is in exactly one list"
        for one in said["refused"]:
            assert message.ids[one["index"]] == one["id"]
            self.refused[one["id"]] = one["field"]
            self.outbox.pop(one["id"], None)
        for name in (*said["stored"], *said["known"]):
            self.acknowledged[name] = self.book[name]
            self.outbox.pop(name, None)

    def _hear_page(self, message: Message, answer: Answer) -> None:
        assert answer.status == 200, answer.body
        page = answer.json()
        asked = int(message.path.rpartition("=")[2])
        assert page["cursor"] >= asked, "a cursor never goes back"
        for entry in page["entries"]:
            self.book.setdefault(entry["id"], entry)
            self.n = max(self.n, entry.get("n", 0))
        # A late page may be behind one that came since; what it brings is taken all the same.
        self.cursor = max(self.cursor, page["cursor"])

    def _hear_photo(self, message: Message, answer: Answer) -> None:
        # A piece may meet one that another phone sent of the same photo.
        if answer.status == 409:
            return
        assert answer.status in (201, 204), answer.body
        self.photos_there.add(message.ids[0])
        self.photos_to_go = [one for one in self.photos_to_go if one != message.ids[0]]

    def _address(self) -> str:
        return f"/api/surveys/{self.head['id']}"


def new_id(draw: random.Random) -> str:
    """Return a new UUID out of a source of chance."""
    return str(uuid.UUID(int=draw.getrandbits(128), version=4))
