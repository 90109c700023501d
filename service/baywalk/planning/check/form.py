"""The plan's form: the part of JSON Schema that ``shared/schemas/plan.schema.json`` uses.

The service carries no JSON Schema library, and a checker that trusts the form of what it reads
could be broken by it. So the schema itself is walked here, and nothing is read before it holds.
"""

from __future__ import annotations

import json
import math
from functools import cache
from typing import Any

from baywalk import places

Json = Any
"""A value as JSON gives it."""

_GREATEST = 1e9
"""No length [mm], count or price of a plan is larger."""

_TYPES: dict[str, tuple[type, ...]] = {
    "object": (dict,),
    "array": (list,),
    "string": (str,),
    "boolean": (bool,),
    "null": (type(None),),
    "integer": (int,),
    "number": (int, float),
}


@cache
def schema() -> dict[str, Any]:
    """Return the schema of the plan."""
    path = places.shared() / "schemas" / "plan.schema.json"
    document: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return document


def faults(plan: Json) -> list[str]:
    """Return what is wrong with the plan's form, each with its place; empty where nothing is."""
    return _faults(plan, schema(), "plan")


def _faults(value: Json, rule: dict[str, Any], place: str) -> list[str]:
    if "$ref" in rule:
        return _faults(value, schema()["$defs"][rule["$ref"].rsplit("/", 1)[1]], place)
    if "anyOf" in rule:
        # The option that fits best says best what is wrong.
        tries = [_faults(value, option, place) for option in rule["anyOf"]]
        return min(tries, key=len)
    wrong = _own(value, rule)
    if wrong:
        return [f"{place} {wrong}"]
    if isinstance(value, dict):
        return _object(value, rule, place)
    if isinstance(value, list):
        return _array(value, rule, place)
    return []


def _own(value: Json, rule: dict[str, Any]) -> str | None:
    """Return what is wrong with the value itself, its parts left aside."""
    if "type" in rule and not _is(value, rule["type"]):
        return f"is not of type {rule['type']}"
    # True equals 1 to Python, so the kind is compared too.
    if "const" in rule and (value != rule["const"] or type(value) is not type(rule["const"])):
        return f"is not {rule['const']}"
    if "enum" in rule and value not in rule["enum"]:
        return f"is none of {', '.join(rule['enum'])}"
    if isinstance(value, int | float) and abs(value) > _GREATEST:
        return "is beyond any loft"
    if isinstance(value, int | float) and value < rule.get("minimum", -math.inf):
        return f"is below {rule['minimum']}"
    if isinstance(value, str) and len(value) < rule.get("minLength", 0):
        return "is empty"
    return None


def _is(value: Json, kinds: str | list[str]) -> bool:
    for kind in [kinds] if isinstance(kinds, str) else kinds:
        if kind in ("number", "integer"):
            # A boolean is an integer to Python, and NaN compares false with every limit.
            if isinstance(value, _TYPES[kind]) and not isinstance(value, bool):
                return math.isfinite(float(str(value)))
        elif isinstance(value, _TYPES[kind]):
            return True
    return False


def _object(value: dict[str, Json], rule: dict[str, Any], place: str) -> list[str]:
    out = [f"{place}.{name} is missing" for name in rule.get("required", ()) if name not in value]
    known = rule.get("properties", {})
    extra = rule.get("additionalProperties", True)
    for name, part in value.items():
        if name in known:
            out += _faults(part, known[name], f"{place}.{name}")
        # Fields that the schema does not name may be added, unless it says otherwise.
        elif isinstance(extra, dict):
            out += _faults(part, extra, f"{place}.{name}")
        elif extra is False:
            out.append(f"{place}.{name} is not known")
    return out


def _array(value: list[Json], rule: dict[str, Any], place: str) -> list[str]:
    first = rule.get("prefixItems", [])
    if len(value) < rule.get("minItems", 0):
        return [f"{place} has too few items"]
    if len(value) > rule.get("maxItems", math.inf) or (
        rule.get("items") is False and len(value) > len(first)
    ):
        return [f"{place} has too many items"]
    out: list[str] = []
    rest = rule.get("items") or {}
    for index, part in enumerate(value):
        own = first[index] if index < len(first) else rest
        out += _faults(part, own, f"{place}[{index}]")
    return out
