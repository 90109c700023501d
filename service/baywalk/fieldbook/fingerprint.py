"""A fingerprint of a survey: equal for equal sets of entries, in whatever order they came."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from baywalk.fieldbook.survey import Survey


def fingerprint(survey: Survey) -> str:
    """Return the SHA-256 of a survey's head and the set of its entries, in hexadecimal.

    Texts that are equal as JSON count as equal: the order of keys and 353.0 for 353 do not show.
    """
    total = hashlib.sha256(_canonical(survey.head))
    for entry in survey.entries:
        total.update(hashlib.sha256(_canonical(entry)).digest())
    return total.hexdigest()


def _canonical(value: Any) -> bytes:
    """Return the one text that stands for all equal JSON values."""
    return json.dumps(_plain(value), sort_keys=True, separators=(",", ":")).encode()


def _plain(value: Any) -> Any:
    """Return a value with every whole number written without a point."""
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    return [_plain(inner) for inner in value] if isinstance(value, list) else value
