"""Fixtures of the browser tests: the real service, and a Chromium at a phone's size."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Playwright, expect, sync_playwright

from tests.browser.driving import Phone, Service, chromium
from tests.browser.prepared import Prepared
from tests.browser.versions import SIDES, mixed
from tests.browser.walking import Walker, in_the_loft

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


# How long what is not about time may take: a machine under other work stands still at times.
expect.set_options(timeout=15_000)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what needs a browser, and skip it plainly where there is none."""
    missing = pytest.mark.skip(
        reason="no Chromium is installed (apt-get install chromium, or set BAYWALK_CHROMIUM)"
    )
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)
            if not chromium():
                item.add_marker(missing)


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """Give what drives the browsers."""
    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def other_version(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Path | None:
    """Give the checkout of the versions that were asked for, None where none were."""
    asked = {side: request.config.getoption(f"--{side}-of") for side in SIDES}
    return mixed(tmp_path_factory.mktemp("versions"), **asked) if any(asked.values()) else None


@pytest.fixture
def make_service(tmp_path: Path, other_version: Path | None) -> Iterator[Callable[..., Service]]:
    """Give what starts a service with more words on its command line, such as ``--demo``."""
    made: list[Service] = []

    def make(*more: str, checkout: Path | None = other_version) -> Service:
        made.append(Service(tmp_path / f"service{len(made)}", *more, checkout=checkout))
        return made[-1]

    yield make
    for one in made:
        one.stop()


@pytest.fixture
def service(make_service: Callable[..., Service]) -> Service:
    """Give a service with an empty store."""
    return make_service()


@pytest.fixture
def make_phone(
    request: pytest.FixtureRequest, playwright: Playwright, tmp_path: Path
) -> Iterator[Callable[..., Phone]]:
    """Give what starts a phone with a profile of its own; without a URL, before a new service."""
    made: list[Phone] = []

    def make(url: str | None = None, **context: object) -> Phone:
        profile = tmp_path / f"phone{len(made)}"
        where = url or request.getfixturevalue("service").url
        made.append(Phone(playwright, profile, where, **context))  # type: ignore[arg-type]
        return made[-1]

    yield make
    for one in made:
        one.close()


@pytest.fixture
def phone(make_phone: Callable[..., Phone]) -> Phone:
    """Give a phone that stands before the service."""
    return make_phone()


@pytest.fixture(scope="session")
def made(playwright: Playwright, tmp_path_factory: pytest.TempPathFactory) -> Prepared:
    """Make a service with the demo loft and a phone that has it, to be copied."""
    return Prepared(playwright, tmp_path_factory.mktemp("demo"))


@pytest.fixture
def demo(made: Prepared, tmp_path: Path) -> Iterator[Service]:
    """Give a copy of the service that was made."""
    service = made.service(tmp_path)
    yield service
    service.stop()


@pytest.fixture(scope="module")
def loft(playwright: Playwright, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Phone]:
    """Give a phone before a service of its own, for all walks of a file."""
    with in_the_loft(playwright, tmp_path_factory.mktemp("loft")) as phone:
        yield phone


@pytest.fixture
def walker(loft: Phone) -> Iterator[Walker]:
    """Give a person who walks on a tab of their own; no script may have failed when they leave."""
    walker = Walker(loft)
    yield walker
    walker.leave()
    assert loft.errors == []
