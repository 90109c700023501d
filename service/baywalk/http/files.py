"""The page's own files: read once when the service starts, and the pack of all that a phone keeps.

A request names a file by its path in a table made at the start, so no path leads out of it; and
the table is of one moment, so that a page is never made of files of two versions.

At the first visit the door answers. It has the service worker fetch the pack, all files of the
page in one, and only then begins the page: one answer weighs a fraction of a hundred small ones.
Where no worker can be had, the page takes the same files one by one.
"""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING

from flask import Flask, Response, request

from baywalk import places
from baywalk.http.conditional import conditional
from baywalk.http.problems import Problem
from baywalk.http.shorthand import shorten
from baywalk.http.slim import ENCODINGS, packed, slim

if TYPE_CHECKING:
    from collections.abc import Iterator

    from werkzeug.wrappers import Response as Conditional

TYPES = {
    ".css": "text/css; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".ico": "image/x-icon",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json",
    ".pack": "application/octet-stream",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".webmanifest": "application/manifest+json",
    ".woff2": "font/woff2",
}
"""What is served, by the end of its name."""

SHARED = ("rules", "schemas")
"""The folders of what is shared that the page may read."""

PACK = "/page.pack"
"""Where the pack is."""

DOOR = "/door.html"
"""What the address of the page itself answers at the first visit; afterwards the worker does."""

_BETWEEN = "\0"
"""What stands in the pack between the words, then between the files."""

_WORKER = "/sw.js"
_OUTSIDE = ("/door.", "/repair.", "/icons/", "/shared/schemas/")
_NOT_THE_PAGE = ("node_modules", "test", "trust")
_ALREADY = {".png", ".woff2"}


@dataclass(frozen=True)
class File:
    """One file: its bytes as they are served, and the end of its name."""

    content: bytes
    suffix: str

    @property
    def sha256(self) -> str:
        """Return the hash of its bytes."""
        return hashlib.sha256(self.content).hexdigest()


def install(app: Flask) -> None:
    """Serve the page at every path that no other route takes."""
    table = gather()

    def page(path: str) -> Conditional:
        file = table.get(f"/{path}" if path else DOOR)
        if file is None:
            raise Problem("no-such-address")
        return _answer(file)

    for rule, given in (("/", {"path": ""}), ("/<path:path>", {})):
        app.add_url_rule(rule, "page", page, defaults=given, provide_automatic_options=False)
    # Packing the whole takes about a second. The first phone shall not wait for it.
    Thread(target=packed, args=(table[PACK].content, ENCODINGS[0]), daemon=True).start()


def gather() -> dict[str, File]:
    """Return every file of the page by its path, with the pack, and the worker that knows it."""
    table = {path: _file(file) for path, file in _paths()}
    worker = table.pop(_WORKER, None)
    kept = _kept(table)
    words, short = shorten(_BETWEEN.join(_texts(kept)))
    table[PACK] = File(f"{' '.join(words)}{_BETWEEN}{short}".encode(), ".pack")
    if worker:
        first = f"const SET = {json.dumps(file_set(kept), separators=(',', ':'))};\n"
        table[_WORKER] = File(first.encode() + worker.content, ".js")
    return table


def file_set(inside: dict[str, File]) -> dict[str, object]:
    """Return what the worker must know of the pack: which files are in it, in their order.

    They stand by folders: a folder's path, the names of those of its files of one kind that
    follow, and the end that all of these names have.
    The hash is of their texts written out, one after the other with what stands between them.
    """
    paths = list(inside)
    types = {file.suffix: TYPES[file.suffix] for file in inside.values()}
    sha256 = hashlib.sha256(_BETWEEN.join(_texts(inside)).encode()).hexdigest()
    # The same texts may go by other names, so the version hashes the names too.
    version = hashlib.sha256(json.dumps([sha256, paths]).encode()).hexdigest()[:16]
    parts = ((folder, Path(name)) for folder, _, name in (path.rpartition("/") for path in paths))
    folders = [
        [f"{folder}/", " ".join(name.stem for _, name in group), end]
        for (folder, end), group in groupby(parts, lambda part: (part[0], part[1].suffix))
    ]
    return {"version": version, "pack": PACK, "sha256": sha256, "types": types, "files": folders}


