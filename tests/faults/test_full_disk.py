"""A disk without room: what was kept stays, what was not is told so, and it goes on afterwards."""

from __future__ import annotations

import hashlib
import io
import json
import os
import random
import shutil
import subprocess
from typing import TYPE_CHECKING

import pytest
from PIL import Image

from tests.faults import loft
from tests.faults.phone import JSON, Message, Phone
from tests.support.process import Answer, Service

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

ROOM = 2_500_000
"""The room on the small disk [bytes]."""


def _small_disk(folder: Path) -> bool:
    """Mount a small disk on a folder where this machine lets us."""
    if os.geteuid() != 0 or shutil.which("mount") is None:
        return False
    how = ["mount", "-t", "tmpfs", "-o", f"size={ROOM}", "baywalk-test", str(folder)]
    return subprocess.run(how, check=False, capture_output=True).returncode == 0


@pytest.fixture
def small(tmp_path: Path) -> Iterator[Service]:
    """Give a service on a small disk."""
    folder = tmp_path / "disk"
    folder.mkdir()
    if not _small_disk(folder):
        pytest.skip("mounting a small disk needs root (the limited file below needs nothing)")
    service = Service(folder).start()
    yield service
    service.stop()
    subprocess.run(["umount", str(folder)], check=True)


@pytest.fixture
def limited(tmp_path: Path) -> Iterator[Service]:
    """Give a service none of whose files may pass a limit."""
    service = Service(tmp_path, wrap=["prlimit", f"--fsize={ROOM // 4}"]).start()
    yield service
    service.stop()


@pytest.fixture
def phone() -> Phone:
    """Give a phone with a survey."""
    draw = random.Random(11)
    return Phone(draw, loft.head(draw))


def _ask(service: Service, message: Message) -> Answer:
    answer = service.ask(message.method, message.path, message.body, message.headers)
    message.phone.hear(message, answer)
    return answer


def _fill(service: Service, phone: Phone) -> Answer:
    """Send entries until one batch finds no room; return the answer to that."""
    assert _ask(service, phone.introducing()).status == 201
    for _ in range(400):
        for _ in range(8):
            phone.write("remark", run="A", text="x" * 2_000)
        message = phone.batch(8)
        assert message
        answer = _ask(service, message)
        if answer.status != 200:
            return answer
    raise AssertionError("it never filled up")


def _check(service: Service, phone: Phone) -> None:
    survey = phone.head["id"]
    entries = service.ask("GET", f"/api/surveys/{survey}").json()["entries"]
    assert len(entries) == len(phone.acknowledged)
    assert {entry["id"]: entry for entry in entries} == phone.acknowledged


def _full(service: Service, phone: Phone) -> None:
    """Fill the disk: the batch is refused whole with 507, and what was kept can be read."""
    answer = _fill(service, phone)
    assert answer.status == 507
    assert answer.json()["type"].endswith("#disk-full")
    assert len(phone.outbox) == 8
    assert phone.acknowledged
    _check(service, phone)


def test_a_full_disk(small: Service, phone: Phone) -> None:
    """The real thing: a small disk; room is made on it, and what waited goes over."""
    ballast = small.data / "ballast"
    ballast.write_bytes(b"x" * (ROOM // 2))
    _full(small, phone)
    ballast.unlink()
    message = phone.batch(8)
    assert message
    assert _ask(small, message).status == 200
    assert not phone.outbox
    _check(small, phone)


def test_a_full_disk_and_a_kill(small: Service, phone: Phone) -> None:
    """Killed with the disk full, it starts again as soon as there is room and has everything."""
    ballast = small.data / "ballast"
    ballast.write_bytes(b"x" * (ROOM // 2))
    _full(small, phone)
    small.kill()
    ballast.unlink()
    small.start()
    _check(small, phone)


def test_a_limited_file(limited: Service, phone: Phone) -> None:
    """A file that may not grow is told in the same way; without the limit it goes on."""
    _full(limited, phone)
    limited.kill()
    limited.wrap = []
    limited.start()
    message = phone.batch(8)
    assert message
    assert _ask(limited, message).status == 200
    _check(limited, phone)


def test_a_photo_on_a_full_disk(small: Service) -> None:
    """A photo without room is told so; once there is room it comes whole."""
    ballast = small.data / "ballast"
    ballast.write_bytes(b"x" * (ROOM - 400_000))
    out = io.BytesIO()
    Image.frombytes("RGB", (700, 700), random.Random(3).randbytes(1_470_000)).save(out, "JPEG")
    content = out.getvalue()
    path = f"/api/photos/{hashlib.sha256(content).hexdigest()}"
    headers = {"Content-Type": "image/jpeg"}
    answer = small.ask("PUT", path, content, headers)
    assert answer.status == 507, answer.body
    assert small.ask("GET", path).status == 404
    ballast.unlink()
    start = int(small.ask("HEAD", path).headers["upload-offset"])
    # Where all of it had come and only the keeping failed, asking is enough to have it kept.
    if start < len(content):
        headers["Content-Range"] = f"bytes {start}-{len(content) - 1}/{len(content)}"
        assert small.ask("PUT", path, content[start:], headers).status == 201
    assert small.ask("GET", path).status == 200


def test_a_head_on_a_full_disk(small: Service, phone: Phone) -> None:
    """A head without room is told so too, and the surveys there can still be read."""
    _full(small, phone)
    draw, told = random.Random(5), 200
    for _ in range(300):
        head = loft.head(draw) | {"note": "x" * 5_000}
        body = json.dumps(head)
        told = small.ask("PUT", f"/api/surveys/{head['id']}", body, JSON).status
        if told != 201:
            break
    assert told == 507
    _check(small, phone)
