"""From the server to the application, with a limit to how long a body may take to come.

The server hands over requests and bodies as they arrive (ASGI); Flask answers one after the other
in a thread (WSGI). Between the two, a body is read in the server's loop: one that stops half-way
is given up, one whose framing breaks is told from one that is whole, and what a refused request
still sends is read and dropped, so that whoever sends it gets to read why.
"""

from __future__ import annotations

import asyncio
import logging
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import unquote_to_bytes

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Iterable

    from _typeshed.wsgi import WSGIApplication, WSGIEnvironment

    Message = dict[str, Any]
    Receive = Callable[[], Awaitable[Message]]
    Send = Callable[[Message], Awaitable[None]]

DROP = 64_000_000
"""How much of a refused body is read and dropped at most [bytes]."""

CROWD = 256
"""How many bodies are waited for at once [-]. Each holds a thread, and some must stay free."""

LET_GO = 0.05
"""How long the server takes to let a body go that is waited for no longer [s]."""

_log = logging.getLogger(__name__)
_PLAIN_500 = (500, [(b"content-length", b"0")], b"")


class BodyCut(OSError):  # noqa: N818 - read as a sentence where it is raised
    """The body ended before its end, or its framing broke."""


class BodySlow(OSError):  # noqa: N818 - read as a sentence where it is raised
    """The body came so slowly, or stopped for so long, that it is not waited for."""


@dataclass(frozen=True)
class Patience:
    """How slowly a body may come.

    ``still`` is the time between two pieces [s], ``start`` the time at first [s], ``rate`` what
    must come on the whole from then on [bytes/s]; ``drop`` is how long a refused one is read [s].
    """

    still: float = 15
    start: float = 30
    rate: float = 4_000
    drop: float = 10


class Bridge:
    """An ASGI application that answers as its inner WSGI application does."""

    def __init__(
        self,
        inner: WSGIApplication,
        threads: int,
        patience: Patience | None = None,
        crowd: int = CROWD,
    ) -> None:
        """Take the application, how many requests it answers, and bodies it waits for at once."""
        self._inner = inner
        self._crowd = Crowd(crowd)
        self._threads = ThreadPoolExecutor(threads, thread_name_prefix="answer")
        self._patience = patience or Patience()

    async def __call__(self, scope: dict[str, Any], receive: Receive, send: Send) -> None:
        """Answer one request."""
        loop = asyncio.get_running_loop()
        body = Body(loop, receive, self._patience, self._crowd, _announced(scope))
        await body.begin()
        environ = environ_of(scope, body)
        answer = await loop.run_in_executor(self._threads, _answered, self._inner, environ)
        status, headers, content = answer
        await send({"type": "http.response.start", "status": status, "headers": headers})
        await send({"type": "http.response.body", "body": content, "more_body": False})
        await body.drop()


class Crowd:
    """The bodies that are waited for, the one that has been still for longest first."""

    def __init__(self, most: int) -> None:
        """Take how many there may be [-]."""
        self._most = most
        self._bodies: dict[Body, None] = {}

    def join(self, body: Body) -> None:
        """Wait for one more; where there are too many, the stillest is waited for no longer."""
        if len(self._bodies) >= self._most:
            stillest = next(iter(self._bodies))
            del self._bodies[stillest]
            stillest.give_up()
        self._bodies[body] = None

    def leave(self, body: Body) -> None:
        """Wait for a body no longer, or for its next piece from now on."""
        self._bodies.pop(body, None)


