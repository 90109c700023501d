"""A line to the service that is as slow as a phone's, and counts what goes over it.

The browser is told that it is a proxy, so that all it asks goes over it: the page, the worker, and
what the browser fetches of its own accord.
"""

from __future__ import annotations

import queue
import socket
import threading
import time
from contextlib import suppress
from typing import Self

_CHUNK = 16_384


class Line:
    """A proxy on a port of its own that delays and counts. A context manager."""

    def __init__(self, port: int, *, delay: float, rate: float) -> None:
        """Lead to ``port``; ``delay`` there and back [s], ``rate`` towards the phone [bytes/s]."""
        self._to = ("127.0.0.1", port)
        self._delay = delay / 2
        self._rate = rate
        self._free = 0.0
        self._lock = threading.Lock()
        self._door = socket.create_server(("127.0.0.1", 0))
        self._open: list[socket.socket] = []
        self.bytes = 0
        self.proxy = {
            "server": f"http://127.0.0.1:{self._door.getsockname()[1]}",
            # Browsers pass by a proxy for this machine's own addresses unless told otherwise. What
            # the browser asks of its maker is not the page's and must not be counted.
            "bypass": "<-loopback>,*.com",
        }

    def __enter__(self) -> Self:
        """Begin to carry."""
        threading.Thread(target=self._accept, daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        """Take no further connection."""
        for one in (self._door, *self._open):
            one.close()

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                phone, _ = self._door.accept()
                self._open.append(phone)
                service = socket.create_connection(self._to)
                self._open.append(service)
                for one, other, counted in ((phone, service, False), (service, phone, True)):
                    for side in (one, other):
                        side.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                    self._carry(one, other, counted=counted)

    def _carry(self, one: socket.socket, other: socket.socket, *, counted: bool) -> None:
        """Carry one way: a thread takes what comes, another hands it on when it is due."""
        due: queue.SimpleQueue[tuple[float, bytes]] = queue.SimpleQueue()

        def take() -> None:
            with suppress(OSError):
                while chunk := one.recv(_CHUNK):
                    due.put((self._arrival(chunk, counted=counted), chunk))
            due.put((0, b""))

        def give() -> None:
            with suppress(OSError):
                while True:
                    when, chunk = due.get()
                    if not chunk:
                        other.shutdown(socket.SHUT_WR)
                        return
                    time.sleep(max(0, when - time.monotonic()))
                    other.sendall(chunk)

        for work in (take, give):
            threading.Thread(target=work, daemon=True).start()

    def _arrival(self, chunk: bytes, *, counted: bool) -> float:
        """Return when a chunk is there: all that goes to the phone shares one line."""
        now = time.monotonic()
        if not counted:
            return now + self._delay
        with self._lock:
            self.bytes += len(chunk)
            self._free = max(self._free, now) + len(chunk) / self._rate
            return self._free + self._delay
