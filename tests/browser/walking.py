"""A person in the loft: walks a run by touch alone, and looks at what the field book then holds."""

from __future__ import annotations

import uuid
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from tests.browser.driving import Phone, Service

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Page, Playwright

Entry = dict[str, Any]

_READ = """async (id) => {
  const { head, entries, standing } = await book.openSurvey(id);
  return { head, entries, standing: [...standing] };
}"""

_TARGETS = """() => [...document.querySelectorAll("button, a, input, textarea")]
  .filter((one) => one.checkVisibility({ visibilityProperty: true }))
  .filter((one) => one.getBoundingClientRect().bottom > 0)
  .map((one) => {
    const { x, y, width, height } = one.getBoundingClientRect();
    return { words: one.textContent, key: Boolean(one.closest(".keypad")), x, y, width, height };
  })"""


@contextmanager
def in_the_loft(playwright: Playwright, place: Path) -> Iterator[Phone]:
    """Give a phone before a service of its own; many walks may share it, each with its survey."""
    service = Service(place / "service")
    phone = Phone(playwright, place / "phone", service.url)
    try:
        yield phone
    finally:
        phone.close()
        service.stop()


def head(**run: Any) -> dict[str, Any]:
    """Return the head of an invented survey of one run."""
    base = {"id": "A", "title": "Run A", "joists": 0, "lines": ["near", "far"]}
    member = {"breadth": 47, "depth": 147}
    return {
        "format": "baywalk.survey",
        "version": 1,
        "id": str(uuid.uuid4()),
        "title": "Invented, for a test",
        "created": "2026-01-10T09:00:00+00:00",
        "tape": {"class": "II"},
        "runs": [{**base, "member": member, **run}],
    }


class Walker:
    """Walks one run on a page of the phone."""

    def __init__(self, phone: Phone, survey: str = "") -> None:
        """Open a tab to walk in; ``survey`` is the id of one that is there."""
        self.phone = phone
        self.page: Page = phone.context.new_page()
        self.page.set_default_timeout(15_000)
        self.id = survey
        self._desk: Page | None = None

    def start(self, **run: Any) -> Walker:
        """Make a survey and open the walk of its run A."""
        survey = head(**run)
        self.id = survey["id"]
        self.phone.book(self.page)
        self.page.evaluate("(head) => book.createSurvey(head)", survey)
        return self.open()

    def open(self) -> Walker:
        """Open the walk, or open it afresh."""
        here = self.page.url.startswith(f"{self.phone.url}/#")
        self.page.goto(f"{self.phone.url}/#/s/{self.id}/walk/A")
        if here:
            # Another place of the same document is not loaded by itself.
            self.page.reload()
        self.page.wait_for_selector(".walk .keypad", state="attached")
        return self

    def tap(self, words: str, *, exact: bool = True) -> Walker:
        """Touch the key or choice with these words."""
        # A key that is off still answers a touch, with a word on why.
        self.page.get_by_role("button", name=words, exact=exact).first.tap(force=True)
        return self

    def type(self, digits: int | str) -> Walker:
        """Touch the digits."""
        for digit in str(digits):
            self.tap(digit)
        return self

    def read(self, *values: int) -> Walker:
        """Touch each length and save it."""
        for value in values:
            self.type(value).tap("Save")
        return self

    def asked(self) -> str:
        """Return what is asked now."""
        return " ".join(self.page.locator(".walk-ask").inner_text().split())

    def echo(self) -> str:
        """Return the large figure."""
        return " ".join(self.page.locator("output.echo").inner_text().split())

    def said(self) -> str:
        """Return what is said where "saved" is said."""
        return self.page.locator(".walk-saved").inner_text()

    def shows(self, words: str) -> Walker:
        """Wait until these words stand on the screen."""
        self.page.get_by_text(words).wait_for()
        return self

    def saved(self, words: str) -> Walker:
        """Wait until these words are said to be saved."""
        place = self.page.locator(".walk-saved[data-state='saved']", has_text=words)
        place.wait_for()
        return self

    def book(self) -> dict[str, Any]:
        """Return head, entries and standing ids as a fresh look into the database finds them."""
        self.page.locator(".walk-saved:not([data-state='saving'])").wait_for(state="attached")
        # One tab for every look, loaded afresh: a tab costs more than the look.
        self._desk = self.phone.book(self._desk or self.phone.context.new_page())
        found: dict[str, Any] = self._desk.evaluate(_READ, self.id)
        return found

    def leave(self) -> None:
        """Close the tabs."""
        if self._desk:
            self._desk.close()
        self.page.close()

    def entries(self, *kinds: str) -> list[Entry]:
        """Return the standing entries of these kinds, in order."""
        book = self.book()
        standing = set(book["standing"])
        return [one for one in book["entries"] if one["kind"] in kinds and one["id"] in standing]

    def run(self) -> dict[str, Any]:
        """Return the run's head as it now stands."""
        found: dict[str, Any] = self.book()["head"]["runs"][0]
        return found

    def targets(self) -> list[dict[str, Any]]:
        """Return every target that can be touched now: its words, whether a key, its box [px]."""
        found: list[dict[str, Any]] = self.page.evaluate(_TARGETS)
        return found


def pairs(entries: list[Entry]) -> list[tuple[Any, Any, Any]]:
    """Return from, to and value of readings across."""
    return [(one["from"], one["to"], one["value"]) for one in entries]
