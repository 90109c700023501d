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
    if (left === one.textContent) one.parentElement.remove();
  });
  const labelled = [...main.querySelectorAll("[aria-label]")];
  const all = document.createTreeWalker(main, NodeFilter.SHOW_TEXT);
  const texts = [];
  while (all.nextNode()) texts.push(all.currentNode.data);
  texts.push(...labelled.map((one) => one.getAttribute("aria-label")));
  return texts.join(" ").replaceAll("\u00a0", " ");
}"""

WORKING = "The working"
"""A formula and a sag stand in the standard's own unit, and the screen says so once."""

FEET = r"(?:\d+' )?(?:\d+(?: \d+/\d+)?|\d+/\d+)\""
REASONS = (
    # A published rule's or table's figure, and what is held against a table: told both ways.
    rf"[\d.]+ mm \({FEET}\)",
    # Goods as they are sold.
    r"\d+ mm boards?|(?:joist|deck|boards) of [\d× ]+ mm|asks for \d+ mm; \d+ mm|[\d.]+ mm × \d+",
    # A standard's test.
    r"a pad of 50 × 50 mm",
)
"""What may stand in millimetres where feet and inches are chosen."""
STANDARDS = "Standards reckon in millimetres"
FOUND = (
    """() => [...document.querySelectorAll("main .findings li")].map((one) => one.textContent)"""
)
WORKINGS = """() => [...document.querySelectorAll("main details details li")]
  .map((one) => one.textContent).join(" ").replaceAll("\u00a0", " ")"""
MEASURED = re.compile(rf" (?:b|h|l|span|depth|left|cut|h_ef|x) = [\d.]*\d( \({FEET}\))?")

FIGURES = "all => all.map((one) => one.textContent).filter((text) => /[0-9]{2}/.test(text))"
MILLIMETRES = re.compile(r".{0,30}[0-9]\s?mm\b.{0,20}")
INCHES = re.compile(r"[0-9]\"")


def shown(page: Page) -> str:
    """Return what a screen says, without what may stand in millimetres."""
    text: str = page.evaluate(TEXTS, WORKING)
    for reason in REASONS:
        text = re.sub(reason, "", text)
    return text


def bare(finding: str) -> str:
    """Return a finding without its lengths in feet and inches, names, counts, readings quoted."""
    text = re.sub(FEET, "", finding.replace("\u00a0", " "))
    quoted = r"reads \d+\. The other readings want \d+"
    return re.sub(rf"\bJ\d+|\d+ bays|2 m straightedge|{quoted}", "", text)


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
            text = shown(page)
            assert MILLIMETRES.findall(text) == [], name
            if name != "laying" or step == steps:
                assert len(INCHES.findall(text)) > 2, name
            if step < steps:
                page.get_by_role("button", name="Done, next").tap()
                page.get_by_role("heading", name=f"Step {step + 2} of").wait_for()
        figures = page.locator("main svg .fig").evaluate_all(FIGURES)
        assert [text for text in figures if not INCHES.search(text)] == [], name
        if name == "as-built":
            findings = page.evaluate(FOUND)
            assert sum(bool(INCHES.search(one)) for one in findings) > 5
            assert [one for one in findings if re.search(r"\d", bare(one))] == []
        if name == "loads":
            assert text.count(STANDARDS) == 1
            signs = MEASURED.findall(page.evaluate(WORKINGS))
            assert len(signs) > 100
            assert all(signs)
    # A reading is kept, and spoken of, in the millimetres in which it was read.
    show(page, phone.url, "cross-checks")
    expect(page.locator("main")).to_contain_text("3430")
    choose(page, phone.url, "in millimetres")
    show(page, phone.url, "plan")
    text = page.evaluate(TEXTS, WORKING)
    assert len(MILLIMETRES.findall(text)) > 10
    assert INCHES.findall(text) == []
    assert phone.errors == []
