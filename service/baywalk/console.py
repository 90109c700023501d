"""Files and standard streams as the commands use them: what fails is one line, never a trace."""

from __future__ import annotations

import argparse
import codecs
import errno
import io
import json
import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from typing import TextIO

BAD_INPUT = 2
"""The exit code of bad input or arguments, and of what is refused."""

_OUTPUT, _INPUT = "standard output", "standard input"


def begin() -> None:
    """Make the standard streams ready; raise OSError where there is no output to write to."""
    # A stream that was closed before the start is None.
    if sys.stderr is None:
        sys.stderr = os.fdopen(os.open(os.devnull, os.O_WRONLY), "w")
    if sys.stdout is None:
        raise OSError(errno.EBADF, "is closed", _OUTPUT)
    if isinstance(sys.stdout, io.TextIOWrapper):
        # A terminal without a sign that is to be shown shows a question mark instead.
        sys.stdout.reconfigure(errors="replace")


def folder(text: str) -> Path:
    """Return a folder; an empty name, such as of a variable not set, would be wherever one is."""
    if not text:
        raise argparse.ArgumentTypeError("must name a folder")
    return Path(text)


def read(name: str) -> bytes:
    """Return what a file holds, standard input where it is "-"; raise OSError that names it."""
    if name == "-" and sys.stdin is None:
        raise OSError(errno.EBADF, "is closed", _INPUT)
    try:
        return sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()
    except OSError as fault:
        fault.filename = fault.filename or (_INPUT if name == "-" else name)
        raise


def put(text: str) -> None:
    """Write a text to standard output; raise OSError that names it where it cannot be written."""
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except OSError as fault:
        fault.filename = _OUTPUT
        raise


def put_json(document: dict[str, Any]) -> None:
    """Write a document to standard output; raise OSError as :func:`put` does."""
    # JSON is UTF-8 between programs; in ASCII alone it is the same in every other encoding.
    ascii_only = codecs.lookup(sys.stdout.encoding or "ascii").name != "utf-8"
    put(json.dumps(document, indent=1, ensure_ascii=ascii_only) + "\n")


def say(line: str) -> None:
    """Write a line to standard error, if anyone can read it there."""
    try:
        sys.stderr.write(f"baywalk: {line}\n")
        sys.stderr.flush()
    except OSError:
        let_go(sys.stderr)


def refuse(problem: Exception) -> int:
    """Say in one line what is wrong and return the exit code."""
    say(one_line(problem))
    return BAD_INPUT


def one_line(problem: Exception) -> str:
    """Return what is wrong in one line, with the file's name where it is a file's fault."""
    words = str(problem)
    if isinstance(problem, OSError) and problem.filename:
        words = f"{problem.filename}: {problem.strerror}"
    return " ".join(words.split())


def let_go(stream: TextIO | None) -> None:
    """Have what is still to be written to a stream that takes no more lead nowhere.

    Otherwise Python tries once more at its end, and complains in its own words.
    """
    if stream is None:
        return
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
