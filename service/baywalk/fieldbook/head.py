"""The head of a survey: its title, tape and runs, and the merging of two of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import EXCLUDE, INCLUDE, Schema, ValidationError

from baywalk.fieldbook.errors import Fault
from baywalk.fieldbook.fields import (
    MAX_JOIST,
    MAX_TITLE,
    Id,
    Length,
    Many,
    Name,
    Text,
    Time,
    Two,
    Whole,
    part,
)
from baywalk.fieldbook.text import MAX_NESTING, unsound

FORMAT = "baywalk.survey"
VERSION = 1


class _Kept(Schema):
    """A schema that keeps the fields it does not know."""

    error_messages = {"type": "must be an object"}  # noqa: RUF012 - as the library declares it

    class Meta:
        """Fields of a later version pass through unchanged."""

        unknown = INCLUDE


class TapeSchema(_Kept):
    """The tape a survey is measured with."""

    cls = Text(data_key="class", most=MAX_TITLE)


class MemberSchema(_Kept):
    """The usual timber of a run: ``breadth`` and ``depth`` [mm], and its strength grade."""

    breadth = Length(allow_none=True)
    depth = Length(allow_none=True)
    grade = Text(most=MAX_TITLE, allow_none=True)
    cls = Text(data_key="class", most=MAX_TITLE, allow_none=True)


class RunSchema(_Kept):
    """One run of joists, with its tape lines.

    ``laps`` names pairs of neighbouring tape lines. Between the two of a pair, over a beam or a
    spine wall, each joist goes over from one timber to another beside it; at either line it is one
    timber alone.
    """

    id = Name(required=True)
    title = Text(most=MAX_TITLE)
    joists = Whole(most=MAX_JOIST)
    lines = Many(Name())
    laps = Many(Two())
    member = part(MemberSchema)


class HeadSchema(_Kept):
    """A survey's head: everything but its entries."""

    format = Text(required=True)
    version = Whole(required=True, most=MAX_JOIST)
    id = Id(required=True)
    title = Text(required=True, most=MAX_TITLE)
    created = Time(required=True)
    tape = part(TapeSchema)
    runs = Many(RunSchema, required=True)


_HEAD = HeadSchema()
_RUN = RunSchema()


def head_fault(head: object) -> Fault | None:
    """Return the first thing wrong with a parsed head, or None."""
    if not isinstance(head, Mapping):
        return Fault("", "a survey must be an object")
    if head.get("format") != FORMAT:
        return Fault("format", f"must be {FORMAT}")
    version = head.get("version")
    if isinstance(version, bool) or version != VERSION:
        return Fault("version", f"this version is not known here; version {VERSION} is")
    return unsound(head) or first_fault(_HEAD, head)


def run_fault(run: Mapping[str, Any]) -> Fault | None:
    """Return the first thing wrong with a parsed run of a head, or None."""
    # A run lies in a list in the head, and the limit counts from the outermost.
    return unsound(run, depth=MAX_NESTING - 2) or first_fault(_RUN, run)


def first_fault(schema: Schema, value: Mapping[str, Any]) -> Fault | None:
    """Return the first fault that ``schema`` finds, with its field's names joined by "/"."""
    try:
        schema.load(value, unknown=EXCLUDE)
    except ValidationError as fault:
        return Fault(*_first(fault.messages))
    return None


def merge(old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
    """Return the head that two heads of one survey amount to.

    Runs go together by id, tape lines by union, joists by the maximum; the rest is as in ``new``.
    ``created`` stays, for a survey is made once.
    """
    before = {run["id"]: run for run in old.get("runs") or ()}
    after = {run["id"]: run for run in new.get("runs") or ()}
    runs = {key: _merge_runs(before.get(key, {}), after.get(key, {})) for key in before | after}
    return {**old, **new, "created": old["created"], "runs": list(runs.values())}


def _merge_runs(old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
    """Return the run that two descriptions of one run amount to."""
    merged = {**old, **new}
    if "lines" in merged:
        merged["lines"] = list(dict.fromkeys([*old.get("lines", ()), *new.get("lines", ())]))
    if "joists" in merged:
        merged["joists"] = max(old.get("joists", 0), new.get("joists", 0))
    return merged


def _first(messages: object, trail: str = "") -> tuple[str, str]:
    """Return the first message of the library's nested ones, with its trail of names."""
    while isinstance(messages, Mapping):
        name, messages = next(iter(messages.items()))
        # The library files faults of a whole object under a name of its own.
        trail = trail if name == "_schema" else f"{trail}/{name}".lstrip("/")
    first = messages[0] if isinstance(messages, list) else messages
    return trail, str(first)
