"""The routes of surveys and their entries."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, g, request

from baywalk.fieldbook.errors import Fault
from baywalk.fieldbook.fields import UUID
from baywalk.fieldbook.head import head_fault
from baywalk.fieldbook.text import named_twice, unsound, write
from baywalk.http.bodies import read_json
from baywalk.http.problems import Problem

if TYPE_CHECKING:
    from baywalk.fieldbook import Survey
    from baywalk.fieldbook.store import Page, Store

HEAD_LIMIT = 1_000_000
"""The most bytes of a head [bytes]."""
BATCH_LIMIT = 4_000_000
"""The most bytes of a batch of entries [bytes]."""
BATCH_COUNT = 50_000
"""The most entries of a batch [-]: more than fit its bytes, were they sound."""

STORE = "Baywalk-Store"
"""The header with the store's mark."""

_CURSOR = re.compile(r"[0-9]{1,15}", re.ASCII)
_NO_ENTRIES = Fault("entries", "a head has no entries; they are sent by their own route")


def blueprint(store: Store) -> Blueprint:
    """Return the routes of surveys over a store."""
    routes = Blueprint("surveys", __name__, url_prefix="/api/surveys")
    one = "/<survey>"

    def add(rule: str, method: str, view: Any) -> None:
        routes.add_url_rule(
            rule,
            f"{method.lower()}_{view.__name__}",
            lambda **given: view(store, **given),
            methods=[method],
            provide_automatic_options=False,
        )

    add("", "GET", listed)
    add(one, "PUT", put_head)
    add(one, "GET", exported)
    add(f"{one}/entries", "POST", add_entries)
    add(f"{one}/entries", "GET", page)
    return routes


def listed(store: Store) -> Response:
    """Answer id, title, time of making and cursor of every survey, or of the phone's own.

    A header tells the store's mark, which is another one after it was put back to an older day.
    """
    own = [one for one in store.surveys() if not g.survey or one["id"] == g.survey]
    response = answer({"surveys": own})
    response.headers[STORE] = store.mark()
    return response


def put_head(store: Store, survey: str) -> Response:
    """Keep a head: 201 where it is new, 204 where it is equal, else 200 with the outcome."""
    head = read_json(HEAD_LIMIT)
    fault = _head_fault(head, survey)
    if fault:
        raise Problem.of(fault)
    head.pop("entries", None)
    outcome = store.put_head(head)
    if outcome == "equal":
        return Response(status=204)
    return answer(found(store, survey).head, 201 if outcome == "new" else 200)


def exported(store: Store, survey: str) -> Response:
    """Answer the whole survey, as a file of it would be."""
    return answer(found(store, survey).export())


def add_entries(store: Store, survey: str) -> Response:
    """Keep a batch of entries and answer, after the commit, what became of each."""
    added = store.add(known_form(survey), _batch(read_json(BATCH_LIMIT)))
    if added is None:
        raise Problem("no-such-survey")
    refused = [one.json() for one in added.refused]
    lists = {"stored": added.stored, "known": added.known, "refused": refused}
    return answer({**lists, "cursor": added.cursor})


def page(store: Store, survey: str) -> Response:
    """Answer the entries past a cursor, exactly as first posted."""
    after = request.args.get("after", "0")
    if not _CURSOR.fullmatch(after):
        raise Problem("bad-cursor", field="after")
    entries = store.page(known_form(survey), int(after))
    if entries is None:
        raise Problem("no-such-survey")
    return _text_answer(entries)


def found(store: Store, survey: str) -> Survey:
    """Return a survey, or raise the problem that there is no such one."""
    outcome = store.whole(known_form(survey))
    if outcome is None:
        raise Problem("no-such-survey")
    return outcome


def known_form(survey: str) -> str:
    """Return an id that has the form of one, or raise the problem that there is no such survey.

    Raises also where a phone that is paired for another survey alone asks for it, by whichever
    part of the address.
    """
    if not re.fullmatch(UUID, survey, re.ASCII):
        raise Problem("no-such-survey")
    if g.survey not in (None, survey):
        raise Problem("not-for-this-phone")
    return survey


def answer(value: object, status: int = 200) -> Response:
    """Return a value as an answer in JSON."""
    return Response(write(value), status, content_type="application/json")


def _head_fault(head: object, survey: str) -> Fault | None:
    """Return what is wrong with a head put at the address of a survey."""
    fault = head_fault(head)
    if fault or not isinstance(head, dict):
        return fault
    if head["id"] != survey:
        return Fault("id", "must be the id in the address")
    return _NO_ENTRIES if head.get("entries", []) != [] else None


def _batch(body: object) -> list[object]:
    """Return the entries of a batch's body, whatever they are; raise where there are none."""
    if not isinstance(body, dict) or not isinstance(body.get("entries"), list):
        raise Problem.of(Fault("entries", "must be a list of entries in an object"))
    # The entries are judged one by one, so that a bad one does not hold up the rest.
    fault = named_twice(body) or unsound({**body, "entries": []})
    if fault:
        raise Problem.of(fault)
    if len(body["entries"]) > BATCH_COUNT:
        raise Problem("body-too-large", f"At most {BATCH_COUNT} entries are taken at once.")
    entries: list[object] = body["entries"]
    return entries


def _text_answer(page: Page) -> Response:
    """Return a page as an answer, its entries being texts already."""
    body = f'{{"entries":[{",".join(page.entries)}],"cursor":{page.cursor}}}'
    return Response(body, content_type="application/json")
