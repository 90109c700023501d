"""What is not even a request: whatever comes over the line, the next who asks is answered."""

from __future__ import annotations

import contextlib
import gzip
import json
import random
import socket
import time
from typing import TYPE_CHECKING
from urllib.parse import quote

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.sample import entry, head

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.support.process import Service

HOLDERS = 24


def _requests(port: int) -> list[bytes]:
    """Return a few sound requests as bytes."""
    body = json.dumps({"entries": [entry()]}).encode()
    host = f"Host: 127.0.0.1:{port}\r\n"
    typed = f"{host}Content-Type: application/json\r\n"
    path = "/api/surveys/00000000-0000-4000-8000-000000000000"
    length = f"Content-Length: {len(body)}\r\n\r\n"
    chunks = f"Transfer-Encoding: chunked\r\n\r\n{len(body):x}\r\n".encode() + body
    return [
        f"GET /api/surveys HTTP/1.1\r\n{host}\r\n".encode(),
        f"POST {path}/entries HTTP/1.1\r\n{typed}{length}".encode() + body,
        f"POST {path}/entries HTTP/1.1\r\n{typed}".encode() + chunks + b"\r\n0\r\n\r\n",
        f"PUT /api/photos/{'0' * 64} HTTP/1.1\r\n{host}Content-Range: bytes 0-9/99\r\n"
        f"Content-Length: 10\r\n\r\n0123456789".encode(),
    ]


def _exchange(running: Service, sent: bytes) -> bytes:
    """Send bytes, end there, and return whatever comes back."""
    got = b""
    with running.line(10) as line, contextlib.suppress(OSError):
        line.sendall(sent)
        line.shutdown(socket.SHUT_WR)
        while piece := line.recv(65536):
            got += piece
    return got


@settings(max_examples=150)
@given(st.data())
def test_a_spoilt_request_harms_nobody(running: Service, data: st.DataObject) -> None:
    """Bytes of a sound request changed anywhere: no failure, and the next one is answered."""
    sent = bytearray(data.draw(st.sampled_from(_requests(running.port))))
    for _ in range(data.draw(st.integers(1, 4))):
        place = data.draw(st.integers(0, len(sent) - 1))
        gone = data.draw(st.integers(0, 8))
        odd = st.sampled_from([b"\r\n", b"\r\n\r\n", b"\0", b":", b"Content-Length: 5\r\n", b" "])
        sent[place : place + gone] = data.draw(st.one_of(st.binary(max_size=8), odd))
    got = _exchange(running, bytes(sent))
    assert not got or got.startswith(b"HTTP/1.")
    assert got.split(b" ", 2)[1:2] != [b"500"], got
    assert running.ask("GET", "/api/surveys").status == 200


@pytest.mark.parametrize("length", ["0", "1", "99999", "-1", "1e3", "5, 5", "", "9" * 30])
def test_a_wrong_length(running: Service, length: str) -> None:
    """A length that is not the body's is refused, or what follows is, and no one waits for it."""
    host = f"127.0.0.1:{running.port}"
    path = f"/api/surveys/{head()['id']}/entries"
    first = f"POST {path} HTTP/1.1\r\nHost: {host}\r\nContent-Type: application/json\r\n"
    got = _exchange(running, f"{first}Content-Length: {length}\r\n\r\n{{}}".encode())
    assert not got or b"200 OK" not in got
    assert running.ask("GET", "/api/surveys").status == 200


@pytest.mark.parametrize(
    "more",
    [
        "Transfer-Encoding: chunked\r\nContent-Length: 4\r\n",
        "Content-Length: 4\r\nContent-Length: 5\r\n",
        "Transfer-Encoding: chunked, identity\r\n",
        "Transfer-Encoding: xchunked\r\nContent-Length: 4\r\n",
    ],
)
def test_a_request_that_two_could_read_differently(running: Service, more: str) -> None:
    """A second request hidden in a body is never answered as one."""
    host = f"Host: 127.0.0.1:{running.port}\r\n"
    hidden = f"GET /api/problems HTTP/1.1\r\n{host}\r\n"
    got = _exchange(running, f"PUT /x HTTP/1.1\r\n{host}{more}\r\n0\r\n\r\n{hidden}".encode())
    # One answer to the first; a second only where the first plainly ended before it.
    assert got.count(b"HTTP/1.1 200") <= (1 if "chunked\r\nContent-Length" in more else 0)
    assert running.ask("GET", "/api/surveys").status == 200


@contextlib.contextmanager
def _holding(running: Service, starts: list[bytes]) -> Iterator[None]:
    """Hold two dozen connections open, each with one of the starts sent."""
    with contextlib.ExitStack() as stack:
        for place in range(HOLDERS):
            line = stack.enter_context(running.line())
            line.sendall(starts[place % len(starts)])
        time.sleep(0.3)
        yield


def test_the_idle_and_the_slow_delay_nobody(running: Service) -> None:
    """With two dozen of them, a batch is kept and read again as fast as without."""
    host = f"Host: 127.0.0.1:{running.port}\r\n"
    body = f"{host}Content-Type: application/json\r\nContent-Length: 900\r\n\r\n{{"
    path = "/api/surveys/00000000-0000-4000-8000-000000000000/entries"
    photo = f"PUT /api/photos/{'0' * 64} HTTP/1.1\r\n{host}Content-Length: 9999\r\n\r\n\xff"
    starts = [b"", b"GET / HT", f"POST {path} HTTP/1.1\r\n{body}".encode(), photo.encode()]
    alone = _slowest(running)
    with _holding(running, starts):
        held = _slowest(running)
    # Three times the slowest alone, and a third of a second for a busy machine: not a wait.
    assert held < 3 * alone + 0.3


def _slowest(running: Service) -> float:
    """Return the longest that one of thirty rounds took [s]."""
    given, times = head(), []
    path = f"/api/surveys/{given['id']}"
    assert running.ask("PUT", path, json=given).status == 201
    for _ in range(30):
        began = time.perf_counter()
        assert running.ask("POST", f"{path}/entries", json={"entries": [entry()]}).status == 200
        assert running.ask("GET", f"{path}/entries?after=0").status == 200
        times.append(time.perf_counter() - began)
    return max(times)


@pytest.mark.parametrize("coding", ["gzip", "deflate", "br", "identity", "gzip, gzip"])
def test_a_packed_body_is_not_unpacked(running: Service, coding: str) -> None:
    """A bomb is refused before it is looked at."""
    bomb = gzip.compress(b"[" * 100_000_000)
    given = {"Content-Type": "application/json", "Content-Encoding": coding}
    path = f"/api/surveys/{head()['id']}/entries"
    assert running.ask("POST", path, bomb, given).status == 415


@given(st.text(st.characters(max_codepoint=0x2FF), max_size=40))
def test_any_path_gets_one_answer(running: Service, junk: str) -> None:
    """A path of anything leads to nothing, in the one shape of a problem."""
    draw = random.Random(junk)
    encoded = "".join(quote(sign, safe=draw.choice(("", "/.%~"))) for sign in junk)
    for start in ("/api/", "/api/surveys/", "/api/photos/"):
        answer = running.ask("GET", start + encoded)
        if answer.status != 200:
            assert answer.status in (400, 404, 422), (encoded, answer.status)
            assert answer.headers["content-type"] == "application/problem+json"
