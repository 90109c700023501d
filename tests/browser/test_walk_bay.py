"""The address on a joist's label: it opens the walk at that bay, whatever the walk has come to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from baywalk.sheets import labels
from tests.browser.tour import SIZES

if TYPE_CHECKING:
    from tests.browser.walking import Walker


def scan(walker: Walker, bay: int | str) -> Walker:
    """Come to the address that the printed label of a bay has."""
    address = labels.address(walker.phone.url, walker.id, "A", 0)
    walker.page.goto("about:blank")
    walker.page.goto(f"{address.removesuffix('0')}{bay}")
    walker.page.wait_for_selector(".walk .keypad", state="attached")
    return walker


def test_a_bay_not_yet_read_is_asked_for_whole_and_then_the_walk_goes_on(walker: Walker) -> None:
    scan(walker.start(joists=3), 2)
    assert walker.asked() == "J2 to J3 clear gap, near line"
    walker.read(353, 47)
    assert walker.asked() == "J2 to J3 clear gap, far line"
    walker.read(351)
    assert walker.asked() == "wall to J1 clear gap, near line"
    wanted = [("near", [2, "right"], 353), ("far", [2, "right"], 351)]
    found = [(one["line"], one["from"], one["value"]) for one in walker.entries("across")]
    assert found == wanted
    assert [one["joist"] for one in walker.entries("breadth")] == [3]


def test_of_a_bay_half_read_the_rest_is_asked_for(walker: Walker) -> None:
    walker.start(joists=2).read(212, 47, 353, 46)
    assert scan(walker, 1).asked() == "J1 to J2 clear gap, far line"
    walker.tap("Can't reach").tap("Something stored there")
    assert walker.asked() == "J2 to end wall clear gap, near line"


def test_running_readings_go_to_the_bay_as_well(walker: Walker) -> None:
    walker.start(joists=3).tap("Running").read(212, 47)
    assert scan(walker, 2).asked() == "wall to J3 left near line"


@pytest.mark.parametrize("size", SIZES)
def test_of_a_bay_that_is_read_the_readings_are_ready_to_be_taken_again(
    walker: Walker, size: tuple[int, int]
) -> None:
    width, height = size
    walker.page.set_viewport_size({"width": width, "height": height})
    walker.start(joists=1).read(212, 47, 187, 188, 213)
    expect(walker.page.get_by_text("This run is walked")).to_be_visible()
    scan(walker, 0)
    expect(walker.page.get_by_role("heading", name="wall–J1 is read")).to_be_visible()
    assert walker.asked() == "wall to J1 clear gap, near line"
    for one in walker.targets():
        assert min(one["width"], one["height"]) >= 61, one
        assert height * 0.4 <= one["y"] <= height - one["height"], one
    walker.tap("Take again wall–J1, far line: 213").read(210).tap("Strike out 213")
    walker.saved("213 struck out")
    far = [one["value"] for one in walker.entries("across") if one["line"] == "far"]
    assert far == [188, 210]
    expect(walker.page.get_by_text("This run is walked")).to_be_visible()


def test_what_could_not_be_reached_may_be_read_now(walker: Walker) -> None:
    walker.start(joists=1).tap("Can't reach").tap("Something stored there").read(47, 187)
    walker.tap("Can't reach").tap("Something stored there").read(213)
    scan(walker, 0).tap("Read wall to J1: clear gap, near line").read(212)
    assert [one["value"] for one in walker.entries("across")] == [187, 213, 212]


def test_from_a_bay_that_is_read_the_walk_goes_on(walker: Walker) -> None:
    walker.start(joists=3).read(212, 47, 353, 46, 354, 47, 187, 186, 352)
    scan(walker, 2).tap("Go on with the walk")
    assert walker.asked() == "J1 to J2 clear gap, far line"
    scan(walker, 2).tap("Remark").page.get_by_role("textbox").fill("A label hangs here")
    walker.tap("Save the remark").saved("Remark noted")
    assert [one["bay"] for one in walker.entries("remark")] == [2]


@pytest.mark.parametrize("bay", [4, -1, "J2", "1.5"])
def test_a_bay_that_is_not_there_is_said_and_the_walk_opens(walker: Walker, bay: int | str) -> None:
    scan(walker.start(joists=3).read(212), bay)
    assert walker.said() == "This run has no such bay."
    assert walker.asked() == "J1 breadth, its thin side"
