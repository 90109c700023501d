"""The check of all readings together, as the walk, closure and the as-built show it; by touch."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from baywalk import fieldbook, places
from baywalk.reconcile import reconcile
from tests.browser.driving import wait_for
from tests.browser.tour import DEMO, show
from tests.support.sample import bare
from tests.vectors.compare import differences

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Page

    from tests.browser.driving import Phone, Service
    from tests.browser.prepared import Prepared

SLIP = "J4–J5, near line reads"
NEAR = 0.01  # mm: the phone's own as-built may differ by no more

ENTRIES = "async (id) => (await book.openSurvey(id)).entries"

OWN = """async (id) => {
  const [{ Watch }, { loadPack }] = await Promise.all([
    import("/app/reconcile/watch.js"), import("/app/closure/pack.js")]);
  const survey = await book.openSurvey(id), pack = await loadPack();
  const made = await new Promise((done) => { const watch = new Watch(survey, pack, (found) => {
    watch.close(); done(found); }); });
  return { made: JSON.parse(JSON.stringify(made)), kept: survey.asBuilt };
}"""
"""What the phone makes of a survey, and what it kept of the service's answer."""

FRESH = "async (id) => !(await book.openSurvey(id)).asBuiltState.stale"


@pytest.fixture
def loft(made: Prepared, demo: Service, tmp_path: Path) -> Iterator[Phone]:
    """Give a phone that has the demo loft."""
    phone = made.phone(tmp_path, demo)
    show(phone.page, phone.url, "as-built")
    yield phone
    phone.close()


def _doubt(page: Page, url: str) -> None:
    """Come to the walk and open what is doubtful there."""
    show(page, url, "walk")
    expect(page.locator(".walk-notice")).to_contain_text(SLIP)
    page.get_by_role("button", name=re.compile(r"\d+ to check")).first.tap()
    expect(page.get_by_role("group", name=re.compile("Worth a second look"))).to_contain_text(SLIP)


@pytest.mark.parametrize(("words", "kind"), [("Strike out", "strike"), ("Keep", "keep")])
def test_one_touch_decides(loft: Phone, words: str, kind: str) -> None:
    """The slip is named with what the hand did; one touch strikes it out or keeps it."""
    page = loft.page
    _doubt(page, loft.url)
    sheet = page.locator(".walk-choices")
    expect(sheet).to_contain_text("Digits swapped?")
    sheet.get_by_role("button", name=re.compile(f"^{words} ")).tap()
    expect(page.locator(".walk-notice", has_text=SLIP)).to_be_hidden()
    entries = loft.book(page).evaluate(ENTRIES, DEMO)
    found = entries[-1]
    assert found["kind"] == kind
    target = next(e for e in entries if e["id"] == found["target"])
    assert target["from"] == [4, "right"]
    assert found["reason"] == ("digits swapped" if kind == "strike" else "looked at again")


def test_one_touch_takes_it_again(loft: Phone) -> None:
    """The walk asks for the same dimension anew; the new figure and a strike settle the loft."""
    page = loft.page
    _doubt(page, loft.url)
    page.get_by_role("button", name=re.compile("^Take again J4–J5, near line")).tap()
    for digit in "583":
        page.get_by_role("button", name=digit, exact=True).tap()
    page.locator(".key.save").tap()
    page.get_by_role("button", name=re.compile("^Strike out")).tap()
    show(page, loft.url, "as-built")
    expect(page.locator(".verdict")).to_contain_text("✓ Settled")


def test_the_as_built_needs_no_service(loft: Phone, demo: Service) -> None:
    """With the service gone, a decision shows in the as-built, and it says who worked it out."""
    page = loft.page
    expect(page.locator(".verdict")).to_contain_text("✗ Not settled")
    expect(page.locator("main")).to_contain_text("Worked out by the service")
    demo.kill()
    _doubt(page, loft.url)
    page.locator(".walk-choices").get_by_role("button", name=re.compile("^Strike out ")).tap()
    show(page, loft.url, "as-built")
    expect(page.locator("main")).to_contain_text("Worked out on this phone")
    expect(page.locator(".verdict")).to_contain_text("✓ Settled")


def test_phone_and_service_give_the_same_as_built(loft: Phone) -> None:
    """The phone's own answer, the one it fetched, and the engine's at the desk are one."""
    text = (places.fixtures() / "demo-loft.json").read_text(encoding="utf-8")
    desk = json.loads(json.dumps(reconcile(fieldbook.load_survey(text))))
    page = loft.book()
    wait_for(lambda: page.evaluate(OWN, DEMO)["kept"], 60)
    both = page.evaluate(OWN, DEMO)
    assert differences(desk, both["made"], NEAR) == []
    assert differences(both["kept"], both["made"], NEAR) == []


def test_closure_says_the_same_as_the_walk(loft: Phone) -> None:
    """The closure screen and the walk give the same sentence, and no second one of that bay."""
    page = loft.page
    show(page, loft.url, "walk")
    expect(page.locator(".walk-notice")).to_contain_text(SLIP)
    said = page.locator(".walk-notice").inner_text()
    show(page, loft.url, "closure")
    expect(page.locator("main li.notice > p").first).to_have_text(said)
    assert page.locator("main li.notice > p", has_text="J4–J5").count() == 1
    page.locator("main li.notice summary").first.tap()
    page.get_by_role("link", name="near line, J4 right to J5 left 538").tap()
    expect(page.get_by_role("heading", name="J4–J5 is read")).to_be_visible()
    page.get_by_role("button", name="What is here").tap()
    page.get_by_role("button", name="Pipe in J4–J5").tap()
    expect(page.locator(".walk-ask")).to_contain_text("Pipe, J4–J5")
    show(page, loft.url, "survey")
    closure = page.get_by_role("link", name=re.compile("^Closure"))
    expect(closure).to_have_text("Closure✗ 1 thing does not add up")
    expect(page.locator(".first")).to_have_text("Run\u00a0A does not add up")
    show(page, loft.url, "cross-checks")
    expect(page.locator("main .verdict")).to_have_text(f"✗ {said}")


def test_a_load_check_of_what_came_meanwhile_is_not_called_old(loft: Phone, demo: Service) -> None:
    """It is asked for before the phone knows of a reading that the service counts already."""
    page = loft.page
    before = len(demo.entries(DEMO))
    _come_to_loads(loft)
    demo.send(DEMO, [bare("remark", run="A", bay=3, text="As from another phone")])
    page.get_by_role("button", name="Check the joists", exact=True).tap()
    expect(page.locator("main .verdict").first).to_be_visible()
    count = f"async (id) => (await ({ENTRIES})(id)).length"
    desk = loft.book(loft.context.new_page())
    wait_for(lambda: desk.evaluate(count, DEMO) == before + 1)
    wait_for(lambda: desk.evaluate(FRESH, DEMO))
    desk.close()
    page.reload()
    expect(page.locator("main .verdict").first).to_be_visible()
    expect(page.locator("main")).to_contain_text("Worked out by the service")
    expect(page.locator("main")).not_to_contain_text("Readings have come since")


def _come_to_loads(phone: Phone) -> None:
    phone.page.goto(f"{phone.url}/#/s/{DEMO}/loads")
    expect(phone.page.get_by_role("heading", name="What the joists carry")).to_be_visible()
