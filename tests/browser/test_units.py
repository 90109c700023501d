"""Lengths in feet and inches by choice: on every screen that shows what was worked out."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from playwright.sync_api import expect

from tests.browser.tour import bring_demo, bring_papers, settle, show

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Page

    from tests.browser.driving import Phone, Service

TEXTS = """(left) => {
  const main = document.querySelector("main").cloneNode(true);
  main.querySelectorAll("summary").forEach((one) => {
    if (left.includes(one.textContent)) one.parentElement.remove();
  });
  main.querySelectorAll("h3").forEach((one) => {
    if (left.includes(one.textContent)) one.nextElementSibling.remove();
  });
  main.querySelectorAll("[aria-label='What to buy']").forEach((one) => one.remove());
  const labels = [...main.querySelectorAll("[aria-label]")];
  return [main.textContent, ...labels.map((one) => one.getAttribute("aria-label"))].join(" ");
}"""

QUOTED = ["The working", "Beside it, the published tables"]
"""What quotes published rules stays in their own unit, and so do goods as they are sold."""

FIGURES = "all => all.map((one) => one.textContent).filter((text) => /[0-9]{2}/.test(text))"
MILLIMETRES = re.compile(r".{0,30}[0-9]\s?mm\b.{0,20}")
INCHES = re.compile(r"[0-9]\"")


def choose(page: Page, url: str, words: str) -> None:
    """Choose in the settings what lengths are written in."""
    page.goto(url + "/#/settings")
    page.get_by_label(words, exact=True).check()
    expect(page.locator("#said")).to_have_text("Kept.")


def test_no_millimetre_is_left_where_feet_and_inches_are_chosen(
    make_service: Callable[..., Service], make_phone: Callable[..., Phone]
) -> None:
    service = make_service("--demo")
    phone = make_phone(service.url)
    page = bring_demo(phone)
    settle(service)
    bring_papers(phone)
    choose(page, phone.url, "in feet, inches and sixteenths")
    page.reload()
    expect(page.get_by_label("in feet, inches and sixteenths")).to_be_checked()
    for name in ("as-built", "plan", "loads", "laying"):
        show(page, phone.url, name)
        steps = 12 if name == "laying" else 0
        for step in range(steps + 1):
            text = page.evaluate(TEXTS, QUOTED)
            assert MILLIMETRES.findall(text) == [], name
            if name != "laying" or step == steps:
                assert len(INCHES.findall(text)) > 2, name
            if step < steps:
                page.get_by_role("button", name="Done, next").tap()
                page.get_by_role("heading", name=f"Step {step + 2} of").wait_for()
        figures = page.locator("main svg .fig").evaluate_all(FIGURES)
        assert [text for text in figures if not INCHES.search(text)] == [], name
    # A reading is kept, and spoken of, in the millimetres in which it was read.
    show(page, phone.url, "cross-checks")
    expect(page.locator("main")).to_contain_text("3430")
    choose(page, phone.url, "in millimetres")
    show(page, phone.url, "plan")
    text = page.evaluate(TEXTS, QUOTED)
    assert len(MILLIMETRES.findall(text)) > 10
    assert INCHES.findall(text) == []
    assert phone.errors == []
