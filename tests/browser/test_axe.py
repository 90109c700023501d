"""Every screen under axe, in both themes and sizes; targets and contrast measured by script."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.driving import letting_phones_in
from tests.browser.tour import SIZES, THEMES, bring_demo, go_round, show

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Page

    from tests.browser.driving import Phone, Service

TAGS = [
    "wcag2a",
    "wcag2aa",
    "wcag2aaa",
    "wcag21a",
    "wcag21aa",
    "wcag22aa",
    "best-practice",
]
"""What axe looks for; without ``wcag22aa`` it says nothing about small targets."""

# Details are wanted of violations only: axe then takes half the time.
OPTIONS = {"runOnly": {"type": "tag", "values": TAGS}, "resultTypes": ["violations"]}

LEAST_TARGET = 44
LEAST_TARGET_IN_WALK = 61
"""The least side of what is touched [px]: WCAG 2.2, 2.5.5, and the project's own for the walk."""

TEXT_PAIRS = [
    ("--ink", "--paper"),
    ("--ink", "--paper-2"),
    ("--ink-2", "--paper"),
    ("--ink-2", "--paper-2"),
    ("--accent", "--paper"),
    ("--on-accent", "--accent"),
    ("--paper", "--ink"),
]
PART_PAIRS = [("--rule", "--paper"), ("--rule", "--paper-2"), ("--hatch", "--paper")]

# A box whose label is touched in its place counts with its label.
_TARGETS = """() => [...document.querySelectorAll("a, button, input, select, textarea, summary")]
  .filter((node) => node.checkVisibility() && !node.matches(".skip, .unseen"))
  .map((node) => {
    const { width, height } = (node.closest("label") ?? node).getBoundingClientRect();
    return [node.textContent || node.value || node.tagName, Math.min(width, height)];
  })"""

_COLOURS = """(names) => names.map((name) => {
  const probe = document.body.appendChild(document.createElement("i"));
  probe.style.color = `var(${name})`;
  const found = getComputedStyle(probe).color.match(/[\\d.]+/g).slice(0, 3).map(Number);
  probe.remove();
  return found;
})"""


def axe(page: Page) -> list[str]:
    """Return what axe finds on the page as it stands, folded parts opened."""
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    found: dict[str, Any] = Axe().run(page, options=OPTIONS).response
    assert found["passes"], "axe looked at nothing"
    return [f"{one['id']}: {one['nodes'][0]['html'][:200]}" for one in found["violations"]]


def small_targets(page: Page, least: float = LEAST_TARGET) -> list[str]:
    """Return what is smaller to the touch than it must be [px]."""
    small = [one for one in page.evaluate(_TARGETS) if one[1] < least - 0.01]
    return [f"{words!r} is only {side} px" for words, side in small]


@pytest.mark.parametrize(("size", "theme"), list(zip(SIZES, THEMES, strict=True)))
def test_axe_finds_nothing_on_any_screen(
    make_service: Callable[..., Service],
    make_phone: Callable[..., Phone],
    size: tuple[int, int],
    theme: str,
) -> None:
    service = make_service("--demo", *letting_phones_in())
    phone = make_phone(service.url, size=size, color_scheme=theme)
    problems: list[str] = []
    for name in go_round(phone, service):
        problems += [f"{name}: {one}" for one in axe(phone.page)]
        least = LEAST_TARGET_IN_WALK if name.startswith("walk") else LEAST_TARGET
        problems += [f"{name}: {one}" for one in small_targets(phone.page, least)]
    assert problems == []
    assert phone.errors == []


@pytest.mark.parametrize("theme", THEMES)
def test_axe_finds_nothing_in_a_question(
    make_service: Callable[..., Service], make_phone: Callable[..., Phone], theme: str
) -> None:
    service = make_service("--demo")
    phone = make_phone(service.url, color_scheme=theme)
    page = bring_demo(phone)
    show(page, phone.url, "field-book")
    page.get_by_role("button", name="Strike out: near line, J4 right").tap()
    page.get_by_role("dialog").wait_for()
    assert axe(page) == []
    show(page, phone.url, "cross-checks")
    page.get_by_role("button", name="near line, wall to end wall").tap()
    assert axe(page) == []


def _luminance(colour: list[float]) -> float:
    """Return the relative luminance of an sRGB colour (WCAG 2.2)."""
    parts = [one / 255 for one in colour]
    red, green, blue = (
        one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(page: Page, pair: tuple[str, str]) -> float:
    one, other = sorted(_luminance(colour) for colour in page.evaluate(_COLOURS, list(pair)))
    return (other + 0.05) / (one + 0.05)


def test_contrast_is_reckoned_as_wcag_reckons_it() -> None:
    black, white, grey = (_luminance([level] * 3) for level in (0, 255, 0x77))
    assert (white + 0.05) / (black + 0.05) == pytest.approx(21)
    # WCAG's own worked figure: #777 on white is 4.48, just short of 4.5 (from memory).
    assert (white + 0.05) / (grey + 0.05) == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("chosen", [True, False])
def test_text_has_seven_to_one_and_parts_three_to_one(
    make_phone: Callable[..., Phone],
    theme: str,
    chosen: bool,  # noqa: FBT001 - a parameter of the test, named where it is set
) -> None:
    """Both ways to a theme: the phone's own setting, and the person's choice against it."""
    other = "light" if theme == "dark" else "dark"
    phone = make_phone(color_scheme=other if chosen else theme)
    page = phone.open("/#/settings")
    page.get_by_role("heading", name="Settings").wait_for()
    if chosen:
        page.get_by_role("radio", name=f"{theme}, for").tap()
    dark = sum(page.evaluate(_COLOURS, ["--paper"])[0]) < 200
    assert dark == (theme == "dark")
    text = {pair: _contrast(page, pair) for pair in TEXT_PAIRS}
    assert {pair: ratio for pair, ratio in text.items() if ratio < 7} == {}
    parts = {pair: _contrast(page, pair) for pair in PART_PAIRS}
    assert {pair: ratio for pair, ratio in parts.items() if ratio < 3} == {}
