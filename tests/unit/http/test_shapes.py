"""One shape for what went well and one for what did not, over every route there is."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy.exc import OperationalError

from baywalk.http.guard import HEADERS
from baywalk.http.paths import PATHS
from baywalk.http.problems import CODES, Problem
from tests.support.sample import entry, head

if TYPE_CHECKING:
    from flask import Flask
    from flask.testing import FlaskClient

METHODS = ("GET", "HEAD", "POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "PROPFIND")


def fill(path: str) -> str:
    return (
        path.replace("{survey}", head()["id"])
        .replace("{sha256}", "a" * 64)
        .replace("{phone}", head()["id"])
    )


def routes(app: Flask) -> set[str]:
    rules = {rule.rule for rule in app.url_map.iter_rules() if rule.rule.startswith("/api")}
    return {re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule) for rule in rules}


def assert_problem(answer: Any, status: int | None = None) -> dict[str, Any]:
    """Assert the one shape of a problem (RFC 9457)."""
    assert answer.status_code == status if status else answer.status_code >= 400
    assert answer.content_type == "application/problem+json"
    problem: dict[str, Any] = answer.get_json()
    code = problem["type"].removeprefix("/api/problems#")
    assert (
        CODES[code]
        == (answer.status_code, problem["title"])
        == (problem["status"], problem["title"])
    )
    assert isinstance(problem["detail"], str)
    assert problem["detail"]
    return problem


def test_every_route_is_described_and_the_other_way_round(app: Flask) -> None:
    assert routes(app) == PATHS.keys()
    for path, operations in PATHS.items():
        rules = [r for r in app.url_map.iter_rules() if fill(path) and r.rule.startswith("/api")]
        methods = {
            method.lower()
            for rule in rules
            if re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule.rule) == path
            for method in rule.methods or ()
        }
        assert operations.keys() | {"head"} == methods | {"head"}


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("method", METHODS)
def test_a_method_that_a_route_does_not_take_is_405(
    client: FlaskClient, path: str, method: str
) -> None:
    taken = {name.upper() for name in PATHS[path]} | ({"HEAD"} if "get" in PATHS[path] else set())
    if method in taken:
        assert client.open(fill(path), method=method).status_code != 405
        return
    answer = client.open(fill(path), method=method)
    assert_problem(answer, 405)
    assert set(answer.headers["Allow"].split(", ")) == taken


@pytest.mark.parametrize("path", ["/api", "/api/none", "/api/surveys/", "/api/photos/a/b"])
@pytest.mark.parametrize("method", ["GET", "PUT", "POST", "DELETE", "PATCH"])
def test_an_address_that_is_none_is_404_by_any_method(
    client: FlaskClient, path: str, method: str
) -> None:
    assert_problem(client.open(path, method=method), 404)


WRITES = [(p, m.upper()) for p, ops in PATHS.items() for m in ops if m in ("put", "post")]


@pytest.mark.parametrize(("path", "method"), WRITES)
@pytest.mark.parametrize(
    ("given", "status"),
    [
        ({"data": b"x", "content_type": "text/html"}, 415),
        ({"data": b"x", "headers": {"Content-Encoding": "gzip"}}, 415),
        ({"data": b"x", "headers": {"Origin": "http://elsewhere.example"}}, 403),
        ({"data": b"x" * 15_000_001}, 413),
    ],
)
def test_what_every_route_refuses_alike(
    client: FlaskClient, path: str, method: str, given: dict[str, Any], status: int
) -> None:
    kind = "image/png" if "photos" in path else "application/json"
    answer = client.open(fill(path), method=method, **{"content_type": kind, **given})
    assert_problem(answer, status)


@pytest.mark.parametrize(
    "path", [*PATHS, "/", "/app/main.js", "/page.pack", "/nowhere", "/api/nowhere"]
)
def test_every_answer_carries_what_keeps_a_page_safe(client: FlaskClient, path: str) -> None:
    answer = client.get(fill(path))
    for name in HEADERS:
        assert name in answer.headers
    policy = answer.headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy
    assert ("script-src 'self'" in policy) == (path in {"/", "/app/main.js", "/page.pack"})
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert "Access-Control-Allow-Origin" not in answer.headers
    assert "Set-Cookie" not in answer.headers
    if path.startswith("/api/"):
        assert answer.headers["Cache-Control"] == "no-store"


def test_what_went_well_is_an_object_in_json(client: FlaskClient) -> None:
    given = head()
    one = f"/api/surveys/{given['id']}"
    answers = [
        client.put(one, json=given),
        client.get("/api/surveys"),
        client.get(one),
        client.post(f"{one}/entries", json={"entries": [entry()]}),
        client.get(f"{one}/entries"),
        client.get(f"{one}/as-built"),
        client.get("/api/openapi.json"),
        client.get("/api/problems"),
    ]
    for answer in answers:
        assert answer.status_code in (200, 201)
        assert answer.content_type == "application/json"
        assert isinstance(answer.get_json(), dict)


def test_the_list_of_problems_has_every_code(client: FlaskClient) -> None:
    listed = client.get("/api/problems").get_json()["problems"]
    assert {one["code"]: (one["status"], one["title"]) for one in listed} == CODES


def test_an_unforeseen_error_is_told_without_its_insides(
    app: Flask, client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail() -> None:
        raise RuntimeError("secret path /home/someone")

    monkeypatch.setattr(app.extensions["baywalk.store"], "surveys", fail)
    answer = client.get("/api/surveys")
    problem = assert_problem(answer, 500)
    assert problem["type"].endswith("#internal")
    assert "secret" not in answer.text


class DriverError(Exception):
    """What a database driver raised."""

    def __init__(self, words: str, name: str = "") -> None:
        super().__init__(words)
        self.sqlite_errorname = name


@pytest.mark.parametrize(
    ("cause", "code"),
    [
        (DriverError("database or disk is full", "SQLITE_FULL"), "disk-full"),
        (DriverError("disk I/O error", "SQLITE_IOERR_WRITE"), "disk-full"),
        (DriverError("could not extend file: No space left on device"), "disk-full"),
        (DriverError("database is locked", "SQLITE_BUSY"), "busy"),
        (DriverError("database is locked", "SQLITE_BUSY_SNAPSHOT"), "busy"),
        (DriverError("server closed the connection unexpectedly"), "internal"),
    ],
)
def test_a_database_in_trouble_is_told_as_what_it_is(
    app: Flask, client: FlaskClient, monkeypatch: pytest.MonkeyPatch, cause: DriverError, code: str
) -> None:
    def fail() -> None:
        raise OperationalError("SELECT", {}, cause)

    monkeypatch.setattr(app.extensions["baywalk.store"], "surveys", fail)
    problem = assert_problem(client.get("/api/surveys"))
    assert problem["type"].endswith(f"#{code}")


def test_every_code_makes_a_problem(app: Flask) -> None:
    with app.app_context():
        for code, (status, title) in CODES.items():
            answer = Problem(code).answer()
            assert answer.status_code == status
            assert answer.get_json()["title"] == title
