"""The page with no network: stored whole, started from the phone, renewed only when one says so."""

from __future__ import annotations

import shutil
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import expect

from baywalk.http.guard import HEADERS
from tests.browser.driving import NEUTRAL, OPEN_BOOK, Service, until, wait_for
from tests.browser.test_book import MAKE, OPEN, add, made, stored

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Page

    from tests.browser.driving import Phone

ROOT = Path(__file__).parents[2]

KEPT = ("/", "/index.html", "/app/main.js", "/app/screens/walk/walk.css", "/shared/rules/uk.json")
OUTSIDE = ("/api/surveys", "/door.js", "/repair.html", "/sw.js")

SOON, NOISE = 5, 3
"""Within how long a newer page is offered [s], and how much a shared machine may add [-]."""

ASK = """(paths) => Promise.all(
  paths.map((path) => fetch(path).then(({ ok }) => ok, () => false)),
)"""

STATE = """async () => {
  const { workerState } = await import("/app/sync/update.js");
  return workerState();
}"""


def ready(page: Page) -> dict[str, Any]:
    """Wait until the whole page is stored, and return what the worker says of itself."""
    page.evaluate("navigator.serviceWorker.ready.then(() => undefined)")
    until(page, "navigator.serviceWorker.controller")
    state: dict[str, Any] = page.evaluate(STATE)
    assert state["kept"] == state["files"] > 50
    return state


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """Give a copy of page and service that a test may change."""
    copy = tmp_path / "checkout"
    for folder in ("service", "web", "shared", "fixtures"):
        skip = shutil.ignore_patterns("node_modules", "__pycache__")
        shutil.copytree(ROOT / folder, copy / folder, ignore=skip)
    return copy


def change(file: Path, old: str, new: str) -> None:
    """Change a file of a copy; the place must be there once."""
    text = file.read_text(encoding="utf-8")
    assert text.count(old) == 1
    file.write_text(text.replace(old, new), encoding="utf-8")


def test_it_starts_with_no_service_at_all(phone: Phone, service: Service) -> None:
    ready(phone.open())
    service.stop()
    for again in (phone.page.reload, phone.restart):
        again()
        phone.open()
        expect(phone.page.get_by_role("heading", level=1)).to_have_text("Surveys")
    phone.open("/#/new")
    expect(phone.page.get_by_role("heading", level=1)).to_have_text("New survey")
    assert phone.errors == []


def test_a_survey_made_offline_goes_over_later(phone: Phone, service: Service) -> None:
    ready(phone.open())
    service.stop()
    phone.kill()
    phone.restart()
    phone.open()
    page = phone.page
    page.evaluate(
        "import('/app/book/book.js').then(async (m) => { window.book = await m.openBook(); })"
    )
    survey = page.evaluate(MAKE)
    ids = [add(page, value) for value in (300, 301)]
    phone.kill()
    service.start()
    phone.restart()
    phone.open()
    wait_for(lambda: [e["id"] for e in entries_if_there(service, survey)] == ids)


def entries_if_there(service: Service, survey: str) -> list[dict[str, Any]]:
    """Return the service's entries of a survey that it may not know yet."""
    known = [one["id"] for one in service.get("/api/surveys")["surveys"]]
    return service.entries(survey) if survey in known else []


def test_it_can_be_installed(phone: Phone) -> None:
    ready(phone.open())
    session = phone.session()
    assert session.send("Page.getInstallabilityErrors")["installabilityErrors"] == []
    manifest = session.send("Page.getAppManifest")
    assert manifest["errors"] == []
    assert manifest["url"].endswith("/manifest.webmanifest")


def test_the_worker_keeps_out_of_the_service_and_the_repair_page(
    phone: Phone, service: Service
) -> None:
    ready(phone.open())
    service.stop()
    answers = phone.page.evaluate(ASK, [*KEPT, *OUTSIDE])
    assert answers == [True] * len(KEPT) + [False] * len(OUTSIDE)
    page = phone.page.evaluate("fetch('/').then((answer) => answer.text())")
    assert page == (ROOT / "web" / "index.html").read_text(encoding="utf-8")


def test_what_the_worker_answers_has_the_rules_of_safety(phone: Phone, service: Service) -> None:
    ready(phone.open())
    service.stop()
    for path, kind in (("/", "text/html"), ("/app/ui.js", "text/javascript")):
        headers = phone.page.evaluate(
            "async (path) => Object.fromEntries((await fetch(path)).headers)", path
        )
        assert headers["content-type"] == f"{kind}; charset=utf-8"
        assert {name: headers[name.lower()] for name in HEADERS} == HEADERS


def test_the_page_begins_without_a_worker_where_none_can_be_had(phone: Phone) -> None:
    """As on a phone that reaches the service by a name without a certificate."""
    phone.context.add_init_script("delete Navigator.prototype.serviceWorker")
    phone.open()
    # A hundred files one by one take a while on a busy machine.
    phone.page.get_by_role("heading", name="Surveys", level=1).wait_for()
    assert phone.page.evaluate("caches.keys()") == []
    assert phone.errors == []


def test_a_door_that_finds_no_page_says_so(
    make_service: Callable[..., Service], make_phone: Callable[..., Phone], checkout: Path
) -> None:
    (checkout / "web" / "index.html").unlink()
    phone = make_phone(make_service(checkout=checkout).url)
    phone.open()
    expect(phone.page.get_by_role("status")).to_contain_text("The page did not come")


