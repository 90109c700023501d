"""Driving the real service and a real Chromium at a phone's size: start, kill, start again.

Used by the browser tests' fixtures and by the command that makes the pictures.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import socket
import subprocess
import time
import urllib.request
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from playwright.sync_api import BrowserContext, CDPSession, Page, Playwright
from playwright.sync_api import Error as PlaywrightError

from tests.support.heard import LAUNCH

if TYPE_CHECKING:
    from collections.abc import Iterator

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
"""Chromium's flags: it runs as root in CI, and asks nothing of any network."""

NEUTRAL = "/repair.html"
"""A page of the service that opens no field book of its own."""

OPEN_BOOK = """async () => {
  const { openBook } = await import("/app/book/book.js");
  window.book = await openBook();
}"""
"""What opens a field book on a page, as ``book``."""


LAN = "127.0.0.2"
"""Where phones find the service: another address of this machine, in place of a network's."""


def letting_phones_in() -> tuple[str, ...]:
    """Return the words on the command line that let phones in, at a free port of ``LAN``."""
    with socket.create_server((LAN, 0)) as probe:
        port = probe.getsockname()[1]
    return ("--phone", "--address", LAN, "--phone-port", str(port))


def chromium() -> str | None:
    """Return the path of an installed Chromium, or None.

    Without the windows that nobody looks at here it takes a fifth less time.
    """
    names = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
    given = os.environ.get("BAYWALK_CHROMIUM")
    return given or next(filter(None, map(shutil.which, names)), None)


