"""The walk by keyboard, by a laser that types, by screen reader, and with the screen kept on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

if TYPE_CHECKING:
    from tests.browser.walking import Walker

WAKE = """() => {
  window.locks = 0;
  const request = async () => {
    window.locks += 1;
    window.lock = new EventTarget();
    window.lock.release = async () => window.lock.dispatchEvent(new Event("release"));
    return window.lock;
  };
  Object.defineProperty(navigator, "wakeLock", { value: { request }, configurable: true });
}"""


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("353", 353),
        ("353 mm", 353),
        ("0.353 m", 353),
        ("35,3cm", 353),
        ("353.4", 353),
        ('14"', 356),
    ],
)
def test_typed_text_and_enter_is_a_reading(walker: Walker, typed: str, value: int) -> None:
    walker.start()
    walker.page.keyboard.type(typed)
    walker.page.keyboard.press("Enter")
    [read] = walker.entries("across")
    assert read["value"] == value


def test_what_was_rounded_is_said_and_noted(walker: Walker) -> None:
    walker.start()
    walker.page.keyboard.type("353.4")
    walker.page.keyboard.press("Enter")
    walker.saved("353.4 taken as 353 mm")
    assert walker.entries("across")[0]["note"] == "353.4 taken as 353 mm"


def test_a_laser_types_on_after_a_key_was_touched(walker: Walker) -> None:
    walker.start().type(5).tap("Erase")
    walker.page.keyboard.type("353")
    walker.page.keyboard.press("Enter")
    assert [one["value"] for one in walker.entries("across")] == [353]


def test_a_number_in_metres_without_its_unit_is_asked_about(walker: Walker) -> None:
    walker.start()
    walker.page.keyboard.type("0.353")
    walker.page.keyboard.press("Enter")
    expect(walker.page.get_by_text("0.353 taken as 353 mm")).to_be_visible()
    assert walker.entries("across") == []
    walker.tap("Yes, 353")
    assert walker.entries("across")[0]["value"] == 353


def test_what_is_no_length_is_said_and_kept_for_mending(walker: Walker) -> None:
    walker.start()
    walker.page.keyboard.type("35..3")
    walker.page.keyboard.press("Enter")
    assert "is not a length" in walker.said()
    assert walker.echo().startswith("35..3")
    for _ in range(5):
        walker.page.keyboard.press("Backspace")
    assert walker.echo() == "? mm"


def test_the_whole_walk_can_be_done_by_keyboard_alone(walker: Walker) -> None:
    walker.start(joists=1, lines=["near"])
    press = walker.page.keyboard.press
    seen = []
    for _ in range(30):
        press("Tab")
        words = walker.page.evaluate("document.activeElement?.textContent ?? ''")
        if words == "Can't reach":
            break
        seen.append(words)
    assert {"What is here", "Running", "1", "0"} <= set(seen)
    ring = walker.page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
    assert float(ring.removesuffix("px")) >= 2
    press("Enter")
    assert walker.page.evaluate("document.activeElement.textContent") == "Why can it not be read?"
    press("Escape")
    walker.page.keyboard.type("212")
    press("Enter")
    walker.page.keyboard.type("47")
    press("Enter")
    walker.page.keyboard.type("180")
    press("Enter")
    walker.page.get_by_text("This run is walked").wait_for()
    assert [one["value"] for one in walker.entries("across", "breadth")] == [212, 47, 180]


def test_a_key_reached_by_tab_is_pressed_by_enter(walker: Walker) -> None:
    walker.start(joists=1)
    walker.page.get_by_role("button", name="7", exact=True).focus()
    walker.page.keyboard.press("Enter")
    walker.page.keyboard.press("Space")
    assert walker.echo() == "77 mm"


def test_the_focus_can_leave_the_walk(walker: Walker) -> None:
    walker.start(joists=1)
    walker.page.keyboard.press("Tab")
    first = walker.page.evaluate("document.activeElement.textContent")
    places = set()
    for _ in range(40):
        walker.page.keyboard.press("Tab")
        places.add(walker.page.evaluate("document.activeElement === document.body"))
    assert True in places, f"the focus never left; it began at {first}"


def test_a_screen_reader_is_told(walker: Walker) -> None:
    walker.start(joists=3)
    page = walker.page
    assert page.get_by_role("heading", level=1, name="Walk of run A").count() == 1
    echo = page.locator("output.echo")
    assert echo.get_attribute("aria-live") == "polite"
    assert page.locator(".walk-ask").get_attribute("aria-live") == "polite"
    assert page.locator(".walk-saved").get_attribute("aria-live") == "polite"
    assert page.get_by_role("group", name="Keypad").get_by_role("button").count() == 16
    assert page.get_by_role("img", name="The rod of the near line: 0 bays read of 4").count() == 1
    walker.tap("Running")
    assert page.get_by_role("button", name="Running").get_attribute("aria-pressed") == "true"
    names = [one["words"].strip() for one in walker.targets()]
    assert all(names)
    assert len(names) == len(set(names))


def test_the_screen_is_kept_on_and_the_lock_is_taken_again(walker: Walker) -> None:
    walker.page.add_init_script(f"({WAKE})()")
    walker.start()
    sign = walker.page.get_by_text("screen stays on")
    sign.wait_for()
    walker.page.evaluate("window.lock.release()")
    sign.wait_for(state="hidden")
    walker.page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    sign.wait_for()
    assert walker.page.evaluate("window.locks") == 2
