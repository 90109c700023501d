"""The search for secrets finds what it is there to find."""

from __future__ import annotations

import logging
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from baywalk.http import Config, create_app
from baywalk.http.phones import tokens
from baywalk.http.problems import Problem
from tests.support.heard import FOLDER, WROTE
from tests.support.searched import found

if TYPE_CHECKING:
    from collections.abc import Callable

    from flask.testing import FlaskClient

ROOT = Path(__file__).parents[2]
BASE = "http://127.0.0.1:8765"

PLANTED = """
import sys
from baywalk.http.phones import tokens

def test_one_that_lets_it_out(tmp_path):
    {how}

def test_another():
    pass
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a place of its own for what is noted, so that what is planted fails nothing else."""
    place = tmp_path / "heard"
    place.mkdir()
    monkeypatch.setenv(FOLDER, str(place))
    return place


@pytest.fixture
def client(tmp_path: Path) -> FlaskClient:
    """Give an application one of whose routes tells in its refusal what it was asked."""
    app = create_app(Config(tmp_path / "data"))

    def told(secret: str) -> None:
        raise Problem("bad-query", f"This is not {secret}.")

    app.add_url_rule("/api/told", "told", lambda: told(tokens.new_secret()))
    return app.test_client()


def _log(_: FlaskClient) -> None:
    logging.getLogger("baywalk.phones").warning("refused: %r", tokens.new_code())


def _address(client: FlaskClient) -> None:
    client.get(f"/?pair={tokens.new_secret()}", base_url=BASE)


def _referer(client: FlaskClient) -> None:
    client.get("/", base_url=BASE, headers={"Referer": f"{BASE}/#pair={tokens.new_secret()}"})


def _refusal(client: FlaskClient) -> None:
    assert client.get("/api/told", base_url=BASE).status_code == 422


@pytest.mark.parametrize("leak", [_log, _address, _referer, _refusal])
def test_what_is_said_is_heard(
    folder: Path, client: FlaskClient, leak: Callable[[FlaskClient], None]
) -> None:
    leak(client)
    assert found(folder, *folder.glob(f"{WROTE}-*"))


def test_what_is_clean_is_so(folder: Path, client: FlaskClient, tmp_path: Path) -> None:
    secret = tokens.new_secret()
    client.get("/", base_url=BASE)
    assert found(folder, tmp_path / "data", *folder.glob(f"{WROTE}-*")) == []
    (tmp_path / "data" / "copy.bin").write_bytes(b"\0\xff" + secret.encode() + b"\0")
    assert found(folder, tmp_path / "data") == [str(tmp_path / "data" / "copy.bin")]


LETS_OUT = """(tmp_path / "kept").write_text(tokens.new_secret())
    print(tokens.new_code(), file=sys.stderr)"""


@pytest.mark.parametrize(
    ("how", "places"), [(LETS_OUT, ["/kept", f"/{WROTE}-"]), ("tokens.new_code()", [])]
)
def test_a_session_fails_at_its_end(tmp_path: Path, how: str, places: list[str]) -> None:
    """As a whole: a suite of two tests, the first of which lets secrets out."""
    (tmp_path / "test_planted.py").write_text(PLANTED.format(how=how))
    command = [sys.executable, "-m", "pytest", "-q", "-p", "tests.support.searched"]
    given = ["-c", "/dev/null", "--basetemp", tmp_path / "inner", tmp_path / "test_planted.py"]
    done = subprocess.run(
        [*command, *given], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False
    )
    assert "2 passed" in done.stdout, done.stdout + done.stderr
    assert done.returncode == bool(places)
    _, says, told = done.stdout.partition("AssertionError: a secret of pairing stands in ")
    assert bool(says) == bool(places)
    assert all(place in told for place in places)
