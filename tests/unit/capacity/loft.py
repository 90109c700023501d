"""As-builts written by hand for the load check; invented."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import jsonschema

from baywalk import places, rules
from baywalk.capacity import capacity, read_setting

PACK = rules.load()


def joist(index: int, x: float, **more: Any) -> dict[str, Any]:
    """Return a joist at ``x`` [mm] on one tape line."""
    exact = {"sd": 0.0}
    return {
        "index": index,
        "breadth": {"value": 47.0, **exact},
        "depth": {"value": 147.0, **exact},
        "at": {"near": {"x": x, **exact, "point": [x, 0.0]}},
        "span": {"value": 3000.0, **exact},
        "bearing": {"near": {"value": 100.0, **exact}, "far": {"value": 100.0, **exact}},
        "ends": {
            "near_support": {"value": 0.0, **exact},
            "far_support": {"value": 3000.0, **exact},
        },
        **more,
    }


def loft(count: int = 6, centres: float = 400.0, **more: Any) -> dict[str, Any]:
    """Return an as-built of one run; ``more`` goes into every joist, ``features`` into the run."""
    features = more.pop("features", [])
    joists = [joist(k, centres * k, **more) for k in range(1, count + 1)]
    end = {"at": {"near": {"x": centres * (count + 1), "sd": 0.0, "point": None}}}
    run = {
        "id": "A",
        "title": "A",
        "lines": ["near"],
        "member": {"breadth": 47, "depth": 147, "grade": "C16"},
        "walls": {"start": None, "end": end},
        "joists": joists,
        "features": features,
    }
    return {
        "format": "baywalk.as-built",
        "version": 1,
        "survey": "",
        "title": "By hand (invented)",
        "runs": [run],
        "settled": True,
    }


def checked(document: dict[str, Any], **asked: Any) -> dict[str, Any]:
    """Return the load check as a reader of the file has it, held to the schema."""
    given = {
        name: value if isinstance(value, list) else [str(value)] for name, value in asked.items()
    }
    out = capacity(document, read_setting(given, PACK), PACK)
    plain: dict[str, Any] = json.loads(json.dumps(out, allow_nan=False))
    validator().validate(plain)
    return plain


def one(document: dict[str, Any], index: int = 3, **asked: Any) -> dict[str, Any]:
    """Return one joist's load check."""
    found: dict[str, Any] = checked(document, **asked)["runs"][0]["joists"][index - 1]
    return found


def by_name(checks: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Return a joist's checks by their names."""
    return {check["name"]: check for check in checks["checks"]}


@cache
def validator() -> jsonschema.Draft202012Validator:
    """Return the load check's schema, ready to check with."""
    path = places.shared() / "schemas" / "capacity.schema.json"
    schema = json.loads(path.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)
