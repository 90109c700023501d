"""Where phones find the service now, in a small file: addresses change while the service runs."""

from __future__ import annotations

import json
import os
from dataclasses import asdict
from typing import TYPE_CHECKING

from baywalk.http.config import Lan

if TYPE_CHECKING:
    from pathlib import Path

_FILE = "phones.json"


def write(data: Path, lan: Lan) -> None:
    """Note it in the data folder, for as long as this process lives."""
    draft = data / f"{_FILE}.draft"
    draft.write_text(json.dumps({"lan": asdict(lan), "process": os.getpid()}), encoding="utf-8")
    draft.replace(data / _FILE)


def read(data: Path) -> Lan | None:
    """Return what was noted, None where phones are not let in now."""
    try:
        noted = json.loads((data / _FILE).read_text(encoding="utf-8"))
        # A service that was killed leaves its note behind.
        os.kill(noted["process"], 0)
        return Lan(**noted["lan"])
    except (OSError, ValueError, TypeError, KeyError):
        return None


def forget(data: Path) -> None:
    """Take the note away."""
    (data / _FILE).unlink(missing_ok=True)
