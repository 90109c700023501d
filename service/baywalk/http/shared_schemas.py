"""Writes the JSON Schemas that are shared with the page from the schemas that check the bodies.

    python -m baywalk.http.shared_schemas

A test holds the files to what this writes.
"""

from __future__ import annotations

import json
from typing import Any

from baywalk import places
from baywalk.http.openapi import components

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def shared() -> dict[str, dict[str, Any]]:
    """Return each file's schema by its name in the shared folder."""
    parts = components()
    survey = parts["Head"] | {"title": "A survey (baywalk.survey 1): the field book, exported"}
    entries = {"type": "array", "items": {"$ref": "#/$defs/Entry"}}
    survey["properties"] = survey["properties"] | {"entries": entries}
    survey["required"] = [*survey["required"], "entries"]
    entry = {key: part for key, part in parts.items() if key.startswith("Entry")}
    return {
        "survey.schema.json": _file(survey, entry),
        "entry.schema.json": _file(parts["Entry"] | {"title": "An entry of a field book"}, entry),
        "problem.schema.json": _file(parts["Problem"] | {"title": "A problem (RFC 9457)"}, {}),
    }


def _file(schema: dict[str, Any], parts: dict[str, Any]) -> dict[str, Any]:
    """Return a schema that stands alone, with the parts it names inside it."""
    whole = {"$schema": DIALECT, **schema} | ({"$defs": parts} if parts else {})
    inside = json.dumps(whole).replace("#/components/schemas/", "#/$defs/")
    alone: dict[str, Any] = json.loads(inside)
    return alone


def main() -> None:
    """Write the files."""
    for name, schema in shared().items():
        path = places.shared() / "schemas" / name
        path.write_text(json.dumps(schema, indent=2, sort_keys=True) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
