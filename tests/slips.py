"""Slips of the hand for simulated field books, drawn with published shares; apart from the engine.

Shares of typing errors after Verhoeff 1969 (one digit wrong 60-95 %, neighbours swapped 10-20 %,
a digit lost or added 10-20 %); misreadings of the tape have no published rate, so a small share of
our own choice. Figures READ in the project's reference notes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import random

KINDS = {
    "wrong": 0.58,
    "swap": 0.12,
    "lost": 0.07,
    "added": 0.07,
    "hundred": 0.05,
    "ten": 0.04,
    "face": 0.04,
    "hook": 0.03,
}


def slip_of(right: int, breadth: float, draw: random.Random) -> tuple[str, int]:
    """Return the kind of a slip and what it makes of the right reading [mm]."""
    kind = draw.choices(list(KINDS), weights=list(KINDS.values()))[0]
    text = str(right)
    i = draw.randrange(len(text))
    if kind == "wrong":
        text = text[:i] + draw.choice([d for d in "0123456789" if d != text[i]]) + text[i + 1 :]
        return kind, int(text)
    if kind == "swap":
        i = draw.randrange(max(1, len(text) - 1))
        return kind, int(text[:i] + text[i : i + 2][::-1] + text[i + 2 :])
    if kind == "lost":
        return kind, int(text[:i] + text[i + 1 :] or "0")
    if kind == "added":
        return kind, int(text[:i] + draw.choice("0123456789") + text[i:])
    shift = {
        "hundred": draw.choice([-100, 100]),
        "ten": draw.choice([-10, 10]),
        "face": draw.choice([-1, 1]) * round(breadth),
        "hook": 100,
    }
    return kind, max(0, right + shift[kind])


def plant(entries: list[dict[str, Any]], draw: random.Random, least: int = 9) -> dict[str, Any]:
    """Change one reading of ``entries`` by a slip of at least ``least`` mm; say how."""
    readings = [e for e in entries if e["kind"] in ("across", "along", "diagonal", "breadth")]
    while True:
        entry = draw.choice(readings)
        kind, written = slip_of(int(entry["value"]), 47.0, draw)
        if abs(written - entry["value"]) >= least:
            right, entry["value"] = entry["value"], written
            return {"id": entry["id"], "kind": kind, "right": right, "written": written}
