"""The plan of a survey, laid out once for a set of entries and choices."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from baywalk.fieldbook.text import write
from baywalk.http.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

MOST_JOISTS = 500
"""The most joists of a survey that is planned here [-]."""
SECONDS = 6.0
"""How long a layout may be improved where nothing is asked [seconds]."""
MOST_SECONDS = 30.0
"""How long it may be improved whatever is asked: others wait [seconds]."""


def planned(
    tag: str, as_built: str, asked: Mapping[str, Sequence[str]], question: object
) -> tuple[str, str]:
    """Return the tag and the plan of an as-built, as JSON text, for what is ``asked`` by name.

    Raises the problem of a choice that is not understood, of an as-built that cannot be planned,
    and of a plan that does not keep every rule.
    """
    from baywalk.planning import BadAsBuilt, BadChoice, Refused, failed, plan, read_choices

    document = json.loads(as_built)
    if sum(len(run["joists"]) for run in document["runs"]) > MOST_JOISTS:
        raise Problem("too-much-to-work-out", f"It has more than {MOST_JOISTS} joists.")
    try:
        choices = read_choices(asked)
        seconds = min(choices.seconds or SECONDS, MOST_SECONDS)
        made = plan(document, replace(choices, seconds=seconds))
    except BadChoice as why:
        raise Problem("bad-query", f"{why}.", field=why.field) from None
    except BadAsBuilt as why:
        raise Problem("not-to-be-planned", f"{why}.") from None
    except Refused as why:
        raise _refused(why) from None
    faults = failed(made)
    if faults:
        raise Problem("no-sound-plan", " ".join(faults), reasons=_spoken("plan.unsound", faults))
    own = hashlib.sha256(f"{tag} {question!r}".encode()).hexdigest()[:32]
    return own, write(made)


def _refused(why: Any) -> Problem:
    codes = [reason.code for reason in why.reasons]
    code = "not-settled" if "survey.not_settled" in codes else "not-to-be-planned"
    reasons = [{"code": reason.code, "say": reason.say} for reason in why.reasons]
    return Problem(code, str(why), reasons=reasons)


def _spoken(code: str, says: Sequence[str]) -> list[dict[str, str]]:
    return [{"code": code, "say": say} for say in says]
