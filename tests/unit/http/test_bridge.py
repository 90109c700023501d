"""Bodies that stop, drip or break off: nobody waits for ever, and what came before is kept."""

from __future__ import annotations

import asyncio
import json
import resource
import socket
import time
from typing import TYPE_CHECKING, Any

import pytest

from baywalk.http import server
from baywalk.http.bridge import BodyCut, BodySlow, Bridge, Patience
from tests.support.sample import entry, head

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Sequence

    from tests.support.process import Service

QUICK = Patience(still=0.2, start=0.5, rate=10_000, drop=0.3)


def coming(
    steps: Sequence[tuple[float, dict[str, Any]]],
) -> Callable[[], Awaitable[dict[str, Any]]]:
    """Return what gives a body in steps, each after a pause [s]; then nothing comes."""
    left = list(steps)

    async def receive() -> dict[str, Any]:
        if not left:
            await asyncio.Event().wait()
        pause, message = left.pop(0)
        await asyncio.sleep(pause)
        return message

    return receive


def ask(
    app: Callable[..., Any], *steps: tuple[float, dict[str, Any]], headers: Any = ()
) -> tuple[int, bytes, float]:
    """Answer one request whose body comes in steps, each after a pause [s]; then nothing comes."""

    async def run() -> tuple[int, bytes, float]:
        sent: list[dict[str, Any]] = []

        async def send(message: dict[str, Any]) -> None:
            sent.append(message)

        scope = {
            "type": "http",
            "http_version": "1.1",
            "method": "POST",
            "scheme": "http",
            "path": "/",
            "raw_path": b"/",
            "query_string": b"",
            "headers": list(headers),
        }
        began = time.monotonic()
        await Bridge(app, 4, QUICK)(scope, coming(steps), send)
        return sent[0]["status"], sent[1]["body"], time.monotonic() - began

    return asyncio.run(run())


def piece(body: bytes, *, more: bool = True) -> dict[str, Any]:
    return {"type": "http.request", "body": body, "more_body": more}


CHUNKED = [(b"transfer-encoding", b"chunked")]
CUT = {"type": "http.disconnect"}


def reads(environ: dict[str, Any], start: Any) -> list[bytes]:
    """Read the whole body and answer it; a body that fails is named, with what came of it."""
    came = b""
    try:
        while part := environ["wsgi.input"].read(4):
            came += part
        start("200 OK", [])
    except (BodyCut, BodySlow) as fault:
        start("400 Bad Request", [])
        return [type(fault).__name__.encode() + b":" + came]
    return [came]


def test_a_body_is_read_however_it_comes() -> None:
    whole = [(0.0, piece(b"abcdefgh")), (0.0, piece(b"ij", more=False))]
    assert ask(reads, *whole, headers=CHUNKED)[:2] == (200, b"abcdefghij")
    dripped = [(0.05, piece(bytes([65 + n]), more=n < 5)) for n in range(6)]
    assert ask(reads, *dripped, headers=CHUNKED)[:2] == (200, b"ABCDEF")


def test_one_that_stops_is_given_up_and_what_came_is_kept() -> None:
    status, body, took = ask(reads, (0, piece(b"abcdef")), headers=CHUNKED)
    assert (status, body) == (400, b"BodySlow:abcdef")
    assert took < 2


def test_one_that_drips_for_ever_is_given_up() -> None:
    drips = [(0.1, piece(b"x"))] * 1000
    status, body, took = ask(reads, *drips, headers=CHUNKED)
    assert (status, body[:9]) == (400, b"BodySlow:")
    assert 0.4 < took < 3


def test_one_that_is_quick_enough_may_take_long() -> None:
    steps = [(0.1, piece(b"x" * 4000)) for _ in range(8)] + [(0.0, piece(b"", more=False))]
    assert ask(reads, *steps, headers=CHUNKED)[:2] == (200, b"x" * 32000)


def test_one_whose_framing_breaks_is_told_from_one_that_is_whole() -> None:
    steps = (0, piece(b"abcdef")), (0, CUT)
    assert ask(reads, *steps, headers=CHUNKED)[:2] == (400, b"BodyCut:abcdef")


def test_a_refused_body_is_dropped_for_a_while_and_no_longer() -> None:
    def refuses(_: dict[str, Any], start: Any) -> list[bytes]:
        start("403 Forbidden", [])
        return [b"no"]

    status, body, took = ask(refuses, (0, piece(b"x")), headers=[(b"content-length", b"99")])
    assert (status, body) == (403, b"no")
    assert took < 1


