"""The routes of the sheets: one form of one sheet of a survey, made from what is worked out."""

from __future__ import annotations

import hashlib
import json
import re
import threading
from collections import OrderedDict
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, request

from baywalk.http.conditional import conditional
from baywalk.http.problems import Problem
from baywalk.http.surveys import answer, found, known_form

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from werkzeug.wrappers import Response as Conditional

    from baywalk.fieldbook.photos import Photos
    from baywalk.fieldbook.store import Store
    from baywalk.http.computed import Computed
    from baywalk.sheets import Sheet, Source

MOST_JOISTS = 500
"""The most joists that sheets are drawn of here [-]."""
PATIENCE = 20
"""How long a request waits for another one's drawing to end [s]."""

TYPES = {
    "svg": "image/svg+xml",
    "pdf": "application/pdf",
    "csv": "text/csv; charset=utf-8",
    "dxf": "image/vnd.dxf",
    "json": "application/json",
    "ifc": "application/x-step",
}
"""What each form is called over the wire."""

_OWN = ("page", "paper", "units", "earlier")
_KEPT = 8
_FILE = re.compile(r"([a-z-]{1,40})\.([a-z]{1,8})", re.ASCII)

Asked = dict[str, list[str]]


class Sheets:
    """Makes sheets of surveys; the last few made are kept, for their pages are asked one by one."""

    def __init__(self, store: Store, computed: Computed, photos: Photos) -> None:
        """Take where surveys, what is worked out of them, and photos are."""
        self._store, self._computed, self._photos = store, computed, photos
        self._kept: OrderedDict[str, Sheet] = OrderedDict()
        self._working = threading.Lock()

    def answer(self, survey: str, file: str, asked: Asked) -> Conditional:
        """Answer one form of one sheet; raise the problem of what cannot be made."""
        from baywalk.sheets import KINDS

        match = _FILE.fullmatch(file)
        kind = KINDS.get(match[1]) if match else None
        if match is None or kind is None or match[2] not in kind.forms:
            raise Problem("no-such-sheet")
        name, form = match.groups()
        choice = Choice.of(asked)
        source, tags = self._source(survey, kind.needs, choice)
        parts = [*tags, name, choice.paper, choice.units, source.base, _today(), _edition()]
        key = hashlib.sha256("\n".join(parts).encode()).hexdigest()[:32]
        response = Response(content_type=TYPES[form])
        response.set_etag(f"{key}-{form}-{choice.page}")
        response.headers["Content-Disposition"] = f'inline; filename="{name}.{form}"'
        # What the asker has already need not be drawn again to say so.
        answer = conditional(response)
        if answer.status_code != 304:
            answer.set_data(self._content(key, name, form, source, choice))
        return answer

    def _content(
        self, key: str, name: str, form: str, source: Source, choice: Choice
    ) -> bytes | str:
        from baywalk.sheets import DRAWN, drawing

        if form in DRAWN:
            return drawing(name, source, form)
        sheet = self._sheet(key, name, source, choice)
        if form == "pdf":
            return sheet.pdf()
        if form == "csv":
            return sheet.csv()
        if not 1 <= choice.page <= len(sheet.pages):
            raise Problem("bad-query", f"It has {len(sheet.pages)} pages.", field="page")
        return sheet.svg(choice.page)

    def _sheet(self, key: str, name: str, source: Source, choice: Choice) -> Sheet:
        """Return a sheet, made once and kept for a while."""
        from baywalk.sheets import head_of, make

        if not self._working.acquire(timeout=PATIENCE):
            raise Problem("busy", headers={"Retry-After": "10"})
        try:
            if key not in self._kept:
                day = datetime.now(UTC).date()
                head = head_of(source, day, paper=choice.paper, units=choice.units)
                self._kept[key] = make(name, source, head)
            self._kept.move_to_end(key)
            while len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
            return self._kept[key]
        finally:
            self._working.release()

    def _source(
        self, survey: str, needs: Sequence[str], choice: Choice
    ) -> tuple[Source, list[str]]:
        """Return what a sheet needs, and the tags of what it was made from."""
        from baywalk.sheets import Source

        tag, text = self._computed.as_built(survey)
        as_built = json.loads(text)
        if sum(len(run["joists"]) for run in as_built["runs"]) > MOST_JOISTS:
            raise Problem("too-much-to-work-out", f"It has more than {MOST_JOISTS} joists.")
        more: dict[str, Any] = {}
        tags = [tag]
        for need in needs:
            if need == "survey":
                more |= {"survey": found(self._store, survey), "photo": self._photo}
            elif need == "earlier":
                tagged = self._computed.as_built(known_form(choice.earlier))
                more["earlier"] = json.loads(tagged[1])
                tags.append(tagged[0])
            else:
                tagged = self._worked_out(need, survey, choice.rest)
                more[need] = json.loads(tagged[1])
                tags.append(tagged[0])
        if not set(needs) & {"plan", "capacity"} and choice.rest:
            raise Problem("bad-query", "This is not asked of this sheet.", field=min(choice.rest))
        return Source(as_built, base=request.host_url.rstrip("/"), **more), tags

    def _worked_out(self, need: str, survey: str, asked: Asked) -> tuple[str, str]:
        """Return the tag and the text of a load check or a plan."""
        if need == "plan":
            return self._computed.plan(survey, asked)
        return self._computed.capacity(survey, asked)

    def _photo(self, sha256: str) -> bytes | None:
        whole = self._photos.whole(sha256)
        return whole[0].read_bytes() if whole else None


