"""Reading bodies: of the right type, no larger than the route allows, whole, and strictly JSON."""

from __future__ import annotations

import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from flask import request

from baywalk.fieldbook.errors import BadText
from baywalk.fieldbook.text import parse
from baywalk.http.bridge import BodyCut, BodySlow
from baywalk.http.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator

PIECE = 64 * 1024
"""How much of a body is read at a time [bytes]."""

READERS = 384
"""How many bodies may be coming in at once [-]. Each holds a thread until it is here, and some
threads must stay free for those who only ask."""

_reading = threading.BoundedSemaphore(READERS)


def check_type(types: frozenset[str], *, needed: bool = True) -> None:
    """Refuse a body that is packed in any way, or of none of the media ``types``."""
    if request.headers.get("Content-Encoding") is not None:
        raise Problem("wrong-type", "A body with a Content-Encoding is not read here.")
    if request.headers.get("Transfer-Encoding", "chunked").strip().lower() != "chunked":
        raise Problem("wrong-type", "Of the Transfer-Encodings only chunked is read here.")
    given = request.mimetype
    charset = request.mimetype_params.get("charset", "utf-8").lower()
    if (given or needed) and (given not in types or charset not in ("utf-8", "utf8")):
        raise Problem("wrong-type", f"Only {', '.join(sorted(types))} is read here.")


def pieces(limit: int) -> Generator[bytes]:
    """Yield the body as it comes, of at most ``limit`` bytes.

    Raises a problem where it is larger, said so or not, and where it is cut.
    """
    length = request.content_length
    if length is not None and length > limit:
        raise _too_large(limit)
    # Without a length a body ends where the server says that its chunks do.
    chunked = length is None and "Transfer-Encoding" in request.headers
    stop, came = limit + 1 if chunked else length or 0, 0
    with _slot():
        while came < stop and (piece := _read(min(PIECE, stop - came))):
            came += len(piece)
            if came > limit:
                raise _too_large(limit)
            yield piece
    if length is not None and came < length:
        raise Problem("body-cut")


def read_json(limit: int) -> Any:
    """Return the parsed body of at most ``limit`` bytes; raise a problem for anything else."""
    check_type(frozenset({"application/json"}))
    try:
        return parse(b"".join(pieces(limit)))
    except BadText as fault:
        raise Problem("not-json", f"The body is {fault}.") from None


@contextmanager
def _slot() -> Iterator[None]:
    """Hold one of the places for bodies that are coming in."""
    if not _reading.acquire(timeout=5):
        raise Problem("busy", headers={"Retry-After": "2"})
    try:
        yield
    finally:
        _reading.release()


def _read(size: int) -> bytes:
    """Return the next bytes of the body, at most ``size``; none at its end."""
    try:
        piece: bytes = request.environ["wsgi.input"].read(size)
    except BodySlow:
        raise Problem("body-too-slow") from None
    except BodyCut:
        raise Problem("body-cut") from None
    return piece


def _too_large(limit: int) -> Problem:
    """Return the problem of a body that is larger than its route takes."""
    return Problem("body-too-large", f"At most {limit} bytes are taken here.")
