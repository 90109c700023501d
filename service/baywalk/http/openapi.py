"""The description of the routes (OpenAPI 3.1), made from the schemas that check the bodies."""

from __future__ import annotations

from importlib.metadata import version
from typing import TYPE_CHECKING, Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from flask import Flask, Response

from baywalk.fieldbook import entry as entries
from baywalk.fieldbook.fields import SHA256, Length, Many, Pair, Text, Two, Whole
from baywalk.fieldbook.head import FORMAT, VERSION, HeadSchema
from baywalk.fieldbook.text import write
from baywalk.http.paths import PATHS
from baywalk.http.phones.described import DESCRIBED
from baywalk.http.phones.routes import OfferSchema, PairSchema
from baywalk.http.photos import TYPES
from baywalk.http.problems import CODES, LIST

if TYPE_CHECKING:
    from apispec.ext.marshmallow.openapi import OpenAPIConverter
    from marshmallow import Schema

ADDRESS = "/api/openapi.json"


def install(app: Flask) -> None:
    """Serve the description."""
    text = write(describe())
    app.add_url_rule(
        ADDRESS,
        "openapi",
        lambda: Response(text, content_type="application/json"),
        provide_automatic_options=False,
    )


def describe() -> dict[str, Any]:
    """Return the whole description."""
    spec = _spec()
    for path, operations in PATHS.items():
        spec.path(path, operations=operations)
    document: dict[str, Any] = spec.to_dict()
    return document


def components() -> dict[str, Any]:
    """Return the JSON Schemas of the bodies, by name."""
    schemas: dict[str, Any] = _spec().to_dict()["components"]["schemas"]
    return schemas


def _spec() -> APISpec:
    """Return a description with its schemas and without paths."""
    plugin = MarshmallowPlugin(schema_name_resolver=lambda _: "")
    info = {"description": "A loft's field book: heads, entries, photos, and the as-built."}
    spec = APISpec("Baywalk", version("baywalk"), "3.1.0", plugins=[plugin], info=info)
    converter = plugin.converter
    if converter is None:
        raise TypeError("the description has no converter of schemas")
    converter.add_attribute_function(_of_field)
    for kind, schema in entries.KINDS.items():
        spec.components.schema(f"Entry-{kind}", component=_open(converter, schema, kind))
    spec.components.schema("Entry", component=_any_entry(converter))
    spec.components.schema("Head", component=_head(converter))
    spec.components.schema("Survey", component=_survey(converter))
    for name, sent in (("Pair", PairSchema()), ("Offer", OfferSchema())):
        spec.components.schema(name, component=_closed(converter, sent))
    for name, component in (_PLAIN | DESCRIBED).items():
        spec.components.schema(name, component=component)
    return spec


def _open(converter: OpenAPIConverter, schema: Schema, kind: str) -> dict[str, Any]:
    """Return the schema of one kind of entry, open to fields not known here."""
    described: dict[str, Any] = converter.schema2jsonschema(schema)
    described["description"] = (type(schema).__doc__ or "").split("\n")[0]
    described["properties"]["kind"] = {"const": kind}
    return described | {"additionalProperties": True}


def _closed(converter: OpenAPIConverter, schema: Schema) -> dict[str, Any]:
    """Return a schema that takes no field but its own."""
    described: dict[str, Any] = converter.schema2jsonschema(schema)
    return described | {"additionalProperties": False}


def _any_entry(converter: OpenAPIConverter) -> dict[str, Any]:
    """Return the schema of any entry: of a known kind, or of one not known here."""
    described: dict[str, Any] = converter.schema2jsonschema(entries.EntrySchema())
    described["properties"]["kind"]["not"] = {"enum": sorted(entries.KINDS)}
    known = [{"$ref": f"#/components/schemas/Entry-{kind}"} for kind in entries.KINDS]
    return {"anyOf": [*known, described | {"additionalProperties": True}]}


def _head(converter: OpenAPIConverter) -> dict[str, Any]:
    """Return the schema of a survey's head."""
    described: dict[str, Any] = converter.schema2jsonschema(HeadSchema())
    described["properties"] |= {"format": {"const": FORMAT}, "version": {"const": VERSION}}
    # An entry goes by its own route, so a head names none.
    described["properties"]["entries"] = {"type": "array", "maxItems": 0}
    return described | {"additionalProperties": True}


