"""The routes of photos: sent in one go or in pieces, and fetched redrawn."""

from __future__ import annotations

import hashlib
import re
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, g, request

from baywalk.fieldbook.errors import Fault
from baywalk.fieldbook.fields import SHA256
from baywalk.fieldbook.photos import (
    MAX_BYTES,
    NotAPicture,
    Photos,
    TooManyParts,
    WrongHash,
    WrongStart,
)
from baywalk.http.bodies import check_type, pieces
from baywalk.http.problems import Problem
from baywalk.http.surveys import answer

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

TYPES = frozenset({"image/jpeg", "image/png", "image/webp"})

_RANGE = re.compile(r"bytes ([0-9]{1,12})-([0-9]{1,12})/([0-9]{1,12})", re.ASCII)
_OFFSET = "Upload-Offset"
_APART = {
    # Should a browser ever show one as a page, it is a page that may do nothing.
    "Content-Security-Policy": "sandbox; default-src 'none'",
    "Content-Disposition": "attachment",
}


@dataclass(frozen=True)
class _Span:
    """Which bytes of a photo a piece is: from ``start``, to before ``stop``, of ``total``."""

    start: int
    stop: int
    total: int


def blueprint(photos: Photos) -> Blueprint:
    """Return the routes of photos over a folder of them."""
    routes = Blueprint("photos", __name__, url_prefix="/api/photos")

    def add(method: str, view: Any) -> None:
        routes.add_url_rule(
            "/<sha256>",
            method.lower(),
            lambda sha256: view(photos, _hash(sha256)),
            methods=[method],
            provide_automatic_options=False,
        )

    add("PUT", put)
    add("GET", get)
    return routes


def put(photos: Photos, sha256: str) -> Response:
    """Take a photo or the next piece: 201 when it is whole, 202 while not, 204 if it was."""
    check_type(TYPES, needed=False)
    span = _span()
    if span is None:
        return _put_whole(photos, sha256)
    if photos.whole(sha256):
        return Response(status=204)
    with closing(pieces(span.stop - span.start)) as body:
        stop = _grow(photos, sha256, span.start, body)
    if stop != span.stop:
        raise Problem("body-cut")
    if stop < span.total:
        return Response(status=202, headers={_OFFSET: str(stop)})
    return _finish(photos, sha256, stop)


def get(photos: Photos, sha256: str) -> Response:
    """Answer a whole photo; to HEAD, also how much of one is here."""
    if request.method == "HEAD":
        photos.recover(sha256)
    offset = {_OFFSET: str(photos.offset(sha256) or 0)}
    whole = photos.whole(sha256)
    if whole and request.method == "GET" and g.survey and not photos.shown(g.survey, sha256):
        raise Problem("not-for-this-phone")
    if whole:
        file, kind = whole
        return Response(file.read_bytes(), 200, offset | _APART, content_type=kind)
    if request.method == "HEAD" and offset[_OFFSET] != "0":
        return Response(status=200, headers=offset)
    raise Problem("no-such-photo", headers=offset)


def _hash(sha256: str) -> str:
    """Return a hash that has the form of one, or raise the problem that it has not."""
    if not re.fullmatch(SHA256, sha256, re.ASCII):
        raise Problem.of(Fault("sha256", "must be a SHA-256 in lower case"))
    return sha256


def _span() -> _Span | None:
    """Return which bytes this piece is, None where it is the whole; raise where it cannot be."""
    length, given = request.content_length, request.headers.get("Content-Range")
    if given is None:
        if length is not None and length > MAX_BYTES:
            raise Problem("body-too-large", f"A photo has at most {MAX_BYTES} bytes here.")
        return None
    match = _RANGE.fullmatch(given)
    if not match:
        raise Problem("bad-range")
    start, last, total = map(int, match.groups())
    if total > MAX_BYTES:
        raise Problem("body-too-large", f"A photo has at most {MAX_BYTES} bytes here.")
    if not start <= last < total or length not in (None, last + 1 - start):
        raise Problem("bad-range", "The range and the length do not go together.")
    return _Span(start, last + 1, total)


def _put_whole(photos: Photos, sha256: str) -> Response:
    """Take a photo that is sent in one go; its bytes must be those of the hash in any case."""
    total, here = hashlib.sha256(), photos.whole(sha256)
    # Closed at once also where a piece is not taken, for it holds a place among the readers.
    with closing(pieces(MAX_BYTES)) as body:
        counted = _counted(body, total)
        if here:
            stop = sum(map(len, counted))
        else:
            photos.restart(sha256)
            stop = _grow(photos, sha256, 0, counted)
    if total.hexdigest() != sha256:
        photos.restart(sha256)
        raise Problem("wrong-hash", field="sha256")
    return Response(status=204) if here else _finish(photos, sha256, stop, right=True)


def _counted(body: Iterable[bytes], total: hashlib._Hash) -> Iterator[bytes]:
    """Yield the pieces of a body, each put into the hash as it comes."""
    for piece in body:
        total.update(piece)
        yield piece


def _grow(photos: Photos, sha256: str, start: int, body: Iterable[bytes]) -> int:
    """Add a body to what is here of a photo and return where that ends [bytes]."""
    try:
        return photos.grow(sha256, start, body)
    except WrongStart as fault:
        raise _elsewhere(fault) from None
    except TooManyParts:
        raise Problem("too-many-parts", headers={"Retry-After": "60"}) from None
    except Problem as problem:
        if problem.code == "body-too-large":
            photos.restart(sha256)
        raise


def _finish(photos: Photos, sha256: str, stop: int, *, right: bool = False) -> Response:
    """Check and keep a photo that came to its end, ``stop`` [bytes]."""
    try:
        kind = photos.finish(sha256, stop, right=right)
    except WrongStart as fault:
        raise _elsewhere(fault) from None
    except WrongHash:
        raise Problem("wrong-hash", field="sha256") from None
    except NotAPicture as fault:
        raise Problem("not-a-picture", f"The photo {fault}. It was dropped.") from None
    return answer({"sha256": sha256, "type": kind}, 201)


def _elsewhere(fault: WrongStart) -> Problem:
    """Return the problem of a photo that ends elsewhere than its sender thought."""
    offset = {_OFFSET: str(fault.offset)}
    return Problem("wrong-start", f"It ends at {fault.offset}.", headers=offset)
