"""Hostile requests to the real service: one clear refusal each, and nothing stored."""

from __future__ import annotations

import contextlib
import json
import re
import socket
import time
from typing import TYPE_CHECKING, Any

import pytest

from tests.support.sample import bare, entry, head

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.support.process import Service

JSON = {"Content-Type": "application/json"}


@pytest.fixture(scope="module")
def survey(running: Service) -> str:
    made = head()
    assert running.ask("PUT", f"/api/surveys/{made['id']}", json=made).status == 201
    return str(made["id"])


def assert_problem(answer: Any, status: int) -> dict[str, Any]:
    assert answer.status == status, answer
    assert answer.headers["content-type"] == "application/problem+json"
    problem = answer.json()
    assert isinstance(problem, dict)
    assert problem["status"] == status
    assert problem["type"].startswith("/api/problems#")
    assert problem["title"]
    assert problem["detail"]
    assert "Traceback" not in answer.body.decode()
    return problem


BODIES: list[tuple[str, bytes, int]] = [
    ("nothing", b"", 400),
    ("not JSON", b"entries=1", 400),
    ("half a JSON", b'{"entries": [', 400),
    ("not UTF-8", b'{"entries": ["\xff"]}', 400),
    ("UTF-16", '{"entries": []}'.encode("utf-16"), 400),
    ("NaN", b'{"entries": [{"value": NaN}]}', 400),
    ("infinity", b'{"entries": [{"value": -Infinity}]}', 400),
    ("a number past all outside the entries", b'{"x": 1e999, "entries": []}', 422),
    ("nested past all", b'{"entries": ' + b"[" * 200_000, 400),
    (
        "nested deep outside the entries",
        b'{"x": ' + b"[" * 40 + b"]" * 40 + b', "entries": []}',
        422,
    ),
    ("a list", b"[]", 422),
    ("a text", b'"entries"', 422),
    ("null", b"null", 422),
    ("no entries", b"{}", 422),
    ("entries no list", b'{"entries": {}}', 422),
    ("entries null", b'{"entries": null}', 422),
    ("entries twice", b'{"entries": [], "entries": []}', 422),
    ("too many entries", b'{"entries": [' + b"0," * 60_000 + b"0]}", 413),
    ("too large", b'{"entries": ["' + b"x" * 4_000_000 + b'"]}', 413),
]


@pytest.mark.parametrize(("body", "status"), [b[1:] for b in BODIES], ids=[b[0] for b in BODIES])
def test_a_batch_that_is_none_is_refused_whole(
    running: Service, survey: str, body: bytes, status: int
) -> None:
    before = running.ask("GET", f"/api/surveys/{survey}/entries").body
    assert_problem(running.ask("POST", f"/api/surveys/{survey}/entries", body, JSON), status)
    assert running.ask("GET", f"/api/surveys/{survey}/entries").body == before


ENTRIES: list[tuple[str, str, str]] = [
    ("a key twice", '"value": 1, "value": 2', "value"),
    ("half a surrogate pair", '"note": "\\ud800"', "note"),
    ("half a surrogate pair as a key", '"\\udc00": 1', ""),
    ("half a surrogate pair as an id", '"id": "\\ud800"', "id"),
    ("half a surrogate pair deep in a name with a slash", '"a/b": [{"c": "\\udfff"}]', "a/b"),
    ("nested deep", '"deep": ' + "[" * 500 + "]" * 500, "deep"),
    ("absurd length", '"value": 1e300', "value"),
    # Both are numbers by RFC 8259, section 6, so the batch is JSON and only the entry is bad.
    ("a number past all", '"value": 1e999', "value"),
    ("a number of many digits", '"deep": [' + "9" * 10_000 + "]", "deep"),
    ("negative", '"value": -1', "value"),
    ("text for a number", '"value": "353"', "value"),
    ("truth for a number", '"value": true', "value"),
    ("a huge joist", '"from": [99999, "left"]', "from"),
    ("an id like a path", '"id": "../../etc/passwd"', "id"),
]


