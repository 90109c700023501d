"""The second engine behind the same few words that the suites use of the first one.

The suites of storing, sending and walking are written against a phone with pages (`driving.Phone`,
Playwright's page). What stands here answers to those words in WebKitGTK, through its own driver.
"""

from __future__ import annotations

import os
import shutil
import signal
import time
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from selenium import webdriver
from selenium.webdriver.remote.client_config import ClientConfig
from selenium.webdriver.webkitgtk.options import Options
from selenium.webdriver.webkitgtk.service import Service as Driver
from urllib3.exceptions import HTTPError

from tests.browser.driving import NEUTRAL, OPEN_BOOK, wait_for

if TYPE_CHECKING:
    from collections.abc import Callable

BROWSER = next(Path("/usr/lib").glob("*/webkit2gtk-4.1/MiniBrowser"), None)
DRIVER, SCREEN = shutil.which("WebKitWebDriver"), shutil.which("Xvfb")

PATIENCE = 20
"""How long the driver may take over one thing [s]: at times the engine never comes back."""

AT_REST = """
  await navigator.locks.request("baywalk.sync", () => new Promise((on) => setTimeout(on, 200)));
"""

CUT, WHOLE = (
    """
    window.real ??= window.fetch;
    window.fetch = async () => { throw new TypeError("the line was cut"); };
    """,
    """
    window.fetch = window.real ?? window.fetch;
    window.dispatchEvent(new Event("online"));
    """,
)

FIND = """
  const [{ css, role, name, exact, text, first }] = given;
  const plain = (words) => words.replace(/\\s+/g, " ").trim();
  const roles = { button: "button, [role=button]", textbox: "input, textarea" };
  const named = (one) => plain(one.getAttribute("aria-label") ?? one.innerText ?? "");
  const fits = (words, wanted) => exact
    ? words === wanted : words.toLowerCase().includes(wanted.toLowerCase());
  let all = [...document.querySelectorAll(css ?? roles[role] ?? "body *")];
  if (role && name) all = all.filter((one) => fits(named(one), name));
  // The words of a place are those of its smallest element, as a reader points at them.
  if (!css && !role) all = all.filter((one) =>
    fits(plain(one.innerText ?? ""), text)
    && ![...one.children].some((inner) => fits(plain(inner.innerText ?? ""), text)));
  else if (text) all = all.filter((one) => fits(plain(one.textContent), text));
"""
SHOWN = """
  const shown = all.filter((one) => one.checkVisibility({ visibilityProperty: true }));
"""


class HungError(Exception):
    """The engine did not come back: nothing can be said of the page."""


class Engine(webdriver.Remote):
    """The engine with its driver; ``hung`` once it did not come back, ``stands`` on which page."""

    def __init__(self) -> None:
        """Start both."""
        # Its sandbox needs more of the machine than a container gives; the pages are our own.
        os.environ["WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS"] = "1"
        options = Options()
        options.binary_location = str(BROWSER)
        options.add_argument("--automation")
        # It does not know the authority that the service made; what is shown here is the pairing.
        options.accept_insecure_certs = True
        assert DRIVER
        self.hung, self.stands = False, ""
        self._runs = Driver(DRIVER, popen_kw={"start_new_session": True})
        self._runs.start()
        there = self._runs.service_url
        # What was asked once and not answered is not asked again: it would hang as long again.
        once = {"init_args_for_pool_manager": {"retries": False}}
        asked = ClientConfig(there, timeout=PATIENCE, init_args_for_pool_manager=once)
        super().__init__(there, options=options, client_config=asked)
        self.set_script_timeout(PATIENCE - 5)

    def execute(self, *given: Any, **more: Any) -> Any:
        """Have the driver do one thing; raise ``HungError`` where it never comes back."""
        try:
            return super().execute(*given, **more)
        except HTTPError as why:
            self.hung = True
            raise HungError(str(why)) from why

    def end(self) -> None:
        """End both, the hung one by force."""
        if not self.hung:
            with suppress(HungError):
                self.quit()
        with suppress(ProcessLookupError):
            os.killpg(self._runs.process.pid, signal.SIGKILL)
        self._runs.process.wait(10)


class Second:
    """A phone with the second engine; its store lasts as long as the engine runs."""

    def __init__(self, driver: Any, url: str) -> None:
        """Stand before the service at ``url``, with one page."""
        self.driver, self.url = driver, url
        self.context = self
        self.pages = [Page(driver, driver.window_handles[0])]
        self.errors: list[str] = []

    @property
    def page(self) -> Page:
        """Return the first page."""
        return self.pages[0]

    def new_page(self) -> Page:
        """Open another page."""
        self.page.stand()
        self.driver.switch_to.new_window("tab")
        self.driver.stands = self.driver.current_window_handle
        self.pages.append(Page(self.driver, self.driver.stands))
        return self.pages[-1]

    def open(self, path: str = "/") -> Page:
        """Go to a path in the first page."""
        self.page.goto(self.url + path)
        return self.page

    def book(self, page: Page | None = None) -> Page:
        """Open a field book on a neutral page, as ``book``, beside no screen."""
        page = page or self.page
        page.goto(self.url + NEUTRAL)
        page.evaluate(OPEN_BOOK)
        return page

    def set_offline(self, cut: bool) -> None:  # noqa: FBT001 - the first engine's own way
        """Cut the pages from the network, or join them again; the engine has no switch for it."""
        for page in self.pages:
            page.run(CUT if cut else WHOLE)

    def close(self) -> None:
        """Leave every page but the first, which goes to nothing."""
        if self.driver.hung:
            return
        for page in self.pages[1:]:
            page.close()
        self.page.goto("about:blank")


