"""The process that answers phones is started anew when what it was started with is no longer so."""

from __future__ import annotations

import os
import signal
import time
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from baywalk.http import Config
from baywalk.http.config import Lan
from baywalk.http.phones import lan, where
from baywalk.http.phones.folder import Certificates

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

LAN = Lan("127.0.0.2", None, 8766, 8765)
WORDS = "started"


def say(config: Config) -> None:
    """Say with what it was started, in place of a service, and stay."""
    assert config.guarded
    assert config.lan
    with (config.data / WORDS).open("a") as file:
        file.write(f"{os.getpid()} {config.lan.address}\n")
    time.sleep(60)


class Machine:
    """A machine with an address, the process beside, and what that said."""

    def __init__(self, data: Path) -> None:
        self.data, self.address = data, LAN.address

    def starts(self, count: int) -> list[list[str]]:
        """Wait for so many starts and return the process and the address of each."""
        for _ in range(600):
            file = self.data / WORDS
            lines = file.read_text().splitlines() if file.exists() else []
            if len(lines) >= count:
                return [line.split() for line in lines]
            time.sleep(0.05)
        raise AssertionError(f"it was not started {count} times")


@pytest.fixture(params=[LAN])
def machine(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Machine]:
    made = Machine(tmp_path)
    monkeypatch.setattr(lan, "LOOK_EVERY", 0.1)
    monkeypatch.setattr(lan.address, "own_address", lambda: made.address)
    config = Config(tmp_path, phones=True, lan=request.param)
    Certificates(tmp_path).ensure(LAN.address, None)
    beside = lan.Beside(config, lan.Wanted(), say)
    beside.start()
    yield made
    beside.stop()
    assert where.read(tmp_path) is None


def test_it_starts_anew_where_it_must_and_only_there(machine: Machine) -> None:
    """With a new address, when it has fallen, and with a renewed certificate."""
    machine.starts(1)
    machine.address = None  # Off the network for a while: nothing is done.
    time.sleep(0.5)
    assert len(machine.starts(1)) == 1
    machine.address = "127.0.0.3"
    assert machine.starts(2)[1][1] == "127.0.0.3"
    told = where.read(machine.data)
    assert told
    assert told.address == "127.0.0.3"
    os.kill(int(machine.starts(2)[1][0]), signal.SIGKILL)
    machine.starts(3)
    certificate = machine.data / "certificates" / "service.pem"
    before = certificate.read_bytes()
    certificate.unlink()
    machine.starts(4)
    assert certificate.read_bytes() != before
    time.sleep(0.5)
    assert len(machine.starts(4)) == 4


@pytest.mark.parametrize(
    "machine", [replace(LAN, url="https://loft.example")], indirect=True, ids=["behind a proxy"]
)
def test_behind_a_proxy_it_starts_anew_when_it_has_fallen(machine: Machine) -> None:
    """The address and the certificate are the proxy's own there."""
    machine.address = "127.0.0.3"
    os.kill(int(machine.starts(1)[0][0]), signal.SIGKILL)
    assert [address for _, address in machine.starts(2)] == [LAN.address, LAN.address]
