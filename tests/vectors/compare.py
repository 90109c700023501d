"""Where two as-builts differ, number by number and word by word."""

from __future__ import annotations

from typing import Any


def differences(one: Any, other: Any, near: float, where: str = "") -> list[str]:
    """Return the places in which two JSON values differ; numbers by more than ``near``."""
    if isinstance(one, dict) and isinstance(other, dict):
        keys = sorted(one.keys() | other.keys())
        return [
            found
            for key in keys
            for found in differences(one.get(key), other.get(key), near, f"{where}/{key}")
        ]
    if isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        pairs = enumerate(zip(one, other, strict=True))
        return [d for i, (a, b) in pairs for d in differences(a, b, near, f"{where}/{i}")]
    numbers = all(isinstance(v, int | float) and not isinstance(v, bool) for v in (one, other))
    same = abs(one - other) <= near if numbers else one == other
    return [] if same else [f"{where}: {one!r} is not {other!r}"]
