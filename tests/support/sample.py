"""Surveys made up for tests. Nothing in them was measured anywhere."""

from __future__ import annotations

import uuid
from typing import Any

DEVICE = "6f0b9a52-3a51-4d0b-8f5e-6a3e0f6f9c01"


def head(**more: Any) -> dict[str, Any]:
    """Return a sound head, with ``more`` in place of its own."""
    run = {
        "id": "A",
        "title": "Over the shed",
        "joists": 4,
        "lines": ["near", "far"],
        "member": {"breadth": 47, "depth": 147, "grade": "C16"},
    }
    return {
        "format": "baywalk.survey",
        "version": 1,
        "id": str(uuid.uuid4()),
        "title": "Made up",
        "created": "2026-11-01T10:00:00+00:00",
        "tape": {"class": "II"},
        "runs": [run],
        **more,
    }


def entry(**more: Any) -> dict[str, Any]:
    """Return a sound entry, a gap between two joists unless ``more`` says otherwise."""
    return {
        "id": str(uuid.uuid4()),
        "at": "2026-11-01T10:05:00+00:00",
        "by": DEVICE,
        "n": 1,
        "kind": "across",
        "run": "A",
        "line": "near",
        "from": [1, "right"],
        "to": [2, "left"],
        "value": 353,
        **more,
    }


def bare(kind: str, **more: Any) -> dict[str, Any]:
    """Return an entry with what all kinds carry, and ``more``."""
    return {
        "id": str(uuid.uuid4()),
        "at": "2026-11-01T10:05:00+00:00",
        "by": DEVICE,
        "kind": kind,
        **more,
    }
