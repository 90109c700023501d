"""The ways to a service: one in a process of its own over HTTP, and one within this process.

The first is the real thing. The second is the same application over the same kind of database
without a server, fast enough for hundreds of seeds. Both take the same faults.
"""

from __future__ import annotations

import io
import os
import socket
import sys
from contextlib import closing
from http.client import HTTPException, HTTPResponse
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

import pytest
from werkzeug.test import run_wsgi_app

from baywalk.http import Config, create_app
from tests.faults import crash, quick
from tests.support.process import Answer, Service

if TYPE_CHECKING:
    from flask import Flask

ROOT = Path(__file__).parents[2]


class NoAnswer(Exception):  # noqa: N818 - read as a sentence where it is raised
    """The request got no answer."""


class Door(Protocol):
    """A way to a service."""

    points: crash.Points

    def ask(
        self,
        method: str,
        path: str,
        body: bytes = b"",
        headers: dict[str, str] | None = None,
        upto: int | None = None,
    ) -> Answer:
        """Ask; send only the first ``upto`` bytes of the body, and then no more."""

    def restart(self) -> None:
        """End the service without a warning, if it has not fallen, and start it again."""

    def close(self) -> None:
        """End the service."""


class Outside:
    """A service in a process of its own, with the points of ``crash`` in it."""

    def __init__(self, folder: Path, database: str | None = None) -> None:
        """Start one in a folder, on SQLite or the database of a URL."""
        control = folder / "control"
        control.mkdir(parents=True)
        self.points = crash.Points(lambda: None, control)
        launch = [sys.executable, "-m", "tests.faults.launch", str(control)]
        more = ["--database", database] if database else []
        wrap = ["env", f"PYTHONPATH={ROOT}{os.pathsep}{os.environ.get('PYTHONPATH', '')}"]
        self.service = Service(folder / "data", more, wrap=wrap, command=launch).start()

    def ask(
        self,
        method: str,
        path: str,
        body: bytes = b"",
        headers: dict[str, str] | None = None,
        upto: int | None = None,
    ) -> Answer:
        """Ask over a connection of its own."""
        try:
            with self.service.line(30) as line:
                line.sendall(self._head(method, path, len(body), headers) + body[:upto])
                if upto is not None:
                    # The end of what comes, not of the connection: so it is known when the
                    # service has dealt with it.
                    line.shutdown(socket.SHUT_WR)
                with closing(HTTPResponse(line, method=method)) as answer:
                    answer.begin()
                    named = {name.lower(): value for name, value in answer.getheaders()}
                    return Answer(answer.status, named, answer.read())
        except (OSError, HTTPException) as fault:
            raise NoAnswer from fault

    def _head(self, method: str, path: str, length: int, more: dict[str, str] | None) -> bytes:
        given = {
            "Host": f"127.0.0.1:{self.service.port}",
            "Connection": "close",
            "Content-Length": str(length),
            **(more or {}),
        }
        lines = [f"{method} {path} HTTP/1.1", *(f"{k}: {v}" for k, v in given.items()), "", ""]
        return "\r\n".join(lines).encode()

    def restart(self) -> None:
        """Kill the service and start it again."""
        self.service.kill()
        self.service.start()

    def close(self) -> None:
        """Kill the service."""
        self.service.kill()


class Fallen(BaseException):
    """The service within this process fell at a point."""


class Inside:
    """The application in this process."""

    def __init__(self, folder: Path, database: str | None = None) -> None:
        """Start one in a folder, on SQLite or the database of a URL."""
        folder.mkdir(parents=True, exist_ok=True)
        self.folder = folder
        self._config = Config(folder / "data", database)
        self.points = crash.Points(self._fall)
        self._patch = pytest.MonkeyPatch()
        quick.install(self._patch)
        crash.install(self.points, self._patch)
        self._app: Flask | None = create_app(self._config)

    def _fall(self) -> None:
        raise Fallen

    def ask(
        self,
        method: str,
        path: str,
        body: bytes = b"",
        headers: dict[str, str] | None = None,
        upto: int | None = None,
    ) -> Answer:
        """Call the application, as a server would."""
        if self._app is None:
            raise NoAnswer
        environ = _environ(method, path, len(body), headers or {}) | {
            "wsgi.input": io.BytesIO(body[:upto])
        }
        try:
            parts, status, named = run_wsgi_app(self._app, environ)
            with closing(parts):
                found = {name.lower(): value for name, value in named}
                return Answer(int(status.partition(" ")[0]), found, b"".join(parts))
        except Fallen:
            self._end()
            raise NoAnswer from None

    def restart(self) -> None:
        """Start the application again over what the last one left."""
        self._end()
        self._app = create_app(self._config)

    def close(self) -> None:
        """Take the points out of this process."""
        self._end()
        self._patch.undo()
        crash.uninstall(self.points)

    def _end(self) -> None:
        if self._app:
            self._app.extensions["baywalk.store"].close()
        self._app = None


def _environ(method: str, path: str, length: int, headers: dict[str, str]) -> dict[str, Any]:
    """Return what a server tells an application of a request, its body aside (PEP 3333)."""
    path, _, query = path.partition("?")
    names = {name: name.upper().replace("-", "_") for name in headers}
    bare = ("CONTENT_TYPE", "CONTENT_LENGTH")
    return {
        "REQUEST_METHOD": method,
        "SCRIPT_NAME": "",
        "PATH_INFO": path,
        "QUERY_STRING": query,
        "SERVER_NAME": "127.0.0.1",
        "SERVER_PORT": "8765",
        "SERVER_PROTOCOL": "HTTP/1.1",
        "HTTP_HOST": "127.0.0.1:8765",
        "CONTENT_LENGTH": str(length),
        "wsgi.version": (1, 0),
        "wsgi.url_scheme": "http",
        "wsgi.errors": sys.stderr,
        "wsgi.multithread": False,
        "wsgi.multiprocess": False,
        "wsgi.run_once": False,
        **{key if key in bare else f"HTTP_{key}": headers[name] for name, key in names.items()},
    }
