"""The real service in a process of its own, to be asked, stopped, killed and started again."""

from __future__ import annotations

import contextlib
import http.client
import json
import signal
import socket
import subprocess
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from tests.support.heard import LAUNCH

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@dataclass
class Answer:
    """An answer: its status, headers with names in lower case, and body."""

    status: int
    headers: dict[str, str]
    body: bytes

    def json(self) -> Any:
        """Return the parsed body."""
        return json.loads(self.body)


@dataclass
class Service:
    """A service over a data folder. Its port is taken at the first start and kept."""

    data: Path
    more: list[str] = field(default_factory=list)
    port: int = 0
    wrap: list[str] = field(default_factory=list)
    command: list[str] = field(default_factory=lambda: LAUNCH)
    child: subprocess.Popen[str] | None = None

    def start(self) -> Service:
        """Start it and wait until it answers."""
        given = ["serve", "--port", str(self.port), "--data", str(self.data), *self.more]
        self.child = subprocess.Popen(
            [*self.wrap, *self.command, *given],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert self.child.stdout
        line = self.child.stdout.readline()
        assert line.startswith("Baywalk is at "), (line, self._words())
        self.port = int(line.rstrip("/\n").rpartition(":")[2])
        return self

    def _words(self) -> str:
        assert self.child
        assert self.child.stderr
        self.child.kill()
        words = self.child.stderr.read()
        self._gone()
        return words

    def kill(self) -> None:
        """End it at once, as a power cut would, and wait until its port is free."""
        assert self.child
        self.child.kill()
        self._gone()
        for _ in range(500):
            with contextlib.suppress(OSError), socket.create_server(("127.0.0.1", self.port)):
                return
            time.sleep(0.02)
        raise AssertionError("the killed service still holds its port")

    def stop(self, how: int = signal.SIGINT) -> int:
        """End it as Ctrl-C does and return its exit code."""
        assert self.child
        self.child.send_signal(how)
        code = self.child.wait(timeout=10)
        self._gone()
        return code

    def _gone(self) -> None:
        assert self.child
        self.child.wait(timeout=10)
        for stream in (self.child.stdout, self.child.stderr):
            if stream:
                stream.close()
        self.child = None

    def ask(
        self,
        method: str,
        path: str,
        body: bytes | str | None = None,
        headers: dict[str, str] | None = None,
        **json_body: Any,
    ) -> Answer:
        """Ask over a connection of its own; ``json=`` sends a value."""
        headers = dict(headers or {})
        if "json" in json_body:
            body = json.dumps(json_body["json"])
            headers.setdefault("Content-Type", "application/json")
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            line.request(method, path, body, headers)
            answer = line.getresponse()
            named = {name.lower(): value for name, value in answer.getheaders()}
            return Answer(answer.status, named, answer.read())
        finally:
            line.close()

    def raw(self, sent: bytes, timeout: float = 10) -> Answer:
        """Send bytes as they are and read the one answer."""
        with self.line(timeout) as line:
            line.sendall(sent)
            answer = http.client.HTTPResponse(line)
            answer.begin()
            named = {name.lower(): value for name, value in answer.getheaders()}
            return Answer(answer.status, named, answer.read())

    @contextlib.contextmanager
    def line(self, timeout: float = 10) -> Iterator[socket.socket]:
        """Give a bare connection."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=timeout) as line:
            yield line