def test_a_body_that_stopped_is_let_go_before_its_request_ends() -> None:
    ends: list[str] = []

    async def run() -> None:
        async def receive() -> dict[str, Any]:
            try:
                await asyncio.Event().wait()
            finally:
                ends.append("let go")
            return CUT

        async def send(message: dict[str, Any]) -> None:
            ends.append(message["type"])

        scope = {"type": "http", "http_version": "1.1", "method": "POST", "scheme": "http"}
        scope |= {"path": "/", "query_string": b"", "headers": CHUNKED}
        began = time.monotonic()
        await Bridge(reads, 4, QUICK)(scope, receive, send)
        assert time.monotonic() - began > QUICK.still + QUICK.drop
        assert ends == ["http.response.start", "http.response.body", "let go"]

    asyncio.run(run())


def test_an_application_that_falls_gets_a_plain_answer(caplog: pytest.LogCaptureFixture) -> None:
    def falls(_: dict[str, Any], __: Any) -> list[bytes]:
        raise RuntimeError("inside")

    status, body, _ = ask(falls)
    assert (status, body) == (500, b"")
    assert "inside" in caplog.text


def test_a_name_with_an_underscore_means_no_other() -> None:
    def tells(environ: dict[str, Any], start: Any) -> list[bytes]:
        start("200 OK", [])
        return [json.dumps({k: v for k, v in environ.items() if k.startswith("HTTP_")}).encode()]

    headers = [(b"x_a", b"1"), (b"x-b", b"2"), (b"x-b", b"3")]
    assert json.loads(ask(tells, headers=headers)[1]) == {"HTTP_X_B": "2,3"}


def test_of_too_many_half_sent_bodies_the_stillest_is_given_up() -> None:
    """At once, and the others go on: what came last is waited for longest."""
    answers: dict[str, tuple[bytes, float]] = {}

    async def one(bridge: Bridge, name: str, *steps: tuple[float, dict[str, Any]]) -> None:
        async def send(message: dict[str, Any]) -> None:
            if "body" in message:
                answers[name] = message["body"], time.monotonic() - began

        scope = {"type": "http", "http_version": "1.1", "method": "POST", "scheme": "http"}
        scope |= {"path": "/", "query_string": b"", "headers": CHUNKED}
        await bridge(scope, coming(steps), send)

    async def run() -> None:
        bridge = Bridge(reads, 8, Patience(still=5, start=5, drop=0.1), crowd=2)
        still = one(bridge, "still", (0, piece(b"a")))
        # It was there first, and says something before the third comes.
        going = one(
            bridge, "going", (0, piece(b"b")), (0.3, piece(b"c")), (0.6, piece(b"d", more=False))
        )
        tasks = [asyncio.create_task(going)]
        await asyncio.sleep(0.05)
        tasks.append(asyncio.create_task(still))
        await asyncio.sleep(0.4)
        tasks.append(asyncio.create_task(one(bridge, "late", (0.2, piece(b"e", more=False)))))
        await asyncio.gather(*tasks)

    began = time.monotonic()
    asyncio.run(run())
    assert answers["still"][0] == b"BodySlow:a"
    assert answers["still"][1] < 2
    assert answers["going"][0] == b"bcd"
    assert answers["late"][0] == b"e"


@pytest.mark.parametrize(
    ("own", "most", "set_to", "found"),
    [
        (1024, 1_048_576, 2304, 2048),
        (256, 1024, 1024, 768),
        (20_000, 20_000, None, 2048),
        (1024, resource.RLIM_INFINITY, 2304, 2048),
        (resource.RLIM_INFINITY, resource.RLIM_INFINITY, None, 2048),
    ],
)
def test_there_are_as_many_files_as_connections(
    own: int, most: int, set_to: int | None, found: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[tuple[int, int]] = []
    monkeypatch.setattr(resource, "getrlimit", lambda _: (own, most))
    monkeypatch.setattr(resource, "setrlimit", lambda _, limits: asked.append(limits))
    assert server.connections() == found
    assert asked == ([] if set_to is None else [(set_to, most)])


def test_seven_hundred_half_sent_bodies_hold_nobody_up(running: Service) -> None:
    """Each holds a thread only until its time is up, or too many others have come since."""
    made = head()
    running.ask("PUT", f"/api/surveys/{made['id']}", json=made)
    opening = (
        f"POST /api/surveys/{made['id']}/entries HTTP/1.1\r\nHost: 127.0.0.1:{running.port}\r\n"
        "Content-Type: application/json\r\nContent-Length: 1000\r\n\r\n{"
    ).encode()
    lines = [socket.create_connection(("127.0.0.1", running.port)) for _ in range(700)]
    try:
        for line in lines:
            line.sendall(opening)
        time.sleep(1)
        began = time.monotonic()
        for _ in range(3):
            body = {"entries": [entry()]}
            answer = running.ask("POST", f"/api/surveys/{made['id']}/entries", json=body)
            assert answer.status == 200
        assert time.monotonic() - began < 5
        # The first is told at once that it is waited for no longer, and its connection is closed.
        lines[0].settimeout(5)
        first = b"".join(iter(lambda: lines[0].recv(4096), b""))
        assert first.startswith(b"HTTP/1.1 408 ")
    finally:
        for line in lines:
            line.close()
