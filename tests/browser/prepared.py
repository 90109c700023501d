"""A service and a phone made ready once and copied for each test, which may then spoil its copy."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING, Any

from tests.browser.driving import Phone, Service, until
from tests.browser.tour import bring_demo

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from playwright.sync_api import Playwright


class Prepared:
    """The data folder of a service with the demo loft, and the profile of a phone that has it.

    The copies of the service all answer at the same port, for the phone knows it by its address.
    """

    def __init__(
        self,
        playwright: Playwright,
        place: Path,
        before: Callable[[Service], None] | None = None,
        after: Callable[[Phone], None] | None = None,
    ) -> None:
        """Make both; ``before`` changes the service, ``after`` what the phone then has."""
        self._playwright, self._place = playwright, place
        service = Service(place / "service", "--demo")
        if before:
            before(service)
        phone = Phone(playwright, place / "phone", service.url)
        until(bring_demo(phone), "navigator.serviceWorker.controller")
        if after:
            after(phone)
        phone.close()
        service.stop()
        self._port = service.port

    def service(self, place: Path) -> Service:
        """Start a copy of the service in a folder."""
        shutil.copytree(self._place / "service", place / "service")
        return Service(place / "service", port=self._port)

    def phone(self, place: Path, service: Service, **context: Any) -> Phone:
        """Start a copy of the phone in a folder; ``context`` is handed to Playwright."""
        shutil.copytree(self._place / "phone", place / "phone", symlinks=True)
        return Phone(self._playwright, place / "phone", service.url, **context)
