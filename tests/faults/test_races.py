"""Several at once, and a service killed at moments that nobody chose.

What happens here is not the same twice, for threads and a clock have their say; so only what must
hold whatever happens is checked.
"""

from __future__ import annotations

import json
import random
import threading
import time
from typing import TYPE_CHECKING, Any

import pytest

from tests.faults import loft
from tests.faults.doors import NoAnswer, Outside
from tests.faults.phone import JSON, Entry, Phone
from tests.support.postgres import database

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

WRITERS, READERS, KILLS = 4, 2, 3
ENTRIES = 60
"""How many entries each of the writers writes [-]."""


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def door(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Outside]:
    """Give a real service on either database."""
    url = None
    if request.param == "postgres":
        url = database(request.getfixturevalue("postgres_url"), "races")
    door = Outside(tmp_path / "service", url)
    yield door
    door.close()


class Walker(threading.Thread):
    """A phone in a thread of its own that writes, sends, and sends again until all is there."""

    def __init__(self, door: Outside, phone: Phone) -> None:
        """Take the way to the service, and the phone."""
        super().__init__(daemon=True)
        self.phone, self._door, self.fault = phone, door, ""

    def run(self) -> None:
        """Write everything, sending now and then."""
        try:
            self._walk()
        except AssertionError as fault:
            self.fault = str(fault) or "an assertion failed"

    def _walk(self) -> None:
        for place in range(ENTRIES):
            loft.measure(self.phone)
            if place % 5 == 4:
                self._send()
        while self.phone.outbox:
            self._send()

    def _send(self) -> None:
        message = self.phone.batch(self.phone.draw.choice((1, 7, 30)))
        if message is None:
            return
        try:
            answer = self._door.ask(message.method, message.path, message.body, message.headers)
        except NoAnswer:
            time.sleep(0.02)
            return
        self.phone.hear(message, answer)


class Reader(threading.Thread):
    """A phone that only pulls, by cursor, until it is told to stop and nothing more comes."""

    def __init__(self, door: Outside, survey: str) -> None:
        """Take the way to the service, and the survey."""
        super().__init__(daemon=True)
        self._door, self._survey = door, survey
        self.entries: list[Entry] = []
        self.cursors = [0]
        self.over = threading.Event()

    def run(self) -> None:
        """Pull and pull."""
        while True:
            over = self.over.is_set()
            page = _patiently(self._pull)
            self.entries += page["entries"]
            self.cursors.append(page["cursor"])
            if over and not page["entries"]:
                return

    def _pull(self) -> Any:
        path = f"/api/surveys/{self._survey}/entries?after={self.cursors[-1]}"
        return self._door.ask("GET", path).json()


def _patiently(ask: Callable[[], Any]) -> Any:
    """Ask until there is an answer."""
    for _ in range(1500):
        try:
            return ask()
        except NoAnswer:
            time.sleep(0.02)
    raise AssertionError("the service does not come back")


def _survey(door: Outside) -> tuple[str, list[Walker], list[Reader]]:
    draw = random.Random(time.time_ns())
    head = loft.head(draw)
    answer = door.ask("PUT", f"/api/surveys/{head['id']}", json.dumps(head).encode(), JSON)
    assert answer.status == 201
    phones = [Phone(random.Random(draw.random()), head) for _ in range(WRITERS)]
    readers = [Reader(door, head["id"]) for _ in range(READERS)]
    return head["id"], [Walker(door, phone) for phone in phones], readers


def _end(walkers: list[Walker], readers: list[Reader]) -> None:
    """Wait for the writers, then for the readers to have read all they wrote."""
    for walker in walkers:
        walker.join(60)
        assert not walker.is_alive()
        assert not walker.fault, walker.fault
    for reader in readers:
        reader.over.set()
        reader.join(30)
        assert not reader.is_alive()


def _check(door: Outside, survey: str, walkers: list[Walker], readers: list[Reader]) -> None:
    """Each reader has every acknowledged entry once and as written, and so has the service."""
    written = {k: v for walker in walkers for k, v in walker.phone.acknowledged.items()}
    assert len(written) > WRITERS * ENTRIES * 0.8
    exported = door.ask("GET", f"/api/surveys/{survey}").json()["entries"]
    for entries in (exported, *(reader.entries for reader in readers)):
        assert len(entries) == len(written)
        assert {entry["id"]: entry for entry in entries} == written
    for reader in readers:
        assert reader.cursors == sorted(reader.cursors)


def test_nothing_appears_below_a_cursor(door: Outside) -> None:
    """Readers that follow the cursor beside four writers miss nothing and read nothing twice."""
    survey, walkers, readers = _survey(door)
    for thread in (*walkers, *readers):
        thread.start()
    _end(walkers, readers)
    _check(door, survey, walkers, readers)


def test_killed_anywhere(door: Outside) -> None:
    """A service killed again and again while all of them go on keeps what it said it kept."""
    survey, walkers, readers = _survey(door)
    for thread in (*walkers, *readers):
        thread.start()
    draw = random.Random(time.time_ns())
    for _ in range(KILLS):
        time.sleep(draw.uniform(0.05, 0.6))
        door.restart()
    _end(walkers, readers)
    _check(door, survey, walkers, readers)


def test_the_same_batch_at_once(door: Outside) -> None:
    """Of eight that send one batch at the same moment, each entry is stored by exactly one."""
    survey, walkers, _ = _survey(door)
    phone = walkers[0].phone
    for _ in range(40):
        phone.write("remark", text="dry")
    message = phone.batch(40)
    assert message
    ready, answers = threading.Barrier(8), []

    def send() -> None:
        ready.wait()
        answers.append(door.ask("POST", message.path, message.body, JSON).json())

    threads = [threading.Thread(target=send) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert sorted(name for answer in answers for name in answer["stored"]) == sorted(message.ids)
    assert sum(len(answer["known"]) for answer in answers) == 7 * len(message.ids)
    assert len(door.ask("GET", f"/api/surveys/{survey}").json()["entries"]) == len(message.ids)
