"""How fast the sync is, beside what the machine itself can do in the same run.

    python -m tests.bench.sync             # a small Markdown table

Entries a second, in batches of 50 and 200, from one and four phones at once, beside a bare insert
of the same rows into SQLite with the same promise (WAL, synchronous=FULL, a commit a batch). A
day's work, 500 entries and 50 photos, and pairings a second. And answers a second, beside a bare
WSGI application on the same server.
"""

from __future__ import annotations

import argparse
import hashlib
import http.client
import io
import json
import random
import sqlite3
import statistics
import sys
import tempfile
import threading
import time
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PIL import Image

from tests.bench.servers import running as bare_server
from tests.faults import loft
from tests.faults.phone import JSON, Entry, Phone
from tests.support.process import Service
from tests.unit.http.test_pairing import House

if TYPE_CHECKING:
    from collections.abc import Callable

ENTRIES = 2_000
"""How many entries go over in each figure [-]."""
ANSWERS = 1_000
"""How many answers are asked for in each figure [-]."""
DAY = (500, 50)
"""How many entries and photos a day's work has [-]."""
PHOTO = (1600, 1200)
"""How large the page makes a photo before it goes over [px]."""
PAIRINGS = 200
"""How many phones are paired in each figure [-]."""
ROUNDS = 3
"""How often each figure is taken; the middle one is told [-]."""


class Line:
    """One kept connection to a service."""

    def __init__(self, port: int) -> None:
        """Take the port."""
        self._line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self._name = f"127.0.0.1:{port}"

    def ask(
        self, method: str, path: str, body: bytes | None = None, kind: str = JSON["Content-Type"]
    ) -> bytes:
        """Ask and return the body of the answer; raise where it did not go well."""
        given = {"Content-Type": kind, "Host": self._name} if body else {}
        self._line.request(method, path, body, given)
        answer = self._line.getresponse()
        said = answer.read()
        if answer.status >= 300:
            raise RuntimeError(f"{answer.status}: {said[:200]!r}")
        return said


def made(count: int) -> tuple[Entry, list[Entry]]:
    """Return a head and that many entries of a walk, none of them seen before."""
    phone = Phone(random.Random(time.time_ns()), {})
    head = loft.head(phone.draw)
    while len(phone.book) < count:
        loft.measure(phone)
    return head, [entry for entry in phone.book.values() if "wrong" not in entry]


def batches(entries: list[Entry], size: int) -> list[list[Entry]]:
    """Return the entries in batches of a size."""
    return [entries[start : start + size] for start in range(0, len(entries), size)]


def synced(service: Service, size: int, phones: int) -> float:
    """Return entries a second into the service, from so many phones in batches of a size."""
    head, entries = made(ENTRIES)
    path = f"/api/surveys/{head['id']}"
    Line(service.port).ask("PUT", path, json.dumps(head).encode())
    # A phone makes its text as it goes; the service's speed is what is measured here.
    bodies = [json.dumps({"entries": batch}).encode() for batch in batches(entries, size)]
    post = f"{path}/entries"
    took = together(phones, bodies, service.port, lambda line, body: line.ask("POST", post, body))
    kept = json.loads(Line(service.port).ask("GET", path))["entries"]
    if len(kept) != len(entries):
        raise RuntimeError(f"{len(entries)} went over and {len(kept)} are there")
    return len(entries) / took


def photo(number: int) -> bytes:
    """Return a made-up photo as the page sends one, another for each number."""
    draw = random.Random(number)
    rough = Image.frombytes("RGB", (160, 120), draw.randbytes(160 * 120 * 3))
    out = io.BytesIO()
    rough.resize(PHOTO, Image.Resampling.BICUBIC).save(out, "JPEG", quality=80)
    return out.getvalue()


def day(service: Service) -> tuple[float, float, float]:
    """Return how long a day's entries take over one line, its photos [s], and a photo's kB."""
    head, entries = made(DAY[0])
    photos = [photo(k) for k in range(DAY[1])]
    line, path = Line(service.port), f"/api/surveys/{head['id']}"
    line.ask("PUT", path, json.dumps(head).encode())
    began = time.perf_counter()
    for batch in batches(entries[: DAY[0]], 50):
        line.ask("POST", f"{path}/entries", json.dumps({"entries": batch}).encode())
    between = time.perf_counter()
    for sent in photos:
        sha256 = hashlib.sha256(sent).hexdigest()
        line.ask("PUT", f"/api/photos/{sha256}", sent, "image/jpeg")
    ended = time.perf_counter()
    return between - began, ended - between, sum(map(len, photos)) / len(photos) / 1000