class Service:
    """The service as a process of its own, with a data folder that outlives it."""

    def __init__(self, data: Path, *more: str, checkout: Path | None = None, port: int = 0) -> None:
        """Start it, on a free port unless one is given.

        ``more`` are further words for its command line; ``checkout`` holds another page and code.
        """
        self.data = data
        self._more = more
        self._path = {"PYTHONPATH": str(checkout / "service")} if checkout else {}
        self._process: subprocess.Popen[str] | None = None
        self.port = port
        self.start()

    @property
    def url(self) -> str:
        """Return where the page is, without a slash at the end."""
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start it, on the port it had before where it had one."""
        words = ["--port", str(self.port), "--data", str(self.data), *self._more]
        self._process = subprocess.Popen(
            [*LAUNCH, "serve", *words],
            stdout=subprocess.PIPE,
            text=True,
            start_new_session=True,
            env=os.environ | self._path,
        )
        assert self._process.stdout
        line = self._process.stdout.readline()
        found = re.search(r"127\.0\.0\.1:(\d+)", line)
        assert found, f"the service did not start; it said: {line!r}"
        self.port = int(found[1])

    def kill(self) -> None:
        """Kill it as a power cut would."""
        self._end(signal.SIGKILL)

    def stop(self) -> None:
        """End it in good order."""
        self._end(signal.SIGTERM)

    def _end(self, how: signal.Signals) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        os.killpg(process.pid, how)
        process.wait(10)
        if process.stdout:
            process.stdout.close()

    def get(self, path: str) -> Any:
        """Return the JSON at a path."""
        with urllib.request.urlopen(self.url + path, timeout=10) as answer:  # noqa: S310 - our own
            return json.load(answer)

    def post(self, path: str, body: object) -> Any:
        """Post JSON to a path and return the JSON that is answered."""
        given = {"Content-Type": "application/json"}
        asked = urllib.request.Request(  # noqa: S310 - our own
            self.url + path, json.dumps(body).encode(), given, method="POST"
        )
        with urllib.request.urlopen(asked, timeout=10) as answer:  # noqa: S310 - our own
            return json.load(answer)

    def send(self, survey: str, entries: list[dict[str, Any]]) -> None:
        """Put entries in, as another phone would."""
        said = self.post(f"/api/surveys/{survey}/entries", {"entries": entries})
        assert said["refused"] == []

    def entries(self, survey: str) -> list[dict[str, Any]]:
        """Return the entries that it has of a survey."""
        entries: list[dict[str, Any]] = self.get(f"/api/surveys/{survey}")["entries"]
        return entries


class Phone:
    """A Chromium with a profile that outlives it, at a phone's size and with touch."""

    def __init__(
        self,
        playwright: Playwright,
        profile: Path,
        url: str,
        *,
        size: tuple[int, int] = (390, 844),
        flags: tuple[str, ...] = (),
        **context: Any,
    ) -> None:
        """Start it; ``flags`` are further ones of Chromium, ``context`` is handed to Playwright."""
        self._flags = [*FLAGS, *flags]
        self._playwright = playwright
        self.profile = profile
        self.url = url
        self._options: dict[str, Any] = {
            "viewport": {"width": size[0], "height": size[1]},
            "device_scale_factor": 2,
            "has_touch": True,
            "is_mobile": True,
            **context,
        }
        self.errors: list[str] = []
        self.context = self._launch()

    @property
    def page(self) -> Page:
        """Return the first tab."""
        return self.context.pages[0]

    def open(self, path: str = "/") -> Page:
        """Go to a path in the first tab."""
        self.page.goto(self.url + path)
        return self.page

    def book(self, page: Page | None = None, *, quota: int | None = None) -> Page:
        """Open a field book on a neutral page, as ``book``, beside no screen.

        ``quota`` [bytes] is the room its storage gets. It must be set before the storage is opened:
        the browser looks at it again only when the room it knew of is used up.
        """
        page = page or self.page
        page.goto(self.url + NEUTRAL)
        if quota is not None:
            self.give_room(quota, page)
        page.evaluate(OPEN_BOOK)
        return page

    def give_room(self, quota: int | None, page: Page | None = None) -> None:
        """Set the room that the page's storage has [bytes]; None for the browser's own measure."""
        room = {} if quota is None else {"quotaSize": quota}
        self.session(page).send("Storage.overrideQuotaForOrigin", {"origin": self.url, **room})

    def session(self, page: Page | None = None) -> CDPSession:
        """Return a session of the browser's own protocol."""
        return self.context.new_cdp_session(page or self.page)

    def kill(self) -> None:
        """Kill the browser with all its processes, as a phone that runs out of power would."""
        for pid in self._processes():
            with _gone_already():
                os.kill(pid, signal.SIGKILL)
        with _closed_already():
            self.context.close()

    def restart(self) -> Page:
        """Start the browser again on the same profile."""
        with _closed_already():
            self.context.close()
        for lock in self.profile.glob("Singleton*"):
            lock.unlink(missing_ok=True)
        self.context = self._launch()
        return self.page

    def close(self) -> None:
        """End the browser."""
        with _closed_already():
            self.context.close()

    def _launch(self) -> BrowserContext:
        context = self._playwright.chromium.launch_persistent_context(
            str(self.profile), executable_path=chromium(), args=self._flags, **self._options
        )
        context.set_default_timeout(15_000)
        context.on("weberror", lambda fault: self.errors.append(str(fault.error)))
        return context

    def _processes(self) -> list[int]:
        """Return the processes of this profile and no other."""
        mark = f"--user-data-dir={self.profile}".encode()
        found = []
        for command in Path("/proc").glob("[0-9]*/cmdline"):
            with _gone_already():
                if mark in command.read_bytes().split(b"\0"):
                    found.append(int(command.parent.name))
        return found


def wait_for(what: Any, seconds: float = 15) -> Any:
    """Call ``what`` until it gives something true, and return that."""
    end = time.monotonic() + seconds
    while True:
        outcome = what()
        if outcome:
            return outcome
        assert time.monotonic() < end, "it did not come about in time"
        time.sleep(0.05)


def until(page: Page, expression: str, seconds: float = 15) -> None:
    """Wait until an expression is true on the page, whose policy forbids Playwright's own way."""
    wait_for(lambda: page.evaluate(f"Boolean({expression})"), seconds)


@contextmanager
def _gone_already() -> Iterator[None]:
    """Pass over a process that has ended meanwhile."""
    try:
        yield
    except (ProcessLookupError, FileNotFoundError, PermissionError):
        return


@contextmanager
def _closed_already() -> Iterator[None]:
    """Pass over a browser that is not there any more."""
    try:
        yield
    except PlaywrightError:
        return
