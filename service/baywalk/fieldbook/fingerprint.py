"""A fingerprint of a survey: equal for equal sets of entries, in whatever order they came."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any

from baywalk.fieldbook.text import plain

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
    return json.dumps(plain(value), sort_keys=True, separators=(",", ":")).encode()