def paired(folder: Path) -> float:
    """Return pairings a second: a code made by the owner, and its secret traded for a cookie."""
    folder.mkdir()
    house = House(folder)
    began = time.perf_counter()
    for _ in range(PAIRINGS):
        house.paired()
    took = time.perf_counter() - began
    house.close()
    return PAIRINGS / took


def inserted(folder: Path, size: int) -> float:
    """Return entries a second into a bare SQLite file, a commit a batch."""
    _, entries = made(ENTRIES)
    base = sqlite3.connect(folder / f"bare{time.time_ns()}.sqlite", isolation_level=None)
    base.execute("PRAGMA journal_mode=WAL")
    base.execute("PRAGMA synchronous=FULL")
    base.execute("CREATE TABLE entries (seq INTEGER PRIMARY KEY, id TEXT UNIQUE, body TEXT)")
    rows = [[(one["id"], json.dumps(one)) for one in batch] for batch in batches(entries, size)]
    began = time.perf_counter()
    for batch in rows:
        base.execute("BEGIN IMMEDIATE")
        base.executemany("INSERT INTO entries (id, body) VALUES (?, ?)", batch)
        base.execute("COMMIT")
    took = time.perf_counter() - began
    base.close()
    return len(entries) / took


def answered(port: int, path: str, lines: int) -> float:
    """Return answers a second to GET over so many kept connections."""
    asks = [path] * ANSWERS
    return ANSWERS / together(lines, asks, port, lambda line, path: line.ask("GET", path))


def together(count: int, jobs: list[Any], port: int, do: Callable[[Line, Any], Any]) -> float:
    """Do the jobs on so many lines at once and return how long it took [s]."""
    faults: list[Exception] = []

    def work(share: list[Any], line: Line) -> None:
        try:
            for job in share:
                do(line, job)
        except (OSError, RuntimeError, http.client.HTTPException) as fault:
            faults.append(fault)

    threads = [
        threading.Thread(target=work, args=(jobs[place::count], Line(port)))
        for place in range(count)
    ]
    began = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if faults:
        raise faults[0]
    return time.perf_counter() - began


def middle(figure: Callable[[], float]) -> float:
    """Return the middle one of a few takings of a figure."""
    return statistics.median(figure() for _ in range(ROUNDS))


def syncing(folder: Path, service: Service) -> None:
    """Print the table of entries a second."""
    print("\n| batches of | phones | synced, entries/s | bare insert, entries/s | of it |")
    print("|---|---|---|---|---|")
    for size in (50, 200):
        bare = middle(partial(inserted, folder, size))
        for phones in (1, 4):
            rate = middle(partial(synced, service, size, phones))
            row = f"| {size} | {phones} | {rate:.0f} | {bare:.0f} | {rate / bare:.0%} |"
            print(row, flush=True)


def a_day(folder: Path, service: Service) -> None:
    """Print how long a day's work takes to go over, and how fast phones are paired."""
    first, then, size = day(service)
    photos = f"{DAY[1]} photos of {size:.0f} kB in {then:.1f} s"
    print(f"\n{DAY[0]} entries in {first:.2f} s, then {photos}.")
    print(f"{paired(folder / 'house'):.0f} pairings a second.", flush=True)


def asking(service: Service) -> None:
    """Print the table of answers a second."""
    head, entries = made(200)
    path = f"/api/surveys/{head['id']}"
    line = Line(service.port)
    line.ask("PUT", path, json.dumps(head).encode())
    line.ask("POST", f"{path}/entries", json.dumps({"entries": entries}).encode())
    print("\n| GET | lines | answers/s |\n|---|---|---|")
    with bare_server("granian", "bare") as (_, port):
        rates("a bare WSGI application", port, "/")
    rates("the page", service.port, "/")
    rates("the end of the entries", service.port, f"{path}/entries?after=999999")
    rates("200 entries", service.port, f"{path}/entries?after=0")
    rates("the as-built, kept", service.port, f"{path}/as-built")


def rates(name: str, port: int, path: str) -> None:
    """Print the rows of one address, asked over one line and over four."""
    for lines in (1, 4):
        print(
            f"| {name} | {lines} | {middle(partial(answered, port, path, lines)):.0f} |", flush=True
        )


def main() -> int:
    """Measure and print all of it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", choices=["sync", "get"], help="one of the two tables")
    only = parser.parse_args().only
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        service = Service(folder / "service").start()
        try:
            if only != "get":
                syncing(folder, service)
                a_day(folder, service)
            if only != "sync":
                asking(service)
        finally:
            service.stop()
    return 0


if __name__ == "__main__":
    sys.exit(main())