def test_an_old_page_with_a_new_service(
    make_service: Callable[..., Service], make_phone: Callable[..., Phone], checkout: Path
) -> None:
    """The old page goes on and sends; the new one is offered, and taken at a touch."""
    service = make_service(checkout=checkout)
    phone = make_phone(service.url)
    old = ready(phone.open())
    phone.open("/#/new")
    phone.page.get_by_label("Name of the survey").fill("Half typed")
    service.stop()
    change(checkout / "web" / "app" / "screens" / "new.js", '"New survey")', '"A new survey")')
    service.start()
    offer = phone.page.get_by_role("button", name="Take it now")
    began = time.monotonic()
    # As when the person looks at the phone again.
    phone.page.evaluate("() => { document.dispatchEvent(new Event('visibilitychange')); }")
    offer.wait_for()
    assert time.monotonic() - began < SOON * NOISE
    assert phone.page.get_by_label("Name of the survey").input_value() == "Half typed"
    assert phone.page.evaluate(STATE) == old
    phone.page.reload()
    expect(phone.page.get_by_role("heading", level=1)).to_have_text("New survey")
    offer.wait_for()
    assert phone.page.evaluate(STATE) == old
    survey = in_other_tab(phone)
    wait_for(lambda: len(entries_if_there(service, survey)) == 1)
    offer.tap()
    expect(phone.page.get_by_role("heading", level=1)).to_have_text("A new survey")
    new = ready(phone.page)
    assert new["version"] != old["version"]
    assert len(phone.page.evaluate("caches.keys()")) == 1
    phone.page.goto(service.url + NEUTRAL)
    assert stored(phone.page) == [300]


def in_other_tab(phone: Phone) -> str:
    """Make a survey with a reading in another tab, which the worker serves as well."""
    page = phone.context.new_page()
    phone.book(page)
    survey: str = page.evaluate(MAKE)
    add(page, 300)
    page.close()
    return survey


def test_a_set_that_is_not_whole_is_not_taken(
    make_service: Callable[..., Service], make_phone: Callable[..., Phone], checkout: Path
) -> None:
    """A newer page with one file other than its hash leaves the old one at work."""
    service = make_service(checkout=checkout)
    phone = make_phone(service.url)
    old = ready(phone.open())
    service.stop()
    change(
        checkout / "service" / "baywalk" / "http" / "files.py",
        '    return {"version"',
        '    sha256 = version = "0" * 64\n    return {"version"',
    )
    service.start()
    phone.open()
    outcome = phone.page.evaluate(
        """async () => {
          const registration = await navigator.serviceWorker.getRegistration();
          const found = new Promise((resolve) => {
            const watch = () => {
              const fresh = registration.installing;
              if (fresh) fresh.addEventListener("statechange", () => resolve(fresh.state));
            };
            watch();
            registration.addEventListener("updatefound", watch);
          });
          await registration.update().catch(() => undefined);
          return found;
        }"""
    )
    assert outcome == "redundant"
    assert phone.page.evaluate(STATE) == old
    assert len(phone.page.evaluate("caches.keys()")) == 1
    service.stop()
    phone.restart()
    phone.open()
    expect(phone.page.get_by_role("heading", level=1)).to_have_text("Surveys")


def test_the_repair_page_mends_a_broken_worker_and_keeps_the_readings(
    make_service: Callable[..., Service], make_phone: Callable[..., Phone], checkout: Path
) -> None:
    worker = checkout / "web" / "sw.js"
    whole = worker.read_text(encoding="utf-8")
    change(
        worker,
        "  event.respondWith(answer(event.request, pathname));",
        "  event.respondWith(Response.error());",
    )
    service = make_service(checkout=checkout)
    phone = make_phone(service.url)
    survey = made(phone)
    add(phone.page, 300)
    phone.open()
    phone.page.evaluate("navigator.serviceWorker.ready.then(() => undefined)")
    until(phone.page, "navigator.serviceWorker.controller")
    with pytest.raises(Exception, match="ERR_FAILED"):
        phone.open("/?again")
    service.stop()
    worker.write_text(whole, encoding="utf-8")
    service.start()
    phone.open(NEUTRAL)
    phone.page.get_by_role("button", name="Repair the page").tap()
    expect(phone.page.get_by_role("status")).to_contain_text("Done.")
    ready(phone.open())
    phone.book().evaluate(OPEN, survey)
    assert stored(phone.page) == [300]


def test_what_makes_a_phone_ready_is_looked_at(phone: Phone, service: Service) -> None:
    ready(phone.open())
    page = phone.page
    page.reload()
    page.evaluate(OPEN_BOOK)
    tests = look(page)
    assert {name: ok for name, ok in tests.items() if ok is False} in ({}, {"Storage kept": False})
    assert tests["Page stored"] is tests["Page runs from this phone"] is True
    assert tests["Readings can be stored"] is tests["Clock"] is tests["Space"] is True
    assert tests["Starts with no network"] is True
    page.evaluate(
        """async () => {
          const [name] = await caches.keys();
          await (await caches.open(name)).delete("/page.pack");
        }"""
    )
    # It was in reach of the service all the while, which gives the parts that lack.
    tests = look(page)
    assert tests["Page stored"] is tests["Starts with no network"] is False
    service.stop()
    page.evaluate("() => { IDBObjectStore.prototype.put = () => { throw new Error('broken'); }; }")
    tests = look(page)
    assert tests["Readings can be stored"] is False


def look(page: Page) -> dict[str, bool | None]:
    """Return the outcome of each test of readiness, each of which must say something."""
    tests = page.evaluate(
        """async () => {
          const { readyTests } = await import("/app/ready/ready.js");
          return readyTests(window.book);
        }"""
    )
    assert all(one["say"] and (one["ok"] is True or one["remedy"]) for one in tests)
    return {one["name"]: one["ok"] for one in tests}
