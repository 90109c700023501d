"""The page made small once a session; else every service that a test starts does it anew.

What one of them made of some bytes the next one finds in the session's folder, by their hash.
"""

from __future__ import annotations

import hashlib
import os
import threading
from pathlib import Path
from typing import TYPE_CHECKING

from baywalk.http import files
from tests.support.heard import FOLDER

if TYPE_CHECKING:
    from collections.abc import Callable


def share() -> None:
    """Have this process look first whether another one did it, if it belongs to a session."""
    folder = os.environ.get(FOLDER)
    if folder:
        files.packed = _shared(Path(folder), "packed", files.packed)
        files.slim = _shared(Path(folder), "slim", files.slim)


def _shared(
    folder: Path, name: str, make: Callable[[bytes, str], bytes]
) -> Callable[[bytes, str], bytes]:
    def made(content: bytes, how: str) -> bytes:
        digest = hashlib.sha256(content + how.encode()).hexdigest()
        file = folder / f"{name}-{digest}"
        if not file.exists():
            draft = folder / f"{name}-{digest}.{os.getpid()}.{threading.get_ident()}"
            draft.write_bytes(make(content, how))
            draft.replace(file)
        return file.read_bytes()

    return made