def _texts(inside: dict[str, File]) -> list[str]:
    """Return the files' texts; all that a phone keeps is text, and none has what parts them."""
    texts = [file.content.decode() for file in inside.values()]
    if any(_BETWEEN in text for text in texts):
        raise ValueError("a file of the page has a null in it")
    return texts


def _kept(table: dict[str, File]) -> dict[str, File]:
    """Return the files that a phone keeps, in their order: like beside like, which packs smaller.

    Of the rules it keeps those that a script names; a plan and a load check bring their own along.
    """
    order = sorted(table, key=lambda path: (table[path].suffix == ".js", table[path].suffix, path))
    inside = {path: table[path] for path in order if not path.startswith(_OUTSIDE)}
    scripts = b"".join(file.content for file in inside.values() if file.suffix == ".js").decode()
    for path in inside:
        if path.startswith("/shared/rules/"):
            inside[path] = File(_named_rules(inside[path].content, scripts), ".json")
    return inside


def _named_rules(pack: bytes, scripts: str) -> bytes:
    """Return the rules that the scripts name, whole or by a family's name, with their values alone.

    Where a figure comes from stands in the whole pack, which is served at the same address.
    """
    whole = json.loads(pack)
    families = re.compile(r"`([a-z_.]+\.)\$\{").findall(scripts)
    named = set(re.compile(r'"([\w.]+)"').findall(scripts))
    whole["rules"] = {
        name: {"value": rule["value"]}
        for name, rule in whole["rules"].items()
        if name in named or name.startswith(tuple(families))
    }
    return json.dumps(whole, ensure_ascii=False, separators=(",", ":")).encode()


def _paths() -> Iterator[tuple[str, Path]]:
    """Yield every file of the page with the path it is served at."""
    for file in _walk(places.web()):
        yield "/" + file.relative_to(places.web()).as_posix(), file
    for folder in SHARED:
        for file in _walk(places.shared() / folder):
            yield "/shared/" + file.relative_to(places.shared()).as_posix(), file


def _walk(folder: Path) -> Iterator[Path]:
    """Yield the files of a folder that are the page's own, not its makers' tools."""
    for file in sorted(folder.iterdir()) if folder.is_dir() else ():
        if file.name.startswith(".") or file.name in _NOT_THE_PAGE:
            continue
        if file.is_dir():
            yield from _walk(file)
        elif file.suffix in TYPES and not _is_tool(file):
            yield file


def _is_tool(file: Path) -> bool:
    """Say whether a file is there only to check the page: settings, and scripts of types alone."""
    if file.parent != places.web():
        return file.name == "types.js"
    return file.suffix == ".json" or file.name.endswith(".config.js")


def _file(file: Path) -> File:
    """Read a file, and leave out what only its makers need."""
    return File(slim(file.read_bytes(), file.suffix), file.suffix)


def _answer(file: File) -> Conditional:
    """Answer a file, packed for those who take it so, and not at all to those who have it."""
    taken = [name for name in ENCODINGS if request.accept_encodings.quality(name) > 0]
    encoding = taken[0] if taken and file.suffix not in _ALREADY else None
    body = packed(file.content, encoding) if encoding else file.content
    response = Response(body, content_type=TYPES[file.suffix])
    if encoding:
        response.headers["Content-Encoding"] = encoding
    response.vary.add("Accept-Encoding")
    # The browser asks for the icon once for the tab and once for the home screen.
    response.headers["Cache-Control"] = "max-age=3600" if file.suffix == ".png" else "no-cache"
    response.set_etag(file.sha256[:32] + (f"-{encoding}" if encoding else ""))
    return conditional(response)