def _survey(converter: OpenAPIConverter) -> dict[str, Any]:
    """Return the schema of a whole survey: its head, and all its entries."""
    described = _head(converter)
    described["description"] = "A whole survey: its head, and all its entries."
    described["properties"]["entries"] = {"type": "array", "items": {"$ref": _REF + "Entry"}}
    return described | {"required": [*described["required"], "entries"]}


def _of_field(self: Any, field: Any, **_: Any) -> dict[str, Any]:
    """Return what a field of this house is in the words of JSON Schema."""
    kind = next((words for cls, words in _WORDS.items() if isinstance(field, cls)), None)
    if kind is None:
        return {}
    words: dict[str, Any] = {**kind, **field.metadata}
    if field.allow_none:
        words["type"] = [words["type"], "null"]
    if isinstance(field, Pair):
        parts = [field.first, field.second]
        words["prefixItems"] = [_of_field(self, part) for part in parts]
    if isinstance(field, Many | Two):
        words["items"] = self.field2property(field.inner)
        words["uniqueItems"] = True
    return words


_WORDS: dict[type, dict[str, Any]] = {
    Length: {"type": "number"},
    Whole: {"type": "integer"},
    Pair: {"type": "array", "minItems": 2, "maxItems": 2},
    Two: {"type": "array", "minItems": 2, "maxItems": 2},
    Many: {"type": "array"},
    Text: {"type": "string"},
}

_CURSOR = {"type": "integer", "minimum": 0}
_IDS = {"type": "array", "items": {"type": "string", "format": "uuid"}}
_REF = "#/components/schemas/"

_PLAIN: dict[str, dict[str, Any]] = {
    "Batch": {
        "type": "object",
        "properties": {"entries": {"type": "array", "items": {"$ref": _REF + "Entry"}}},
        "required": ["entries"],
    },
    "Added": {
        "type": "object",
        "properties": {
            "stored": _IDS,
            "known": _IDS,
            "refused": {"type": "array", "items": {"$ref": _REF + "Refused"}},
            "cursor": _CURSOR,
        },
        "required": ["stored", "known", "refused", "cursor"],
    },
    "Refused": {
        "type": "object",
        "properties": {
            "id": {"type": ["string", "null"]},
            "index": {"type": "integer", "minimum": 0},
            "field": {"type": "string"},
            "why": {"type": "string"},
        },
        "required": ["id", "index", "field", "why"],
    },
    "Page": {
        "type": "object",
        "properties": {
            "entries": {"type": "array", "items": {"$ref": _REF + "Entry"}, "maxItems": 500},
            "cursor": _CURSOR,
        },
        "required": ["entries", "cursor"],
    },
    "Sheets": {
        "type": "object",
        "properties": {
            "sheets": {
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "name": {"type": "string"},
                        "title": {"type": "string"},
                        "forms": {"type": "array", "items": {"type": "string"}},
                        "needs": {"type": "array", "items": {"type": "string"}},
                    },
                    "required": ["name", "title", "forms", "needs"],
                },
            },
        },
        "required": ["sheets"],
    },
    "Surveys": {
        "type": "object",
        "properties": {
            "surveys": {
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "id": {"type": "string", "format": "uuid"},
                        "title": {"type": "string"},
                        "created": {"type": "string", "format": "date-time"},
                        "cursor": _CURSOR,
                    },
                    "required": ["id", "title", "created", "cursor"],
                },
            }
        },
        "required": ["surveys"],
    },
    "Photo": {
        "type": "object",
        "properties": {
            "sha256": {"type": "string", "pattern": SHA256},
            "type": {"enum": sorted(TYPES)},
        },
        "required": ["sha256", "type"],
    },
    "Problem": {
        "type": "object",
        "properties": {
            "type": {"enum": [f"{LIST}#{code}" for code in CODES]},
            "title": {"type": "string"},
            "status": {"type": "integer"},
            "detail": {"type": "string"},
            "field": {"type": "string"},
        },
        "required": ["type", "title", "status", "detail"],
    },
}
