"""The whole chain on one strange loft: as-built, load check, plan, sheets; what became of each."""

from __future__ import annotations

import json
import tempfile
from datetime import date
from pathlib import Path
from typing import Any

from baywalk import fieldbook, rules
from baywalk.capacity import BadCapacityInput, capacity, load_as_built, read_setting
from baywalk.planning import BadAsBuilt, Refused, failed, plan, read_choices
from baywalk.reconcile import reconcile
from baywalk.sheets import Source, head_of, write_all
from tests.strange import Strange

DAY = date(2026, 11, 1)


def walked(seed: int, seconds: float = 1.0) -> dict[str, str]:
    """Take a strange loft down the chain and say in words what became of each step.

    ``seconds`` is the time for the layout. Only the refusals that are described are caught:
    whatever else is raised is a fault and reaches the caller.
    """
    strange = Strange(seed)
    survey = fieldbook.load_survey(json.dumps(strange.survey))
    as_built = _same(reconcile(survey))
    checked, load = _checked(as_built, strange)
    planned, deck = _planned(as_built, strange, seconds)
    with tempfile.TemporaryDirectory() as folder:
        source = Source(as_built, planned, checked, survey, None, None, None)
        names = write_all(source, head_of(source, DAY, paper="A4", units="mm"), Path(folder))
        sheets = "written" if names else "none"
    return {"load check": load, "plan": deck, "sheets": sheets}


def _same(document: dict[str, Any]) -> dict[str, Any]:
    """Return a document as a file has it; no figure of it may be infinite or none."""
    read: dict[str, Any] = json.loads(json.dumps(document, allow_nan=False))
    return read


def _checked(as_built: dict[str, Any], strange: Strange) -> tuple[dict[str, Any] | None, str]:
    setting = read_setting(strange.asked_of_capacity(), rules.load())
    try:
        found = capacity(load_as_built(json.dumps(as_built)), setting)
    except BadCapacityInput as why:
        return None, f"refused: {why}"
    return _same(found), "made"


def _planned(
    as_built: dict[str, Any], strange: Strange, seconds: float
) -> tuple[dict[str, Any] | None, str]:
    try:
        made = _same(plan(as_built, read_choices(strange.asked_of_plan(seconds))))
    except (BadAsBuilt, Refused) as why:
        codes = sorted({reason.code for reason in getattr(why, "reasons", ())})
        return None, f"refused: {', '.join(codes) or why}"
    faults = failed(made)
    return made, f"broken: {faults[0]}" if faults else "made"
