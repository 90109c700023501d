"""The deck plan, the laying and the load check on the phone, there with no network."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import expect

from tests.browser.driving import Phone, Service, wait_for
from tests.browser.prepared import Prepared
from tests.browser.tour import DEMO, bring_demo, bring_papers, settle

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Page, Playwright


@pytest.fixture(scope="module")
def made(playwright: Playwright, tmp_path_factory: pytest.TempPathFactory) -> Prepared:
    """Make a service with the demo loft, settled, and a phone with its plan and load check."""
    return Prepared(
        playwright,
        tmp_path_factory.mktemp("planned"),
        before=settle,
        after=bring_papers,
    )


@pytest.fixture
def make_loft(made: Prepared, demo: Service, tmp_path: Path) -> Iterator[Callable[..., Phone]]:
    """Give what starts a phone that has the plan and the load check of the demo loft."""
    phones: list[Phone] = []

    def make(**context: Any) -> Phone:
        phones.append(made.phone(tmp_path, demo, **context))
        return phones[-1]

    yield make
    for phone in phones:
        phone.close()


@pytest.fixture
def loft(make_loft: Callable[..., Phone]) -> Phone:
    """Give such a phone."""
    return make_loft()


def _go(phone: Phone, name: str) -> Page:
    phone.page.goto(f"{phone.url}/#/s/{DEMO}/{name}")
    return phone.page


def test_a_survey_that_is_not_settled_is_planned_only_when_told(
    make_service: Callable[..., Service], make_phone: Callable[..., Phone]
) -> None:
    phone = make_phone(make_service("--demo").url)
    bring_demo(phone)
    page = _go(phone, "plan")
    page.get_by_role("button", name="Plan it", exact=True).tap()
    expect(page.get_by_role("alert")).to_contain_text("not settled")
    expect(page.locator("svg.deck")).to_have_count(0)
    page.get_by_role("button", name="Plan it all the same").tap()
    expect(page.locator("svg.deck")).to_be_visible(timeout=60_000)
    expect(page.locator(".told").first).to_contain_text("not settled")


def test_the_plan_and_the_ticks_are_there_with_no_network(loft: Phone, demo: Service) -> None:
    demo.stop()
    page = _go(loft, "plan")
    piece = page.locator("svg.deck .touch").nth(3)
    piece.wait_for()
    name = (piece.get_attribute("aria-label") or "").split(",")[0]
    piece.click(force=True)
    expect(page.locator(".picked-words h3")).to_contain_text(name)
    page.get_by_role("button", name="Timber below").tap()
    page.locator("svg.deck .touch").nth(3).click(force=True)
    expect(page.locator(".picked-words h3")).to_contain_text("Bay J3–J4")
    page.get_by_role("link", name="Lay it, step by step").tap()
    for step in (1, 2):
        expect(page.get_by_role("heading", level=1)).to_contain_text(f"Step {step} of")
        page.get_by_role("button", name="Done, next").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Step 3 of")
    loft.kill()
    page = loft.restart()
    _go(loft, "laying")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Step 3 of")
    page.get_by_role("button", name="Back one").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Step 2 of")
    page.get_by_role("link", name="It lies otherwise").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Openings and what is there")


def _to_first_course(page: Page) -> None:
    while not page.get_by_text("It landed elsewhere").count():
        page.get_by_role("button", name="Done, next").tap()
        page.wait_for_timeout(50)


def test_a_course_that_landed_elsewhere_is_planned_on_from(loft: Phone) -> None:
    """The course is kept as it landed; the steps go on after it and tell what changed."""
    page = _go(loft, "laying")
    _to_first_course(page)
    page.get_by_text("It landed elsewhere").tap()
    page.get_by_label("Its leading edge is off by").fill("4")
    page.get_by_label("Boards spoilt").fill("B99")
    page.get_by_role("button", name="Plan the rest from here").tap()
    expect(page.locator("form .wrong").last).to_contain_text("numbers of boards")
    page.get_by_label("Boards spoilt").fill("")
    page.get_by_role("button", name="Plan the rest from here").tap()
    expect(page.get_by_role("status")).to_contain_text("planned again", timeout=60_000)
    page.get_by_text("What changed").tap()
    expect(page.locator("main")).to_contain_text("laid and stay")
    expect(page.locator(".step-words")).not_to_contain_text("course 1")
    page.reload()
    expect(page.locator("main")).to_contain_text("What changed")


def test_what_landed_elsewhere_is_kept_with_no_network(loft: Phone, demo: Service) -> None:
    page = _go(loft, "laying")
    _to_first_course(page)
    demo.stop()
    page.get_by_text("It landed elsewhere").tap()
    page.get_by_label("Its first end joint is off by").fill("3")
    page.get_by_role("button", name="Plan the rest from here").tap()
    expect(page.get_by_role("status")).to_contain_text("What you noted is kept", timeout=60_000)
    loft.kill()
    page = loft.restart()
    _go(loft, "laying")
    page.get_by_text("It landed elsewhere").tap()
    expect(page.get_by_label("Its first end joint is off by")).to_have_value("3")


def test_the_plan_comes_by_itself_once_the_survey_is_settled(
    make_service: Callable[..., Service], make_phone: Callable[..., Phone]
) -> None:
    service = make_service("--demo")
    phone = make_phone(service.url)
    page = bring_demo(phone)
    settle(service)
    phone.book()
    kept = f"""book.sync.now().then(() => book.sync.paper("{DEMO}", "plan"))
      .then((paper) => Boolean(paper?.body))"""
    # One round brings the strike and the as-built, the next ones the papers.
    wait_for(lambda: page.evaluate(kept), 90)
    page = _go(phone, "plan")
    expect(page.locator("svg.deck")).to_be_visible()


def test_the_joists_are_told_one_by_one_and_never_approved(loft: Phone, demo: Service) -> None:
    page = _go(loft, "loads")
    expect(page.locator("main")).to_contain_text("It approves nothing")
    page.locator("summary", has_text="J1:").tap()
    expect(page.get_by_role("region", name="Checks of J1")).to_be_visible()
    page.get_by_text("The rules and where they come from").tap()
    expect(page.get_by_text("EN 338, 2016, Table 1").first).to_be_visible()
    page.get_by_text("For another use").tap()
    page.get_by_role("radio", name="a room to live in").tap()
    page.get_by_role("button", name="Check it so").tap()
    expect(page.locator("main .verdict").first).to_contain_text("1.5", timeout=30_000)
    page.get_by_text("Something heavy on the floor").tap()
    page.get_by_role("button", name="Put it there").tap()
    expect(page.locator("main")).to_contain_text("Give it a name.")
    page.get_by_label("What it is").fill("bath = full")
    page.get_by_label("Its mass").fill("300")
    page.get_by_role("button", name="Put it there").tap()
    # The room asked for before is still asked for, and the bath beside it.
    expect(page.locator("main")).to_contain_text("bath full, 300 kg, is beyond", timeout=30_000)
    expect(page.locator("main .verdict").first).to_contain_text("1.5")
    page.get_by_role("button", name="Take it away").tap()
    expect(page.locator("main")).not_to_contain_text("300 kg", timeout=30_000)
    demo.stop()
    page.reload()
    expect(page.locator("main .verdict").first).to_contain_text("1.5")