@pytest.mark.parametrize(("part", "field"), [e[1:] for e in ENTRIES], ids=[e[0] for e in ENTRIES])
def test_a_bad_entry_is_refused_and_its_neighbour_stored(
    running: Service, survey: str, part: str, field: str
) -> None:
    good = entry()
    bad = json.dumps(entry())[:-1] + ", " + part + "}"
    body = f'{{"entries": [{bad}, {json.dumps(good)}]}}'
    answer = running.ask("POST", f"/api/surveys/{survey}/entries", body, JSON)
    assert answer.status == 200
    added = answer.json()
    assert added["stored"] == [good["id"]]
    assert added["known"] == []
    (refused,) = added["refused"]
    assert refused["index"] == 0
    # A key named twice is a fault of the entry as a whole.
    assert refused["field"] == ("" if "twice" in refused["why"] else field)
    assert refused["why"]
    # Half a surrogate pair, said back, could not be read by everyone.
    answer.body.decode("ascii")
    assert not re.search(r"\\u[dD][89a-fA-F]", answer.body.decode())


@pytest.mark.parametrize(
    ("run", "field"),
    [
        ('{"id": "B", "title": "\\ud800"}', "runs/1/title"),
        ('{"id": "B", "lines": ["near", "\\udc00"]}', "runs/1/lines/1"),
        ('{"id": "B", "joists": 1e999}', "runs/1/joists"),
    ],
)
def test_what_spoils_a_head_is_named_where_it_lies(running: Service, run: str, field: str) -> None:
    made = head()
    body = json.dumps(made)[: -len("]}")] + f", {run}]}}"
    answer = running.ask("PUT", f"/api/surveys/{made['id']}", body, JSON)
    assert assert_problem(answer, 422)["field"] == field


HEADERS: list[tuple[str, dict[str, str], int]] = [
    ("a foreign host", {"Host": "evil.example"}, 403),
    ("a host without its port", {"Host": "127.0.0.1"}, 403),
    ("a host with another port", {"Host": "127.0.0.1:1"}, 403),
    ("an empty host", {"Host": ""}, 403),
    ("two hosts in one", {"Host": "{own},evil.example"}, 403),
    ("a host with a name before", {"Host": "evil@{own}"}, 403),
    ("a foreign origin", {"Origin": "https://evil.example"}, 403),
    ("an origin of another port", {"Origin": "http://127.0.0.1:1"}, 403),
    ("an origin of another scheme", {"Origin": "https://{own}"}, 403),
    ("no origin's name", {"Origin": "null"}, 403),
    ("an empty origin", {"Origin": ""}, 403),
    ("a cross-site fetch", {"Sec-Fetch-Site": "cross-site"}, 403),
    ("a same-site fetch", {"Sec-Fetch-Site": "same-site"}, 403),
    (
        "a cross-site link to the API",
        {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"},
        403,
    ),
    ("a forwarded host", {"Host": "evil.example", "X-Forwarded-Host": "{own}"}, 403),
    ("a forwarded port", {"Host": "127.0.0.1", "X-Forwarded-Port": "{port}"}, 403),
]


@pytest.mark.parametrize("method", ["GET", "POST", "PUT", "DELETE"])
@pytest.mark.parametrize(("given", "status"), [h[1:] for h in HEADERS], ids=[h[0] for h in HEADERS])
def test_who_comes_from_elsewhere_is_refused(
    running: Service, survey: str, method: str, given: dict[str, str], status: int
) -> None:
    own = f"127.0.0.1:{running.port}"
    headers = {k: v.format(own=own, port=running.port) for k, v in given.items()}
    body = None if method == "GET" else json.dumps({"entries": [entry()]})
    before = running.ask("GET", f"/api/surveys/{survey}/entries").body
    answer = running.ask(method, f"/api/surveys/{survey}/entries", body, JSON | headers)
    assert_problem(answer, status)
    assert running.ask("GET", f"/api/surveys/{survey}/entries").body == before


@pytest.mark.parametrize(
    "given",
    [
        {},
        {"Origin": "http://127.0.0.1:{port}"},
        {"Origin": "http://localhost:{port}", "Host": "localhost:{port}"},
        {"Sec-Fetch-Site": "same-origin"},
        {"Sec-Fetch-Site": "none"},
        {"X-Forwarded-Host": "evil.example", "Forwarded": "host=evil.example"},
        {"X-Forwarded-For": "8.8.8.8", "X-Forwarded-Proto": "https", "X-Real-IP": "8.8.8.8"},
    ],
)
def test_who_comes_from_the_page_itself_is_answered(
    running: Service, given: dict[str, str]
) -> None:
    headers = {k: v.format(port=running.port) for k, v in given.items()}
    assert running.ask("GET", "/api/surveys", headers=headers).status == 200


def test_a_link_from_elsewhere_opens_the_page(running: Service) -> None:
    link = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"}
    assert running.ask("GET", "/", headers=link).status == 200
    drawn = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "no-cors"}
    assert_problem(running.ask("GET", "/", headers=drawn), 403)


