"""The routes of what is worked out from a survey, answered again only where it has changed."""

from __future__ import annotations

import hashlib
import json
import threading
from collections import OrderedDict
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from flask import Blueprint, Response, request

from baywalk import places
from baywalk.fieldbook import Survey, fingerprint
from baywalk.fieldbook.text import write
from baywalk.http.bodies import read_json
from baywalk.http.conditional import conditional
from baywalk.http.planned import planned, planned_again
from baywalk.http.problems import Problem
from baywalk.http.surveys import found, known_form

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence

    from werkzeug.wrappers import Response as Conditional

    from baywalk.fieldbook.store import Store

MOST_PLACES = 50_000
"""The most joists and walls, each counted once a tape line, that are worked out here [-]."""
MOST_JOISTS = 500
"""The most joists whose load check is worked out here [-]."""
MOST_LINES = 200
"""The most tape lines of a run that is worked out here [-]."""
PLAN_LIMIT = 15_000_000
"""The most bytes of an earlier plan with what is laid of it [bytes]."""
PATIENCE = 20
"""How long a request waits for another one's working-out to end [s]."""

_KEPT = 16
_ROOMS = ("reconcile", "capacity", "planning")


Tagged = tuple[str, str]
"""A JSON text and its tag, the tag first."""
Question = tuple[tuple[str, tuple[str, ...]], ...]
"""What is asked, by name."""


class Computed:
    """What is worked out of surveys, as JSON texts with their tags; the last few are kept."""

    def __init__(self, store: Store) -> None:
        """Take the store whose surveys are worked out."""
        self._store = store
        self._kept: OrderedDict[Hashable, Tagged] = OrderedDict()
        # Working out keeps every core busy. One at a time, the rest of the service goes on.
        self._working = threading.Lock()
        self._planning = threading.Lock()

    def as_built(self, survey: str) -> Tagged:
        """Return the tag and the as-built of a survey; raise the problem where there is none."""
        stamp = self._stamp(survey)
        with self._turn():
            return self._as_built(survey, stamp)

    def capacity(self, survey: str, asked: Mapping[str, Sequence[str]]) -> Tagged:
        """Return the tag and the load check of a survey for what is ``asked`` by name.

        Raises the problem of a survey that is not there, and of what cannot be checked.
        """
        stamp = self._stamp(survey)
        question = _question(asked)
        with self._turn():
            tag, as_built = self._as_built(survey, stamp)
            return self._once(
                (survey, stamp, question), lambda: _check_load(tag, as_built, asked, question)
            )

    def plan(self, survey: str, asked: Mapping[str, Sequence[str]]) -> Tagged:
        """Return the tag and the plan of a survey for the choices ``asked`` by name.

        Raises the problem of a survey that is not there, and of what cannot be planned.
        """
        stamp = self._stamp(survey)
        key = ("plan", survey, stamp, _question(asked))
        with self._turn():
            tag, as_built = self._as_built(survey, stamp)
            if key in self._kept:
                return self._kept[key]
        # A layout takes seconds: as-builts and load checks do not wait for it.
        with self._turn(self._planning):
            made = planned(tag, as_built, asked, _question(asked))
        with self._turn():
            return self._once(key, lambda: made)

    def plan_again(self, survey: str, asked: Mapping[str, Sequence[str]], body: object) -> str:
        """Return the plan of a survey that goes on from the one in a ``body``; nothing is kept.

        Raises the problem of a survey that is not there, and of what cannot be planned.
        """
        stamp = self._stamp(survey)
        with self._turn():
            _, as_built = self._as_built(survey, stamp)
        with self._turn(self._planning):
            return planned_again(as_built, asked, body)

    def _as_built(self, survey: str, stamp: tuple[str, int]) -> Tagged:
        return self._once((survey, stamp), lambda: _work_out(found(self._store, survey)))

    def _stamp(self, survey: str) -> tuple[str, int]:
        stamp = self._store.stamp(survey)
        if stamp is None:
            raise Problem("no-such-survey")
        return stamp

    def _once(self, key: Hashable, make: Callable[[], Tagged]) -> Tagged:
        """Return what is kept under a key, or make it and keep it."""
        if key not in self._kept:
            self._kept[key] = make()
        self._kept.move_to_end(key)
        while len(self._kept) > _KEPT:
            self._kept.popitem(last=False)
        return self._kept[key]

    @contextmanager
    def _turn(self, lock: threading.Lock | None = None) -> Iterator[None]:
        """Wait for the working-out to be free; raise a problem where that takes too long."""
        held = lock or self._working
        if not held.acquire(timeout=PATIENCE):
            raise Problem("busy", headers={"Retry-After": "10"})
        try:
            yield
        finally:
            held.release()