class Body:
    """A body as it comes: read in a thread, fetched in the loop."""

    def __init__(
        self,
        loop: asyncio.AbstractEventLoop,
        receive: Receive,
        patience: Patience,
        crowd: Crowd,
        announced: int | None,
    ) -> None:
        """Take where it comes from, and how long it is said to be [bytes]; None where in chunks."""
        self._loop, self._receive, self._patience = loop, receive, patience
        self._crowd = crowd
        self._given_up: asyncio.Future[None] | None = None
        self._began = loop.time()
        self._pending: asyncio.Future[Message] | None = None
        self._buffer = bytearray()
        self._came = 0
        self._ended = announced == 0
        self._failure: OSError | None = None

    async def begin(self) -> None:
        """Take what has come already: most bodies are here whole, and cost no further turn."""
        if not self._ended:
            await self._fetch(0.005)

    def read(self, size: int = -1) -> bytes:
        """Return the next bytes, none at the end; to be called outside the loop.

        Raises :class:`BodyCut` and :class:`BodySlow`.
        """
        while self._goes_on() and (size < 0 or len(self._buffer) < size):
            asyncio.run_coroutine_threadsafe(self._next(), self._loop).result()
        # What came before it failed is handed on first: a photo goes on from there another time.
        if self._failure and not self._buffer:
            raise self._failure
        stop = len(self._buffer) if size < 0 else size
        piece = bytes(self._buffer[:stop])
        del self._buffer[:stop]
        return piece

    async def drop(self) -> None:
        """Read on and drop what is left of it, for a while; then have its connection closed."""
        if isinstance(self._failure, BodySlow):
            # It may come yet, and whoever sends it gets to read that it came too late.
            self._failure = None
        end = self._loop.time() + self._patience.drop
        most = self._came + DROP
        while self._goes_on() and self._came < most:
            self._buffer.clear()
            if not await self._fetch(end - self._loop.time()):
                break
        if self._pending:
            # The server closes a connection whose body nobody waits for. Were this left before it
            # knows, the connection would stay open for as long as the other side likes.
            self._pending.cancel()
            await asyncio.wait({self._pending}, timeout=LET_GO)
            await asyncio.sleep(LET_GO)

    async def _next(self) -> None:
        """Take the next piece in, within the time that it has."""
        left = self._patience.start + self._came / self._patience.rate
        left -= self._loop.time() - self._began
        self._given_up = self._given_up or self._loop.create_future()
        self._crowd.join(self)
        came = left > 0 and await self._fetch(min(left, self._patience.still))
        self._crowd.leave(self)
        if not came:
            self._failure = BodySlow("the body comes too slowly")

    def give_up(self) -> None:
        """Wait for the next piece no longer; to be called in the loop."""
        if self._given_up and not self._given_up.done():
            self._given_up.set_result(None)

    def _goes_on(self) -> bool:
        """Say whether there is more to wait for."""
        return not self._ended and self._failure is None

    async def _fetch(self, wait: float) -> bool:
        """Wait for the next piece at most ``wait`` [s]; say whether it came."""
        self._pending = self._pending or asyncio.ensure_future(self._receive())
        either: set[asyncio.Future[Any]] = {self._pending}
        if self._given_up:
            either.add(self._given_up)
        # Not cancelled where it is late: the piece it then brings would be lost.
        await asyncio.wait(either, timeout=max(wait, 0), return_when=asyncio.FIRST_COMPLETED)
        if not self._pending.done():
            return False
        message, self._pending = self._pending.result(), None
        if message["type"] != "http.request":
            self._failure = BodyCut("the body was cut")
            return True
        piece = message.get("body", b"")
        self._came += len(piece)
        self._buffer += piece
        self._ended = not message.get("more_body", False)
        return True


def environ_of(scope: dict[str, Any], body: Body) -> WSGIEnvironment:
    """Return a request in WSGI's terms (PEP 3333)."""
    path = unquote_to_bytes(scope.get("raw_path") or scope["path"].encode())
    server, client = scope.get("server") or ("", 0), scope.get("client") or ("", 0)
    environ: dict[str, Any] = {
        "REQUEST_METHOD": scope["method"],
        "SCRIPT_NAME": "",
        "PATH_INFO": path.decode("latin-1"),
        "QUERY_STRING": scope["query_string"].decode("latin-1"),
        "SERVER_NAME": server[0],
        "SERVER_PORT": str(server[1]),
        "SERVER_PROTOCOL": f"HTTP/{scope['http_version']}",
        "REMOTE_ADDR": client[0],
        "wsgi.version": (1, 0),
        "wsgi.url_scheme": scope["scheme"],
        "wsgi.input": body,
        # Flask may read to the end of a body in chunks.
        "wsgi.input_terminated": True,
        "wsgi.errors": sys.stderr,
        "wsgi.multithread": True,
        "wsgi.multiprocess": False,
        "wsgi.run_once": False,
    }
    for name, value in _headers(scope["headers"]):
        known = environ.get(name)
        environ[name] = value if known is None else f"{known},{value}"
    return environ


def _headers(given: Iterable[tuple[bytes, bytes]]) -> Iterable[tuple[str, str]]:
    """Yield the headers by WSGI's names."""
    for name, value in given:
        # X_Name and X-Name would be one in WSGI: nobody shall write the one to mean the other.
        if b"_" in name:
            continue
        key = name.decode("latin-1").upper().replace("-", "_")
        plain = key in ("CONTENT_TYPE", "CONTENT_LENGTH")
        yield (key if plain else f"HTTP_{key}"), value.decode("latin-1")


def _announced(scope: dict[str, Any]) -> int | None:
    """Return how long the body is said to be [bytes], None where it comes in chunks."""
    headers = dict(scope["headers"])
    if b"transfer-encoding" in headers:
        return None
    length = headers.get(b"content-length", b"0")
    return int(length) if length.isdigit() else 0


def _answered(
    inner: WSGIApplication, environ: WSGIEnvironment
) -> tuple[int, list[tuple[bytes, bytes]], bytes]:
    """Return the inner application's status, headers and body."""
    told: list[Any] = []

    def start(status: str, headers: list[tuple[str, str]], *_: Any) -> Callable[[bytes], object]:
        told[:] = [status, headers]
        return lambda _: None

    try:
        answer = inner(environ, start)
        try:
            content = b"".join(answer)
        finally:
            close = getattr(answer, "close", None)
            if close:
                close()
        status, headers = told
    except Exception:
        # Flask tells its own errors; whatever comes here is outside it.
        _log.exception("unforeseen")
        return _PLAIN_500
    named = [(name.lower().encode("latin-1"), value.encode("latin-1")) for name, value in headers]
    return int(status.split(" ", 1)[0]), named, content