@pytest.mark.parametrize("header", ["X-HTTP-Method-Override", "X-HTTP-Method", "X-Method-Override"])
def test_the_method_is_the_method(running: Service, survey: str, header: str) -> None:
    answer = running.ask(
        "POST", f"/api/surveys/{survey}?_method=PUT", json.dumps(head()), JSON | {header: "PUT"}
    )
    assert_problem(answer, 405)
    assert set(answer.headers["allow"].split(", ")) == {"GET", "HEAD", "PUT"}


TYPES: list[dict[str, str]] = [
    {},
    {"Content-Type": "text/plain"},
    {"Content-Type": "application/x-www-form-urlencoded"},
    {"Content-Type": "multipart/form-data; boundary=x"},
    {"Content-Type": "application/json; charset=utf-16"},
    {"Content-Type": "text/json"},
    {"Content-Type": "application/problem+json"},
    {"Content-Type": "application/json", "Content-Encoding": "gzip"},
    {"Content-Type": "application/json", "Content-Encoding": "identity"},
    {"Content-Type": "application/json", "Content-Encoding": ""},
]


@pytest.mark.parametrize("given", TYPES, ids=str)
def test_only_plain_json_is_read(running: Service, survey: str, given: dict[str, str]) -> None:
    body = json.dumps({"entries": [entry()]})
    answer = running.ask("POST", f"/api/surveys/{survey}/entries", body, given)
    assert_problem(answer, 415)


def test_json_may_say_that_it_is_utf_8(running: Service, survey: str) -> None:
    given = {"Content-Type": "Application/JSON; charset=UTF-8"}
    body = json.dumps({"entries": [entry()]})
    assert running.ask("POST", f"/api/surveys/{survey}/entries", body, given).status == 200


PATHS = [
    "/api/surveys/../../etc/passwd",
    "/api/surveys/%2e%2e/%2e%2e/etc/passwd",
    "/api/surveys/..%2f..%2fetc%2fpasswd",
    "/api/surveys/%00",
    "/api/surveys/%ff%fe",
    "/api/surveys/" + "a" * 5000,
    "/api//surveys",
    "/api/surveys/",
    "/api/surveys/{id}/",
    "/api/surveys/{ID}",
    "/api/surveys/{id}/as-built/x",
    "/api/surveys/{id}/sheets/deck.svg",
    "/api/photos/",
    "/api",
    "/api/",
    "/API/surveys",
    "/../shared/rules/uk.json",
    "/%2e%2e/pyproject.toml",
    "/..%2fpyproject.toml",
    "/....//pyproject.toml",
    "/shared/../pyproject.toml",
    "/shared/%2e%2e/pyproject.toml",
    "/shared/..%5c..%5cpyproject.toml",
    "/app/..%c0%afsw.js",
    "/package.json",
    "/node_modules/typescript/package.json",
    "/.gitignore",
    "/app",
    "/app/",
    "/sw.js%00.png",
    "//etc/passwd",
]


