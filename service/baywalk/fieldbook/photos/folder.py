"""Photos on disk: parts that still come, and whole ones, each by the SHA-256 of its bytes as sent.

A part grows only at its end, and every piece says where it starts. So two connections that send
the same photo cannot spoil it: the slower one is told that its start is wrong.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import threading
import time
from typing import TYPE_CHECKING, Protocol

from baywalk.fieldbook.photos.picture import NotAPicture, redraw

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

MAX_BYTES = 15_000_000
"""The most bytes of a photo as sent [bytes]."""

MOST_PARTS = 64
"""How many half-sent photos there may be at once [-]."""
PART_LASTS = 7 * 24 * 3600
"""How long a half-sent photo is kept for whoever goes on with it [s]."""
PART_IDLE = 60
"""After how long without a piece a half-sent photo makes room for another [s]: a body that stopped
was given up long before, and whoever sent it begins anew."""

_SUFFIX = {"image/jpeg": ".jpg", "image/png": ".png", "image/webp": ".webp"}


class WrongStart(ValueError):  # noqa: N818 - read as a sentence where it is raised
    """A piece does not start where the part ends; ``offset`` is where it does [bytes]."""

    def __init__(self, offset: int) -> None:
        """Take where the next piece must start [bytes]."""
        super().__init__(f"the next piece must start at {offset}")
        self.offset = offset


class WrongHash(ValueError):  # noqa: N818 - read as a sentence where it is raised
    """The bytes are not those of the hash; the part was dropped."""


class TooManyParts(ValueError):  # noqa: N818 - read as a sentence where it is raised
    """There are as many half-sent photos as may be, and all of them are still coming."""


class Notes(Protocol):
    """Where it is noted which photos are whole."""

    def note_photo(self, sha256: str, kind: str, size: int) -> None:
        """Note a whole photo, its media type and its size as sent [bytes]."""

    def photo(self, sha256: str) -> tuple[str, int] | None:
        """Return what was noted, or None."""

    def shows(self, survey: str, sha256: str) -> bool:
        """Say whether an entry of a survey is of this photo."""


class Photos:
    """The photos of one service, under one folder."""

    def __init__(self, folder: Path, notes: Notes) -> None:
        """Take the folder, made if it is not there, and the notes of what is whole."""
        self._parts = folder / "parts"
        self._folder = folder
        self._notes = notes
        self._growing = threading.Lock()
        # Unpacking takes hundreds of megabytes; one at a time keeps the machine alive.
        self._drawing = threading.Lock()
        self._parts.mkdir(parents=True, exist_ok=True)

    def offset(self, sha256: str) -> int | None:
        """Return how much of a photo is here [bytes]; None for nothing of it."""
        noted = self._noted(sha256)
        if noted:
            return noted[1]
        part = self._part(sha256)
        return part.stat().st_size if part.exists() else None

    def whole(self, sha256: str) -> tuple[Path, str] | None:
        """Return a whole photo's file and media type, or None."""
        noted = self._noted(sha256)
        return (self._file(sha256, noted[0]), noted[0]) if noted else None

    def shown(self, survey: str, sha256: str) -> bool:
        """Say whether a photo belongs to a survey."""
        return self._notes.shows(survey, sha256)

    def restart(self, sha256: str) -> None:
        """Drop what came of a photo, for it is sent again from its start."""
        with self._growing:
            self._part(sha256).unlink(missing_ok=True)

    def grow(self, sha256: str, start: int, pieces: Iterable[bytes]) -> int:
        """Add pieces to a part from ``start`` [bytes] as they come; return where it ends [bytes].

        Raises :class:`WrongStart` as soon as a piece does not start where the part ends. What came
        before stays. Raises :class:`TooManyParts` where a new part finds no room.
        """
        self._add(sha256, start, b"")
        for piece in pieces:
            self._add(sha256, start, piece)
            start += len(piece)
        return start

    def finish(self, sha256: str, stop: int, *, right: bool = False) -> str:
        """Check a part that came to its end at ``stop`` [bytes], redraw and keep it.

        ``right``: whoever sent it is known to have sent the bytes of the hash. Returns the media
        type. Raises :class:`WrongHash` or ``NotAPicture``; the part is dropped then. Raises
        :class:`WrongStart` where somebody else began it anew meanwhile, and leaves theirs alone.
        An error of the disk leaves the part where it is.
        """
        with self._drawing:
            noted = self._noted(sha256)
            kind = noted[0] if noted else self._draw(sha256, stop, right=right)
        # Noted already, a part is what a service left that fell just before this.
        self.restart(sha256)
        return kind

    def _draw(self, sha256: str, stop: int, *, right: bool) -> str:
        """Check a part, keep it redrawn and note it; return its media type."""
        part = self._part(sha256)
        sent = part.read_bytes() if part.exists() else b""
        wrong = hashlib.sha256(sent).hexdigest() != sha256
        if wrong and (right or len(sent) != stop):
            raise WrongStart(len(sent))
        try:
            if wrong:
                raise WrongHash("the bytes are not those of this SHA-256")
            drawn, kind = redraw(sent)
        except ValueError:
            self.restart(sha256)
            raise
        _keep(self._file(sha256, kind), drawn)
        self._notes.note_photo(sha256, kind, len(sent))
        return kind

    def keep(self, sha256: str, kind: str, content: bytes) -> None:
        """Keep a photo that was drawn before, such as one of a backup, where it is not here."""
        file = self._file(sha256, kind)
        if not file.exists():
            _keep(file, content)

    def recover(self, sha256: str) -> None:
        """Finish a part that came whole just before the service was stopped, if it is one."""
        part = self._part(sha256)
        if part.exists() and hashlib.sha256(part.read_bytes()).hexdigest() == sha256:
            # What is no picture was dropped, as it would have been then; what somebody sends anew
            # meanwhile is theirs to finish.
            with contextlib.suppress(NotAPicture, WrongStart):
                self.finish(sha256, part.stat().st_size, right=True)

    def _noted(self, sha256: str) -> tuple[str, int] | None:
        """Return what was noted of a whole photo, if its file is still there."""
        noted = self._notes.photo(sha256)
        return noted if noted and self._file(sha256, noted[0]).exists() else None

    def _add(self, sha256: str, start: int, piece: bytes) -> None:
        part = self._part(sha256)
        with self._growing:
            size = part.stat().st_size if part.exists() else 0
            if size != start:
                raise WrongStart(size)
            if piece:
                if not size:
                    self._make_room()
                _append(part, size, piece)

    def _make_room(self) -> None:
        """Drop the parts that nobody goes on with; raise where too many are still coming."""
        now = time.time()
        parts = sorted((part.stat().st_mtime, part) for part in self._parts.iterdir())
        for count, (touched, part) in zip(range(len(parts), 0, -1), parts, strict=True):
            idle = now - touched
            if idle > PART_LASTS or (count >= MOST_PARTS and idle > PART_IDLE):
                part.unlink()
            elif count >= MOST_PARTS:
                raise TooManyParts(f"there are {count} half-sent photos")
            else:
                break

    def _part(self, sha256: str) -> Path:
        return self._parts / sha256

    def _file(self, sha256: str, kind: str) -> Path:
        return self._folder / sha256[:2] / (sha256 + _SUFFIX[kind])


def _append(part: Path, size: int, piece: bytes) -> None:
    """Write a piece at a part's end, or none of it where the disk is full."""
    with part.open("ab") as file:
        try:
            file.write(piece)
            file.flush()
        except OSError:
            os.ftruncate(file.fileno(), size)
            raise


def _keep(file: Path, content: bytes) -> None:
    """Write a file so that after a crash it is there whole or not at all."""
    file.parent.mkdir(exist_ok=True)
    draft = file.with_suffix(".draft")
    try:
        with draft.open("wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        draft.replace(file)
    except OSError:
        draft.unlink(missing_ok=True)
        raise
    for folder in (file.parent, file.parent.parent):
        _settle(folder)


def _settle(folder: Path) -> None:
    """Wait until the disk has a folder's own list of names."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
