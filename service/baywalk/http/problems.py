"""Problems: the one shape (RFC 9457) in which anything that did not go well is told.

Every code has its line in :data:`CODES`; the address of the list is the base of each ``type``.
"""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING, Any

from flask import Flask, Response, request
from flask.globals import request_ctx
from sqlalchemy.exc import SQLAlchemyError
from werkzeug.exceptions import HTTPException

from baywalk.fieldbook.text import write

if TYPE_CHECKING:
    from baywalk.fieldbook.errors import Fault

CODES: dict[str, tuple[int, str]] = {
    "not-json": (400, "The body is not the JSON that is read here."),
    "body-cut": (400, "The body ended before its end."),
    "bad-request": (400, "The request is not understood."),
    "bad-range": (400, "The Content-Range is not understood."),
    "not-the-shape": (422, "The body is not of the shape that is read here."),
    "bad-cursor": (422, "The cursor is not a whole number."),
    "bad-query": (422, "What is asked for is not understood."),
    "not-settled": (409, "The survey is not settled."),
    "not-to-be-planned": (422, "This survey cannot be planned as it stands."),
    "no-sound-plan": (422, "No plan was found that keeps every rule."),
    "not-to-be-checked": (422, "A figure of the as-built is none that a joist can have."),
    "not-paired": (401, "This phone is not paired with this service."),
    "session-ended": (401, "The pairing of this phone has run out. What is on it stays there."),
    "put-out": (401, "This phone was put out at the laptop. What is on it stays there."),
    "pairing-refused": (403, "This is not a code that pairs now. Have a new one made."),
    "owner-only": (403, "Only the machine that runs the service may do this."),
    "not-for-this-phone": (403, "This phone is paired for another survey."),
    "foreign-host": (403, "The service does not go by this name."),
    "foreign-origin": (403, "The request comes from another page."),
    "foreign-site": (403, "The request comes from another site."),
    "no-such-address": (404, "There is nothing at this address in this version."),
    "no-such-survey": (404, "There is no such survey here."),
    "no-such-sheet": (404, "There is no such sheet, or not in this form."),
    "no-such-photo": (404, "This photo is not here, or not whole."),
    "no-such-phone": (404, "There is no such phone here."),
    "wrong-method": (405, "This address does not take this method."),
    "body-too-slow": (408, "The body came too slowly. What was sent whole before is kept."),
    "wrong-start": (409, "The piece does not start where the part ends."),
    "no-phones": (409, "The service was started without phones."),
    "not-the-same": (412, "What is here is not what If-Match names."),
    "body-too-large": (413, "The body is larger than is taken here."),
    "wrong-type": (415, "The body is not of a type that is read here."),
    "wrong-hash": (422, "The bytes are not those of the SHA-256. They were dropped."),
    "not-a-picture": (422, "The bytes are no picture that is kept here. They were dropped."),
    "too-much-to-work-out": (422, "The survey is larger than is worked out here."),
    "internal": (500, "Something went wrong in the service. Nothing was lost."),
    "busy": (503, "The service is busy. Please try again."),
    "too-many-parts": (503, "Too many half-sent photos are here. Send this one again later."),
    "disk-full": (507, "The disk has no room left. Nothing of this was kept."),
}
"""Every code of a problem, with its status and title."""

LIST = "/api/problems"
MEDIA_TYPE = "application/problem+json"

_BY_STATUS = {404: "no-such-address", 405: "wrong-method", 413: "body-too-large"}
_FULL_DISK = {28: "ENOSPC", 27: "EFBIG", 122: "EDQUOT"}
_log = logging.getLogger(__name__)


class Problem(Exception):  # noqa: N818 - read as a sentence where it is raised
    """Something that did not go well, by its code in :data:`CODES`.

    ``detail`` says it of this request; ``more`` are members of their own, such as ``entry`` and
    ``field``; ``headers`` go with the answer.
    """

    def __init__(
        self, code: str, detail: str = "", *, headers: dict[str, str] | None = None, **more: Any
    ) -> None:
        """Take the code and what is to be said of this request."""
        super().__init__(detail or code)
        self.code, self.detail, self.more = code, detail, more
        self.headers = headers or {}

    @classmethod
    def of(cls, fault: Fault, **more: Any) -> Problem:
        """Return the problem of a fault found in a body."""
        return cls("not-the-shape", f"{fault}.", field=fault.field, **more)

    def answer(self) -> Response:
        """Return the problem as an answer."""
        status, title = CODES[self.code]
        body = {"type": f"{LIST}#{self.code}", "title": title, "status": status}
        body |= {"detail": self.detail or title} | self.more
        return Response(write(body), status, self.headers, content_type=MEDIA_TYPE)


def install(app: Flask) -> None:
    """Have every error of the app told as a problem."""
    app.register_error_handler(Problem, Problem.answer)
    app.register_error_handler(HTTPException, _of_http)
    app.register_error_handler(SQLAlchemyError, _of_store)
    app.register_error_handler(OSError, _of_disk)
    app.register_error_handler(Exception, _unforeseen)
    app.add_url_rule(LIST, "problems", _listed, provide_automatic_options=False)


def _listed() -> dict[str, Any]:
    """Tell every code, its status and its title."""
    return {
        "problems": [
            {"code": code, "status": status, "title": title}
            for code, (status, title) in CODES.items()
        ]
    }


def _of_http(fault: HTTPException) -> Response:
    """Tell an error that the library raised."""
    status = fault.code or 500
    code = _BY_STATUS.get(status, "bad-request" if status < 500 else "internal")
    if status == 405 and _leads_nowhere():
        return Problem("no-such-address").answer()
    headers = {k: v for k, v in fault.get_headers() if k == "Allow"}
    return Problem(code, headers=headers).answer()


def _leads_nowhere() -> bool:
    """Say whether an address under the API is none; the page's route, for one, takes any path."""
    adapter = request_ctx.url_adapter
    if adapter is None or not request.path.startswith("/api"):
        return False
    try:
        rule, _ = adapter.match(method="GET", return_rule=True)
    except HTTPException:
        return False
    return bool(rule.endpoint == "page")


def _of_store(fault: SQLAlchemyError) -> Response:
    """Tell an error of the database: a full disk, a lock that was not got, or else."""
    cause = getattr(fault, "orig", None)
    words = str(cause or fault).lower()
    name = getattr(cause, "sqlite_errorname", "") or ""
    _log.error("the store: %s", words)
    if name == "SQLITE_FULL" or "no space left" in words or "disk full" in words:
        return Problem("disk-full").answer()
    # What SQLite could not write it has undone; a limit on a file's size is told this way.
    if name.startswith("SQLITE_IOERR_WRITE") or name == "SQLITE_IOERR_SHMSIZE":
        return Problem("disk-full").answer()
    if name.startswith("SQLITE_BUSY"):
        return _busy()
    return Problem("internal").answer() if cause is not None else _busy()


def _busy() -> Response:
    """Ask to come again soon."""
    return Problem("busy", headers={"Retry-After": "2"}).answer()


def _of_disk(fault: OSError) -> Response:
    """Tell an error of the file system."""
    if fault.errno in _FULL_DISK:
        return Problem("disk-full").answer()
    return _unforeseen(fault)


def _unforeseen(fault: Exception) -> Response:
    """Tell any other error without its insides, which go to the log."""
    _log.error("unforeseen", exc_info=fault)
    return Problem("internal").answer()