@pytest.mark.parametrize("path", PATHS)
def test_no_path_leads_anywhere_else(running: Service, survey: str, path: str) -> None:
    asked = path.replace("{id}", survey).replace("{ID}", survey.upper())
    own = f"127.0.0.1:{running.port}".encode()
    sent = (
        b"GET " + asked.encode() + b" HTTP/1.1\r\nHost: " + own + b"\r\nConnection: close\r\n\r\n"
    )
    assert_problem(running.raw(sent), 404)


@pytest.mark.parametrize("after", ["-1", "x", "", "1.5", "1e3", "٣", "9" * 16, "1 ", "0x1", "None"])
def test_a_cursor_is_a_whole_number(running: Service, survey: str, after: str) -> None:
    from urllib.parse import quote

    path = f"/api/surveys/{survey}/entries?after={quote(after)}"
    assert assert_problem(running.ask("GET", path), 422)["field"] == "after"


def chunked(parts: list[bytes]) -> bytes:
    return b"".join(b"%x\r\n%s\r\n" % (len(part), part) for part in parts) + b"0\r\n\r\n"


def opening(running: Service, path: str, *more: bytes, method: bytes = b"POST") -> bytes:
    first = b"%s %s HTTP/1.1" % (method, path.encode())
    host = b"Host: 127.0.0.1:%d" % running.port
    lines = [first, host, b"Content-Type: application/json", *more]
    return b"\r\n".join(lines) + b"\r\n\r\n"


def test_a_body_in_chunks_is_read(running: Service, survey: str) -> None:
    body = json.dumps({"entries": [entry()]}).encode()
    start = opening(running, f"/api/surveys/{survey}/entries", b"Transfer-Encoding: chunked")
    assert running.raw(start + chunked([body[:20], body[20:]])).status == 200


@pytest.mark.parametrize(
    "chunks",
    [
        b"zz\r\nhello\r\n0\r\n\r\n",
        b"-1\r\nhello\r\n0\r\n\r\n",
        b"ffffffffffffffffffff\r\nhello",
        b"5\r\nhelloXX0\r\n\r\n",
        b"0\r\n\r\n",
        b"\r\n\r\n",
    ],
)
def test_malformed_chunks_get_one_refusal(running: Service, survey: str, chunks: bytes) -> None:
    start = opening(running, f"/api/surveys/{survey}/entries", b"Transfer-Encoding: chunked")
    assert running.raw(start + chunks).status == 400
    assert running.ask("GET", "/api/surveys").status == 200


@pytest.mark.parametrize(
    "after", [b"zz\r\n", b"5\r\nhelloXX", b"-1\r\n", b"0\r\nbad trailer\r\n\r\n"]
)
def test_a_whole_batch_with_a_broken_chunk_after_it_is_refused(
    running: Service, survey: str, after: bytes
) -> None:
    body = json.dumps({"entries": [entry()]}).encode()
    start = opening(running, f"/api/surveys/{survey}/entries", b"Transfer-Encoding: chunked")
    before = running.ask("GET", f"/api/surveys/{survey}/entries").body
    assert_problem(running.raw(start + b"%x\r\n%s\r\n" % (len(body), body) + after), 400)
    assert running.ask("GET", f"/api/surveys/{survey}/entries").body == before


