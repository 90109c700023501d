"""Changing a survey's head at a path: an RFC 6901 JSON Pointer in which runs go by their id."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from baywalk.fieldbook.head import head_fault, run_fault

_FIXED = frozenset({"format", "version", "id", "created", "entries"})


def apply(head: Mapping[str, Any], path: str, value: object) -> dict[str, Any]:
    """Return ``head`` with ``value`` at ``path``; unchanged where the two do not fit it.

    ``/title``, ``/tape``, ``/tape/class``, ``/runs/A`` (adds or replaces a run), ``/runs/A/lines``
    and ``/runs/A/member/breadth`` fit, and so does a field not known here. What the survey *is*
    (format, version, id, created) does not change, and neither does a run's id.
    """
    steps = _steps(path)
    if not steps or steps[0] in _FIXED or steps == ["runs"]:
        return dict(head)
    changed = (
        _in_runs(head, steps[1:], value) if steps[0] == "runs" else _in_rest(head, steps, value)
    )
    return dict(head) if changed is None else changed


def _steps(path: str) -> list[str]:
    """Return the names along a pointer, unescaped; none where it is not a pointer."""
    if not path.startswith("/"):
        return []
    return [step.replace("~1", "/").replace("~0", "~") for step in path[1:].split("/")]


def _in_runs(head: Mapping[str, Any], steps: list[str], value: object) -> dict[str, Any] | None:
    """Return ``head`` with the run named first along ``steps`` changed, or None."""
    runs = list(head.get("runs") or ())
    place = next((i for i, run in enumerate(runs) if run["id"] == steps[0]), len(runs))
    if len(steps) == 1:
        changed = {"id": steps[0], **value} if isinstance(value, Mapping) else None
    else:
        changed = _put(runs[place], steps[1:], value) if place < len(runs) else None
    # A value that no head could have come with has no effect. Only what changed is looked at:
    # a head of a thousand runs may be changed a thousand times.
    if changed is None or changed.get("id") != steps[0] or run_fault(changed):
        return None
    return {**head, "runs": [*runs[:place], changed, *runs[place + 1 :]]}


def _in_rest(head: Mapping[str, Any], steps: list[str], value: object) -> dict[str, Any] | None:
    """Return ``head`` with something other than a run changed along ``steps``, or None."""
    changed = _put(head, steps, value)
    return None if changed is None or head_fault({**changed, "runs": []}) else changed


def _put(part: object, steps: list[str], value: object) -> dict[str, Any] | None:
    """Return a copy of an object with ``value`` at the end of ``steps``, or None.

    An object missing on the way is made, so that one measure of a timber can be given alone.
    """
    if not isinstance(part, Mapping):
        return None
    first, *rest = steps
    inner = _put(part.get(first, {}), rest, value) if rest else value
    return None if rest and inner is None else {**part, first: inner}
