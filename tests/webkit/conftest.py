"""Fixtures of the second engine: a screen, the engine with its driver, and phones that use it."""

from __future__ import annotations

import os
import subprocess
import time
from typing import TYPE_CHECKING

import pytest

from tests.browser.driving import Service
from tests.browser.walking import Walker
from tests.webkit.second import BROWSER, DRIVER, SCREEN, Engine, Second

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip plainly what needs the engine where there is none."""
    missing = pytest.mark.skip(
        reason="no WebKitGTK is installed here (apt-get install webkit2gtk-driver xvfb)"
    )
    # The library's own driver of this engine uses its own old way.
    old = pytest.mark.filterwarnings("ignore:setting remote_server_addr:DeprecationWarning")
    # An engine that never comes back says nothing of the page: once more, with a new one.
    again = pytest.mark.flaky(reruns=2, only_rerun=["HungError"])
    for item in items:
        if item.path.is_relative_to(__file__.removesuffix("/conftest.py")):
            item.add_marker(old)
            item.add_marker(again)
            if not (BROWSER and DRIVER and SCREEN):
                item.add_marker(missing)


@pytest.fixture(scope="session")
def screen() -> Iterator[str]:
    """Give the number of a screen to draw on."""
    number = f":{70 + os.getpid() % 900}"
    assert SCREEN
    shown = subprocess.Popen(
        [SCREEN, number, "-screen", "0", "900x1100x24"], stderr=subprocess.DEVNULL
    )
    time.sleep(1)
    yield number
    shown.terminate()
    shown.wait(10)


@pytest.fixture(scope="session")
def engines(screen: str) -> Iterator[Callable[[int], Engine]]:
    """Give what gives the first, the second engine; each is started when it is asked for first."""
    os.environ["DISPLAY"] = screen
    running: list[Engine] = []

    def engine(number: int) -> Engine:
        while len(running) <= number:
            running.append(Engine())
        if running[number].hung:
            running[number].end()
            running[number] = Engine()
        return running[number]

    yield engine
    for one in running:
        one.end()


@pytest.fixture
def service(tmp_path: Path) -> Iterator[Service]:
    """Give a service with an empty store: a place that the engine never saw, with an empty book."""
    made = Service(tmp_path / "service")
    yield made
    made.stop()


@pytest.fixture
def make_phone(
    engines: Callable[[int], Engine], request: pytest.FixtureRequest
) -> Iterator[Callable[..., Second]]:
    """Give what gives a phone before a service, each with an engine of its own."""
    made: list[Second] = []

    def make(url: str | None = None) -> Second:
        where = url or request.getfixturevalue("service").url
        made.append(Second(engines(len(made)), where))
        return made[-1]

    yield make
    for one in made:
        one.close()


@pytest.fixture
def phone(make_phone: Callable[..., Second]) -> Second:
    """Give a phone that stands before the service."""
    return make_phone()


@pytest.fixture
def walker(phone: Second) -> Walker:
    """Give a person who walks on a page of the phone."""
    return Walker(phone)  # type: ignore[arg-type]