class Page:
    """A page of the second engine."""

    def __init__(self, driver: Any, handle: str) -> None:
        """Hold the page that the driver knows by ``handle``."""
        self.driver, self._handle = driver, handle
        self._open = True

    def stand(self) -> None:
        """Make this page the one that the driver speaks to."""
        if self.driver.stands != self._handle:
            self.driver.switch_to.window(self._handle)
            self.driver.stands = self._handle

    def goto(self, url: str) -> None:
        """Go to an address, but leave the one before only when its storage is at rest.

        A page that is left in the middle of a transaction may leave the whole database locked in
        this engine: every later transaction then waits for ever, whoever asks.
        """
        self.stand()
        if self.driver.current_url.startswith("http"):
            self.run(AT_REST)
        if url.partition("#")[0] == self.driver.current_url.partition("#")[0]:
            self.driver.get("about:blank")
        self.driver.get(url)

    @property
    def url(self) -> str:
        """Return the address that it shows."""
        self.stand()
        return str(self.driver.current_url)

    def reload(self) -> None:
        """Load the page again."""
        self.goto(self.url)

    def run(self, body: str, *given: Any) -> Any:
        """Run the body of an asynchronous function on the page and return its outcome."""
        self.stand()
        script = (
            "const [...all] = arguments; const done = all.pop();"
            f"(async (given) => {{ {body} }})(all).then("
            "(value) => done({ value }), (error) => done({ error: String(error) }))"
        )
        told = self.driver.execute_async_script(script, *given)
        assert "error" not in told, told["error"]
        return told.get("value")

    def evaluate(self, expression: str, given: Any = None) -> Any:
        """Evaluate an expression; where it is a function, call it."""
        body = f"""
          const asked = (
            {expression.strip().removesuffix(";")}
          );
          return typeof asked === "function" ? await asked(...given) : await asked;
        """
        return self.run(body, given)

    def set_default_timeout(self, _milliseconds: float) -> None:
        """Take the time that the first engine is given; here everything has the same."""

    def wait_for_timeout(self, milliseconds: float) -> None:
        """Wait."""
        time.sleep(milliseconds / 1000)

    def wait_for_selector(self, css: str, **state: str) -> None:
        """Wait until something is there."""
        self.locator(css).wait_for(**state)

    def locator(self, css: str, *, has_text: str = "") -> Found:
        """Return what a selector finds."""
        return Found(self, {"css": css, "text": has_text})

    def get_by_role(self, role: str, *, name: str = "", exact: bool = False) -> Found:
        """Return what has a role and a name."""
        return Found(self, {"role": role, "name": name, "exact": exact})

    def get_by_text(self, text: str) -> Found:
        """Return the smallest places with these words."""
        return Found(self, {"text": text})

    def close(self) -> None:
        """Close it, once its storage is at rest."""
        if self._open:
            self.goto("about:blank")
            self.driver.close()
            self.driver.stands = ""
            self._open = False


@dataclass(frozen=True)
class Found:
    """What was looked for on a page: looked for anew at every question."""

    page: Page
    what: dict[str, Any]

    @property
    def first(self) -> Found:
        """Return it alone where there are several: it is the first anyway."""
        return replace(self)

    def _asked(self, answer: str) -> Any:
        return self.page.run(FIND + SHOWN + answer, self.what)

    def count(self) -> int:
        """Return how many there are, seen or not."""
        return int(self._asked("return all.length;"))

    def _first(self, answer: str = "") -> Any:
        """Wait until it is seen and return it, or what is asked of it."""
        found = wait_for(lambda: self._asked(f"return shown.length ? [shown[0]{answer}] : [];"), 30)
        return found[0]

    def inner_text(self) -> str:
        """Return the words that are seen."""
        return str(self._first(".innerText"))

    def tap(self, *, force: bool = False) -> None:
        """Touch it."""
        del force  # This engine's touch asks for nothing first.
        self._first().click()

    def fill(self, text: str) -> None:
        """Type into it."""
        self._first().send_keys(text)

    def wait_for(self, state: str = "visible") -> None:
        """Wait until it is seen (or hidden, or there at all)."""
        answers: dict[str, Callable[[], bool]] = {
            "visible": lambda: self._asked("return shown.length > 0;"),
            "hidden": lambda: not self._asked("return shown.length > 0;"),
            "attached": lambda: self.count() > 0,
        }
        wait_for(answers[state], 30)