def blueprint(computed: Computed) -> Blueprint:
    """Return the routes of what is worked out."""
    routes = Blueprint("computed", __name__, url_prefix="/api/surveys")

    def as_built(survey: str) -> Conditional:
        return _answer(computed.as_built(known_form(survey)))

    def capacity(survey: str) -> Conditional:
        return _answer(computed.capacity(known_form(survey), request.args.to_dict(flat=False)))

    def plan(survey: str) -> Conditional:
        return _answer(computed.plan(known_form(survey), request.args.to_dict(flat=False)))

    def plan_again(survey: str) -> Response:
        known, asked = known_form(survey), request.args.to_dict(flat=False)
        text = computed.plan_again(known, asked, read_json(PLAN_LIMIT))
        return Response(text, content_type="application/json")

    routes.add_url_rule(
        "/<survey>/plan", view_func=plan_again, methods=["POST"], provide_automatic_options=False
    )
    for view in (as_built, capacity, plan):
        rule = f"/<survey>/{view.__name__.replace('_', '-')}"
        routes.add_url_rule(rule, view_func=view, provide_automatic_options=False)
    return routes


def _question(asked: Mapping[str, Sequence[str]]) -> Question:
    """Return what is asked in one form, whatever the order it came in."""
    return tuple(sorted((name, tuple(texts)) for name, texts in asked.items()))


def _answer(tagged: Tagged) -> Conditional:
    """Return a text as an answer, or that it is the one which the asker has."""
    response = Response(tagged[1], content_type="application/json")
    response.set_etag(tagged[0])
    return conditional(response)


def _check_load(
    tag: str,
    as_built: str,
    asked: Mapping[str, Sequence[str]],
    question: Question,
) -> Tagged:
    """Return the tag and the load check of an as-built as JSON text."""
    from baywalk import rules
    from baywalk.capacity import BadCapacityInput, capacity, read_setting

    try:
        setting = read_setting(asked, rules.load())
    except BadCapacityInput as why:
        raise Problem("bad-query", str(why), field=why.field) from None
    document = json.loads(as_built)
    if sum(len(run["joists"]) for run in document["runs"]) > MOST_JOISTS:
        raise Problem("too-much-to-work-out", f"It has more than {MOST_JOISTS} joists.")
    try:
        checked = capacity(document, setting)
    except BadCapacityInput as why:
        raise Problem("not-to-be-checked", str(why), field=why.field) from None
    own = hashlib.sha256(f"{tag} {question!r}".encode()).hexdigest()[:32]
    return own, write(checked)


def _work_out(survey: Survey) -> tuple[str, str]:
    """Return the tag and the as-built of a survey as JSON text."""
    # The working-out and its libraries take a while to load; a service starts without them.
    from baywalk.reconcile import reconcile

    _check_size(survey)
    tag = hashlib.sha256(f"{fingerprint(survey)} {_edition()}".encode()).hexdigest()[:32]
    return tag, write(reconcile(survey))


def _check_size(survey: Survey) -> None:
    """Raise the problem of a survey that would keep the service busy for too long."""
    # A wall is a place as well, and a run without a tape line is worked out too.
    spots = sum((run.joists + 2) * max(1, len(run.lines)) for run in survey.runs)
    if spots > MOST_PLACES:
        raise Problem("too-much-to-work-out", f"It has more than {MOST_PLACES} places.")
    if any(len(run.lines) > MOST_LINES for run in survey.runs):
        raise Problem("too-much-to-work-out", f"A run has more than {MOST_LINES} tape lines.")


@cache
def _edition() -> str:
    """Return the hash of what works them out: the code and the figures of the trade."""
    package = Path(__file__).parent.parent
    code = sorted(file for room in _ROOMS for file in (package / room).rglob("*.py"))
    figures = sorted((places.shared() / "rules").glob("*.json"))
    figures += sorted((places.fixtures() / "span-tables").glob("*.json"))
    total = hashlib.sha256()
    for file in [*code, *figures]:
        total.update(hashlib.sha256(file.read_bytes()).digest())
    return total.hexdigest()
