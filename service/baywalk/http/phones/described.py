"""What the routes of pairing answer, in the words of OpenAPI."""

from __future__ import annotations

from typing import Any

_TIME = {"type": "string", "format": "date-time"}
_ID = {"type": "string", "format": "uuid"}
_PHONE = {
    "type": "object",
    "properties": {
        "id": _ID,
        "name": {"type": "string"},
        "survey": {"type": ["string", "null"], "format": "uuid"},
        "paired": _TIME,
        "seen": _TIME,
        "ends": _TIME,
    },
    "required": ["id", "name", "survey", "paired", "seen", "ends"],
}

DESCRIBED: dict[str, dict[str, Any]] = {
    "Phone": _PHONE,
    "Pairing": {
        "type": "object",
        "properties": {
            "needed": {"type": "boolean"},
            "device": {"anyOf": [_PHONE, {"type": "null"}]},
            "main": {"type": ["string", "null"]},
            "why": {"type": "string"},
        },
        "required": ["needed", "device"],
    },
    "Paired": {"type": "object", "properties": {"device": _PHONE}, "required": ["device"]},
    "Phones": {
        "type": "object",
        "properties": {
            "on": {"type": "boolean"},
            "urls": {"type": "array", "items": {"type": "string"}},
            "handout": {"type": ["string", "null"]},
            "fingerprint": {"type": ["string", "null"]},
            "phones": {"type": "array", "items": _PHONE},
        },
        "required": ["on", "urls", "handout", "fingerprint", "phones"],
    },
    "Offered": {
        "type": "object",
        "properties": {
            "code": {"type": "string"},
            "ends": _TIME,
            "ways": {
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "url": {"type": "string"},
                        "rows": {"type": "array", "items": {"type": "string"}},
                    },
                    "required": ["url", "rows"],
                },
            },
        },
        "required": ["code", "ends", "ways"],
    },
}
"""The answers, by name."""