class Choice:
    """What was asked of a sheet: its ``page``, ``paper``, ``units``, ``earlier``, and the rest."""

    def __init__(self, page: int, paper: str, units: str, earlier: str, rest: Asked) -> None:
        """Take what was asked; ``rest`` goes to the plan or the load check."""
        self.page, self.paper, self.units = page, paper, units
        self.earlier, self.rest = earlier, rest

    @classmethod
    def of(cls, asked: Mapping[str, list[str]]) -> Choice:
        """Return the choice of a query; raise the problem of one that is not understood."""
        from baywalk.sheets import PAPERS, UNITS

        own = {name: _once(asked, name) for name in _OWN}
        rest = {name: texts for name, texts in asked.items() if name not in _OWN}
        page = own["page"] or "1"
        if not re.fullmatch(r"[1-9][0-9]{0,4}", page, re.ASCII):
            raise Problem("bad-query", "It is a whole number from 1.", field="page")
        paper, units = own["paper"] or "A4", own["units"] or "mm"
        for name, value, known in (("paper", paper, PAPERS), ("units", units, UNITS)):
            if value not in known:
                raise Problem("bad-query", f"It is one of {', '.join(known)}.", field=name)
        return cls(int(page), paper, units, own["earlier"], rest)


def _once(asked: Mapping[str, list[str]], name: str) -> str:
    texts = asked.get(name) or [""]
    if len(texts) > 1:
        raise Problem("bad-query", "It is given more than once.", field=name)
    return texts[0]


def _today() -> str:
    return datetime.now(UTC).date().isoformat()


@cache
def _edition() -> str:
    """Return the hash of the code that draws."""
    total = hashlib.sha256()
    for file in sorted((Path(__file__).parent.parent / "sheets").rglob("*.py")):
        total.update(file.read_bytes())
    return total.hexdigest()


def blueprint(store: Store, computed: Computed, photos: Photos) -> Blueprint:
    """Return the routes of the sheets."""
    routes = Blueprint("sheets", __name__, url_prefix="/api/surveys")
    sheets = Sheets(store, computed, photos)

    def listed(survey: str) -> Response:
        found(store, known_form(survey))
        return answer({"sheets": _listed()})

    def sheet(survey: str, file: str) -> Conditional:
        return sheets.answer(known_form(survey), file, request.args.to_dict(flat=False))

    routes.add_url_rule("/<survey>/sheets", view_func=listed, provide_automatic_options=False)
    routes.add_url_rule("/<survey>/sheets/<file>", view_func=sheet, provide_automatic_options=False)
    return routes


def _listed() -> list[dict[str, Any]]:
    """Return every sheet: its name, its title, its forms, and what it is made from."""
    from baywalk.sheets import KINDS

    return [
        {"name": name, "title": kind.title, "forms": list(kind.forms), "needs": list(kind.needs)}
        for name, kind in KINDS.items()
    ]
