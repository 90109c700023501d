"""Reading a whole survey from its JSON text, as the command line does."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from baywalk.fieldbook.entry import entry_fault, entry_name
from baywalk.fieldbook.errors import BadSurvey, BadText
from baywalk.fieldbook.fold import fold
from baywalk.fieldbook.head import head_fault
from baywalk.fieldbook.text import parse, same

if TYPE_CHECKING:
    from baywalk.fieldbook.survey import Survey


def load_survey(text: str | bytes) -> Survey:
    """Return the survey of a ``baywalk.survey`` 1 text.

    Raises :class:`BadSurvey` for the first fault, naming the entry and the field in one line.
    """
    try:
        document = parse(text)
    except BadText as why:
        raise BadSurvey(f"This file cannot be read: it is {why}.") from None
    head, entries = _parts(document)
    fault = head_fault(head)
    if fault:
        raise BadSurvey(f"The survey's head, {fault}.")
    return fold(head, _sound(entries))


def _parts(document: object) -> tuple[dict[str, Any], list[Any]]:
    """Return the head and the entries of a parsed survey."""
    if not isinstance(document, Mapping):
        raise BadSurvey("This file cannot be read: a survey must be an object.")
    entries = document.get("entries", [])
    if not isinstance(entries, list):
        raise BadSurvey("The survey, field 'entries': must be a list.")
    return {key: value for key, value in document.items() if key != "entries"}, entries


def _sound(entries: list[Any]) -> list[dict[str, Any]]:
    """Return the entries once each; raise BadSurvey for the first that is not sound."""
    known: dict[str, dict[str, Any]] = {}
    for index, entry in enumerate(entries):
        fault = entry_fault(entry)
        if fault:
            name = ascii((entry_name(entry) or "none")[:40])
            raise BadSurvey(f"Entry {index} (id {name}), {fault}.")
        if not same(known.setdefault(entry["id"], entry), entry):
            raise BadSurvey(
                f"Entry {index} (id {entry['id']!r}), field 'id': comes twice and differs."
            )
    return list(known.values())