@pytest.mark.parametrize(
    ("path", "method", "limit"),
    [("entries", b"POST", 4_000_000), ("", b"PUT", 1_000_000)],
)
def test_a_limit_holds_for_chunks_too(
    running: Service, survey: str, path: str, method: bytes, limit: int
) -> None:
    where = f"/api/surveys/{survey}/{path}".rstrip("/")
    start = opening(running, where, b"Transfer-Encoding: chunked", method=method)
    body = chunked([b" " * 100_000] * (limit // 100_000 + 1))
    assert_problem(running.raw(start + body), 413)


def test_a_limit_holds_where_much_more_is_announced(running: Service, survey: str) -> None:
    where = f"/api/surveys/{survey}/entries"
    assert_problem(running.raw(opening(running, where, b"Content-Length: 99999999999")), 413)
    assert_problem(running.raw(opening(running, where, b"Content-Length: 4000001")), 413)


def test_a_body_of_just_the_limit_is_read(running: Service, survey: str) -> None:
    body = json.dumps({"entries": [entry()]}).ljust(4_000_000)
    answer = running.ask("POST", f"/api/surveys/{survey}/entries", body, JSON)
    assert answer.status == 200


@pytest.mark.parametrize("size", [5_000_000, 25_000_000])
def test_a_large_body_gets_its_answer(running: Service, survey: str, size: int) -> None:
    answer = running.ask("POST", f"/api/surveys/{survey}/entries", b"x" * size, JSON)
    assert_problem(answer, 413)


@pytest.mark.parametrize(
    "sent",
    [
        b"GET / HTTP/1.1\r\n\r\n",
        b"GET / HTTP/1.0\r\n\r\n",
        b"GET /\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
        b"GET / HTTP/1.1\r\nHost: {own}\r\nBad Header: x\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: {own}\r\nContent-Length: -5\r\n\r\n",
        b"GET /\xff HTTP/1.1\r\nHost: {own}\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: {own}\r\nX: " + b"x" * 200_000 + b"\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: {own}\r\n" + b"X: y\r\n" * 5000 + b"\r\n",
    ],
)
def test_what_is_no_request_is_refused(running: Service, sent: bytes) -> None:
    own = f"127.0.0.1:{running.port}".encode()
    with running.line() as line:
        answer = b""
        # Who is refused before the end of a long request may find the connection closed already.
        with contextlib.suppress(OSError):
            line.sendall(sent.replace(b"{own}", own))
            line.shutdown(socket.SHUT_WR)
        with contextlib.suppress(OSError):
            answer = line.recv(4096)
    assert answer == b"" or answer.split()[1].startswith(b"4")
    assert running.ask("GET", "/api/surveys").status == 200


HALVES: dict[str, Callable[[Service, str], bytes]] = {
    "idle": lambda *_: b"",
    "half headers": lambda *_: b"POST /api/surveys HTTP/1.1\r\nHos",
    "half a batch": lambda service, survey: (
        opening(service, f"/api/surveys/{survey}/entries", b"Content-Length: 1000") + b"{"
    ),
    "half a chunk": lambda service, survey: (
        opening(service, f"/api/surveys/{survey}/entries", b"Transfer-Encoding: chunked")
        + b"ff\r\n{"
    ),
    "half a photo": lambda service, _: (
        b"PUT /api/photos/%s HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nContent-Length: 9999\r\n\r\nx"
        % (b"c" * 64, service.port)
    ),
}


@pytest.mark.parametrize("half", HALVES)
def test_two_dozen_half_sent_connections_delay_nobody(
    running: Service, survey: str, half: str
) -> None:
    start = HALVES[half](running, survey)
    lines = [socket.create_connection(("127.0.0.1", running.port)) for _ in range(24)]
    try:
        for line in lines:
            line.sendall(start)
        time.sleep(0.3)
        began = time.monotonic()
        body = json.dumps({"entries": [entry()]})
        for _ in range(5):
            answer = running.ask("POST", f"/api/surveys/{survey}/entries", body, JSON)
            assert answer.status == 200
        # Five answers take a few hundredths of a second; behind anyone else, they would take many.
        assert time.monotonic() - began < 2.5
    finally:
        for line in lines:
            line.close()


def test_a_strike_of_everything_imaginable_is_kept_without_effect(
    running: Service, survey: str
) -> None:
    own = "11111111-2222-4333-8444-555555555555"
    odd = [
        bare("strike", id=own, target=own, reason="itself"),
        bare("strike", target=own, reason="a strike"),
        bare("strike", target="99999999-2222-4333-8444-555555555555", reason="nothing"),
        bare("restore", target=own),
    ]
    answer = running.ask("POST", f"/api/surveys/{survey}/entries", json={"entries": odd})
    assert len(answer.json()["stored"]) == len(odd)
    assert running.ask("GET", f"/api/surveys/{survey}").status == 200
    assert running.ask("GET", f"/api/surveys/{survey}/as-built").status == 200
