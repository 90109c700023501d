"""What the page weighs on the wire: its scripts and styles without what only their makers need.

Comments, white space and the long names of what no other file sees are for who reads the source,
not for a phone on a bad link. The source itself is what lies in ``web/``.
"""

from __future__ import annotations

import gzip
import re
from functools import cache
from threading import Lock

import brotli

ENCODINGS = ("br", "gzip")
"""What a file can be packed in, the smaller first."""

_KINDS = {
    ".css": "text/css",
    ".js": "application/javascript",
    ".json": "application/json",
    ".webmanifest": "application/json",
}
_CONST = re.compile(r"\bconst (?=[\w$\[{])")
_IMPORT = re.compile(r"^import [^;]*;\n", re.MULTILINE)
_EXPORT = re.compile(r"^export (?=(?:async )?(?:function\*?|const|class) ([\w$]+))", re.MULTILINE)


@cache
def slim(content: bytes, suffix: str) -> bytes:
    """Return bytes that mean the same as a file's and are fewer, where its kind has such.

    A file that does not parse stays as it is: whoever runs it shall see the fault where it is.
    """
    if suffix not in _KINDS:
        return content
    # The library's own threads do not outlive a fork, so it is loaded where the answers are given.
    import minify

    try:
        text = content.decode()
        if suffix == ".js":
            # One word for both packs smaller, and what stands side by side becomes one statement.
            text = _CONST.sub("let ", _closed(text))
        return str(minify.string(_KINDS[suffix], text)).encode()
    except ValueError:
        return content


def _closed(module: str) -> str:
    """Return a module whose names are one function's, so that those that stay inside may be short.

    It gives what it exports once all of it has run. No module of the page is imported in a circle,
    so nobody asks for any of it sooner. One that exports in another way stays as it is.
    """
    names, inside = _EXPORT.findall(module), _EXPORT.sub("", module)
    if not names or re.search("^export ", inside, re.MULTILINE):
        return module
    given = names[0] if len(names) == 1 else f"[{', '.join(names)}]"
    imports, body = "".join(_IMPORT.findall(inside)), _IMPORT.sub("", inside)
    return f"{imports}export const {given} = (() => {{\n{body}\nreturn {given};\n}})();\n"


def packed(content: bytes, encoding: str) -> bytes:
    """Return bytes packed in one of ``ENCODINGS``."""
    # Who asks while they are being packed waits for that, and does not pack them as well.
    with _turn(content, encoding):
        return _packed(content, encoding)


@cache
def _turn(_content: bytes, _encoding: str) -> Lock:
    return Lock()


@cache
def _packed(content: bytes, encoding: str) -> bytes:
    if encoding == "br":
        return bytes(brotli.compress(content, quality=11))
    # Without a time in it, the same file packs to the same bytes on every start.
    return gzip.compress(content, 9, mtime=0)
