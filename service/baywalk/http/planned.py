"""The plan of a survey, laid out once for a set of entries and choices."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from baywalk.fieldbook.errors import Fault
from baywalk.fieldbook.text import unsound, write
from baywalk.http.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

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
    from baywalk.planning import plan, read_choices

    def make(document: Any) -> dict[str, Any]:
        choices = read_choices(asked)
        seconds = min(choices.seconds or SECONDS, MOST_SECONDS)
        return plan(document, replace(choices, seconds=seconds))

    own = hashlib.sha256(f"{tag} {question!r}".encode()).hexdigest()[:32]
    return own, _made(as_built, make)


def planned_again(as_built: str, asked: Mapping[str, Sequence[str]], body: object) -> str:
    """Return the plan that goes on from an earlier one and what is laid of it, as JSON text.

    ``body`` has the earlier ``plan`` and what is ``laid``, which may be left out. Raises the
    problem of a body that is not so, and what :func:`planned` raises.
    """
    from baywalk.planning import plan_again

    if not isinstance(body, dict) or not isinstance(body.get("plan"), dict):
        raise Problem.of(Fault("plan", "must be a plan in an object"))
    wide = unsound(body)
    if wide:
        raise Problem.of(wide)

    def make(document: Any) -> dict[str, Any]:
        most = MOST_SECONDS if "time" in asked else SECONDS
        return plan_again(document, body["plan"], body.get("laid"), asked, seconds=most)

    return _made(as_built, make)


def _made(as_built: str, make: Callable[[Any], dict[str, Any]]) -> str:
    """Return the plan that is made of an as-built, as JSON text; raise the problem with it."""
    from baywalk.planning import BadAsBuilt, BadAsLaid, BadChoice, BadEarlier, Refused, failed

    document = json.loads(as_built)
    if sum(len(run["joists"]) for run in document["runs"]) > MOST_JOISTS:
        raise Problem("too-much-to-work-out", f"It has more than {MOST_JOISTS} joists.")
    try:
        made = make(document)
    except BadEarlier as why:
        raise Problem.of(Fault("plan", str(why))) from None
    except BadAsLaid as why:
        raise Problem.of(Fault("laid", str(why))) from None
    except BadChoice as why:
        raise Problem("bad-query", f"{why}.", field=why.field) from None
    except BadAsBuilt as why:
        raise Problem("not-to-be-planned", f"{why}.") from None
    except Refused as why:
        raise _refused(why) from None
    faults = failed(made)
    if faults:
        raise Problem("no-sound-plan", " ".join(faults), reasons=_spoken("plan.unsound", faults))
    return write(made)


def _refused(why: Any) -> Problem:
    codes = [reason.code for reason in why.reasons]
    code = "not-settled" if "survey.not_settled" in codes else "not-to-be-planned"
    reasons = [{"code": reason.code, "say": reason.say} for reason in why.reasons]
    return Problem(code, str(why), reasons=reasons)


def _spoken(code: str, says: Sequence[str]) -> list[dict[str, str]]:
    return [{"code": code, "say": say} for say in says]
