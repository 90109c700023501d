"""A line that is cut in the middle of every photo, just where the service keeps what came of it."""

from __future__ import annotations

import re
import socket
import threading
from contextlib import suppress
from typing import Self

_PHOTO = re.compile(rb"PUT \S*/api/photos/")
_START = re.compile(rb"\r\ncontent-range: bytes (\d+)-", re.IGNORECASE)
_LENGTH = re.compile(rb"\r\ncontent-length: (\d+)", re.IGNORECASE)


class CutLine:
    """A proxy that cuts a photo at the next multiple of ``piece``, once from each start.

    What the browser then sends by itself again, from the same start, goes through. A context
    manager. ``cut`` is from where to where photos came that were cut, ``whole`` where the others
    started.
    """

    def __init__(self, port: int, piece: int) -> None:
        """Lead to a port of this machine."""
        self._to, self._piece = ("127.0.0.1", port), piece
        self._door = socket.create_server(("127.0.0.1", 0))
        self.proxy = {
            "server": f"http://127.0.0.1:{self._door.getsockname()[1]}",
            "bypass": "<-loopback>,*.com",
        }
        self.cut: list[tuple[int, int]] = []
        self.whole: list[int] = []

    def __enter__(self) -> Self:
        """Begin to carry."""
        threading.Thread(target=self._accept, daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        """Take no further connection."""
        self._door.close()

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                phone, _ = self._door.accept()
                service, cut = socket.create_connection(self._to), threading.Event()
                for work in (self._there, _back):
                    given = (phone, service, cut)
                    threading.Thread(target=work, args=given, daemon=True).start()

    def _there(self, phone: socket.socket, service: socket.socket, cut: threading.Event) -> None:
        """Carry what the phone asks, to the end or to the first cut."""
        with suppress(OSError):
            while chunk := phone.recv(65_536):
                if not _PHOTO.match(chunk):
                    service.sendall(chunk)
                elif self._carry_some(chunk, phone, service):
                    cut.set()
                    break
            # The service gets an end, deals with what came, and ends its own side: see `_back`.
            service.shutdown(socket.SHUT_WR)

    def _carry_some(self, asked: bytes, phone: socket.socket, service: socket.socket) -> bool:
        """Carry the beginning of a photo as far as it may go; say whether it is cut."""
        while b"\r\n\r\n" not in asked:
            asked += phone.recv(65_536)
        head, _, body = asked.partition(b"\r\n\r\n")
        started, length = _START.search(head), _LENGTH.search(head)
        assert length
        start, whole = int(started[1]) if started else 0, int(length[1])
        most = (start // self._piece + 1) * self._piece - start
        is_cut = most < whole and start not in [done for done, _ in self.cut]
        while len(body) < (most if is_cut else whole):
            body += phone.recv(65_536)
        service.sendall(head + b"\r\n\r\n" + body[: most if is_cut else whole])
        if is_cut:
            self.cut.append((start, start + most))
        else:
            self.whole.append(start)
        return is_cut


def _back(phone: socket.socket, service: socket.socket, cut: threading.Event) -> None:
    """Carry answers back until the service ends the line; after a cut the phone hears nothing."""
    with suppress(OSError):
        while chunk := service.recv(65_536):
            if not cut.is_set():
                phone.sendall(chunk)
    for one in (phone, service):
        one.close()
