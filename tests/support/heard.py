"""Noting what the suite's own services mint and say, for ``searched`` to look through.

Every secret, code and token of pairing that is minted is noted, in this process or in a service
that a test starts. Noted as well is what is said: every line of the logs, the address and the
Referer of every request, and the body of every refusal.
"""

from __future__ import annotations

import logging
import os
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import Flask, request

from baywalk.http.phones import tokens

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from flask import Response

FOLDER = "BAYWALK_HEARD"
"""The variable by which a service that a test starts learns where to note."""
LAUNCH = [sys.executable, str(Path(__file__).with_name("launched.py"))]
"""``baywalk``, with all this noted."""
MINTED, WROTE = "minted", "wrote"
"""What is noted, a file for each process."""


def note(text: str, kind: str = WROTE) -> None:
    """Note what was written, if anybody listens."""
    folder = os.environ.get(FOLDER)
    if folder:
        with (Path(folder) / f"{kind}-{os.getpid()}").open("a", encoding="utf-8") as file:
            file.write(text + "\n")


@contextmanager
def listening() -> Iterator[None]:
    """Note what is minted, logged, asked and refused in this process."""
    log = _Log()
    kept = [(tokens, "new_secret", _minting), (tokens, "new_code", _minting)]
    real = [
        (owner, name, getattr(owner, name), how)
        for owner, name, how in [*kept, (Flask, "process_response", _answering)]
    ]
    logging.getLogger().addHandler(log)
    for owner, name, function, how in real:
        setattr(owner, name, how(function))
    yield
    for owner, name, function, _ in real:
        setattr(owner, name, function)
    logging.getLogger().removeHandler(log)


class _Log(logging.Handler):
    """Notes every line of every log."""

    def emit(self, record: logging.LogRecord) -> None:
        note(self.format(record))


def _minting(real: Callable[[], str]) -> Callable[[], str]:
    def mint() -> str:
        secret = real()
        note(secret, MINTED)
        return secret

    return mint


def _answering(real: Callable[..., Response]) -> Callable[..., Response]:
    def process(self: Flask, response: Response) -> Response:
        done = real(self, response)
        words: list[Any] = [request.url, request.headers.get("Referer", "")]
        if done.status_code >= 400:
            words.append(done.get_data(as_text=True))
        note(" ".join(words))
        return done

    return process
