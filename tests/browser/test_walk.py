"""The walk, touched as a person touches it: what is asked, what is written, what is taken back."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.browser.walking import Walker, pairs

if TYPE_CHECKING:
    from pathlib import Path


BREAK_STORAGE = """() => {
  const real = IDBDatabase.prototype.transaction;
  window.mend = () => { IDBDatabase.prototype.transaction = real; };
  IDBDatabase.prototype.transaction = function (stores, mode, options) {
    if (mode === "readwrite") throw new DOMException("the disk does not answer", "UnknownError");
    return real.call(this, stores, mode, options);
  };
}"""

COUNT_TOUCHES = """() => {
  window.touches = 0;
  document.addEventListener("click", () => { window.touches += 1; }, true);
}"""


def test_one_length_takes_its_digits_and_one_touch(walker: Walker) -> None:
    walker.start()
    walker.page.evaluate(COUNT_TOUCHES)
    walker.read(212)
    assert walker.page.evaluate("window.touches") == len("212") + 1
    assert pairs(walker.entries("across")) == [([0, "face"], [1, "left"], 212)]


def test_the_next_dimension_comes_by_itself(walker: Walker) -> None:
    walker.start()
    assert walker.asked() == "wall to J1 clear gap, near line"
    walker.read(212)
    assert walker.asked() == "J1 breadth, its thin side"
    walker.read(47)
    assert walker.asked() == "J1 to J2 clear gap, near line"


def test_a_run_is_walked_out_and_back_and_grows_as_it_is_walked(walker: Walker) -> None:
    walker.start()
    walker.read(212, 47, 353, 46)
    assert walker.run()["joists"] == 2
    walker.tap("End wall").read(187)
    assert walker.asked() == "J2 to end wall clear gap, far line"
    walker.read(185, 352, 214)
    walker.shows("This run is walked")
    far = [one for one in walker.entries("across") if one["line"] == "far"]
    assert pairs(far) == [
        ([2, "right"], [3, "face"], 185),
        ([1, "right"], [2, "left"], 352),
        ([0, "face"], [1, "left"], 214),
    ]
    assert walker.run()["joists"] == 2
    assert walker.run()["ended"] is True


def test_both_ends_of_each_bay_is_another_order(walker: Walker) -> None:
    walker.start(joists=2)
    walker.tap("More").tap("Both ends of each bay")
    walker.read(212, 47)
    assert walker.asked() == "wall to J1 clear gap, far line"
    walker.read(210)
    assert walker.asked() == "J1 to J2 clear gap, far line"
    walker.open()
    assert walker.asked() == "J1 to J2 clear gap, far line"


def test_same_as_the_last_is_one_touch(walker: Walker) -> None:
    walker.start().read(212, 47, 353).tap("Same 47")
    assert walker.asked().startswith("J2 to J3")
    assert [one["value"] for one in walker.entries("breadth")] == [47, 47]


def test_saved_is_said_only_after_the_database_has_it(walker: Walker) -> None:
    walker.start().read(212).saved("wall–J1 212")
    assert walker.page.locator(".walk-mark").inner_text() == "✓"
    walker.open()
    assert walker.asked() == "J1 breadth, its thin side"


def test_half_typed_digits_outlive_the_page_for_what_was_asked_alone(walker: Walker) -> None:
    """A page that dies, or that the browser puts away, is found again as it was left."""
    walker.start().read(212, 47).type(35)
    walker.page.reload()
    walker.shows("J1 to J2")
    expect(walker.page.locator("output.echo")).to_contain_text("35")
    walker.type(3).tap("Save").saved("J1–J2 353").type(4)
    walker.page.reload()
    expect(walker.page.locator("output.echo")).to_contain_text("4")
    # What is asked now is another thing, so nothing stands there; and no reading was made of it.
    walker.tap("Erase").tap("Undo").saved("Struck out: J1–J2 353").type(1).tap("Erase")
    walker.page.reload()
    walker.shows("J1 to J2")
    expect(walker.page.locator("output.echo")).not_to_contain_text(re.compile("[0-9]"))
    assert pairs(walker.entries("across")) == [([0, "face"], [1, "left"], 212)]


def test_what_cannot_be_saved_is_said_kept_and_saved_later(walker: Walker) -> None:
    walker.start().page.evaluate(BREAK_STORAGE)
    walker.read(212)
    failed = walker.page.locator(".walk-saved[data-state='failed']")
    failed.wait_for()
    assert "not saved yet" in failed.inner_text()
    assert walker.asked() == "J1 breadth, its thin side"
    walker.page.evaluate("window.mend()")
    walker.saved("wall–J1 212")
    assert [one["value"] for one in walker.entries("across")] == [212]


def test_undo_is_one_touch_and_strikes_out(walker: Walker) -> None:
    walker.start().read(212, 47, 353)
    walker.tap("Undo").saved("Struck out: J1–J2 353")
    assert walker.asked() == "J1 to J2 clear gap, near line"
    book = walker.book()
    struck = [one for one in book["entries"] if one["id"] not in book["standing"]]
    assert {one["kind"] for one in struck} == {"across", "set"}
    assert walker.run()["joists"] == 1
    walker.tap("More").tap("Put back 353").saved("Put back")
    assert walker.asked() == "J2 breadth, its thin side"
    assert walker.run()["joists"] == 2


def test_undo_goes_on_back_and_stops_at_nothing(walker: Walker) -> None:
    walker.start().read(212, 47).tap("Undo").tap("Undo")
    assert walker.asked() == "wall to J1 clear gap, near line"
    assert walker.entries("across", "breadth") == []
    walker.tap("Undo")
    assert "nothing to undo" in walker.said()


def test_what_cannot_be_reached_is_noted_with_the_reason_and_the_walk_goes_on(
    walker: Walker,
) -> None:
    walker.start(joists=3).read(212, 47)
    walker.tap("Can't reach").tap("Pipe or tank in the way")
    assert walker.asked() == "J2 breadth, its thin side"
    [missed] = walker.entries("unreached")
    assert missed["reason"] == "Pipe or tank in the way"
    assert (missed["line"], missed["from"], missed["to"]) == ("near", [1, "right"], [2, "left"])
    walker.tap("Can't reach").tap("Back")
    assert walker.asked() == "J2 breadth, its thin side"


@pytest.mark.parametrize(
    ("typed", "answer", "value"),
    [
        ("3530", "No, 353", 353),
        ("3530", "Yes, 3530", 3530),
        ("35", "No, 350", 350),
        ("0", "Yes, 0", 0),
    ],
)
def test_ten_times_too_much_or_too_little_is_asked_about_and_never_refused(
    walker: Walker, typed: str, answer: str, value: int
) -> None:
    walker.start().read(212, 47, 353, 47)
    walker.type(typed).tap("Save")
    walker.shows("Is that right?")
    assert len(walker.entries("across")) == 2
    walker.tap(answer)
    assert walker.entries("across")[-1]["value"] == value


def test_a_questioned_figure_may_be_typed_again(walker: Walker) -> None:
    walker.start().read(212, 47, 353, 47)
    walker.type(3610).tap("Save").tap("Type it again")
    assert walker.echo() == "? mm"
    assert walker.asked() == "J2 to J3 clear gap, near line"


def test_the_end_wall_can_be_taken_back(walker: Walker) -> None:
    walker.start().read(212, 47).tap("End wall")
    assert walker.asked() == "J1 to end wall clear gap, near line"
    walker.tap("Not the wall")
    assert walker.asked() == "J1 to J2 clear gap, near line"
    walker.tap("End wall").tap("Undo")
    assert walker.asked() == "J1 to J2 clear gap, near line"


def test_the_end_wall_cannot_cut_off_what_was_read(walker: Walker) -> None:
    walker.start(joists=3).read(212, 47, 353, 47).tap("Undo").tap("Undo")
    walker.read(354, 47, 349, 47, 180)
    assert walker.asked() == "J3 to end wall clear gap, far line"
    walker.read(181).tap("End wall")
    assert "There are readings beyond J2" in walker.said()
    assert walker.run()["joists"] == 3


def test_a_run_has_at_least_one_joist(walker: Walker) -> None:
    walker.start().tap("End wall")
    assert "at least one joist" in walker.said()


def test_this_joists_size_is_asked_for_at_a_touch(walker: Walker) -> None:
    walker.start(joists=3).read(212, 47).tap("J1 size")
    assert walker.asked() == "J1 breadth, its thin side"
    walker.read(48)
    assert walker.asked() == "J1 depth, how tall it stands"
    walker.read(145)
    assert walker.asked() == "J1 to J2 clear gap, near line"
    assert [one["value"] for one in walker.entries("breadth", "depth")] == [47, 48, 145]


def test_a_size_called_for_by_mistake_is_left_by_the_same_thumb(walker: Walker) -> None:
    walker.start(joists=3).tap("J1 size").tap("Back").tap("Back")
    assert walker.asked() == "wall to J1 clear gap, near line"


def test_what_is_on_a_joist_is_asked_one_thing_at_a_time(walker: Walker) -> None:
    walker.start(joists=3).read(212, 47)
    walker.tap("What is here").tap("Notch on J1").tap("Top edge")
    assert walker.asked() == "Notch, J1 how deep"
    walker.read(35, 90).tap("Pass over")
    [notch] = walker.entries("feature")
    wanted = {"feature": "notch", "joist": 1, "edge": "top", "depth": 35, "length": 90}
    assert wanted.items() <= notch.items()
    assert "from_near_support" not in notch
    assert walker.asked() == "J1 to J2 clear gap, near line"


def test_a_note_left_half_way_is_not_written(walker: Walker) -> None:
    walker.start(joists=3).read(212, 47)
    walker.tap("What is here").tap("Notch on J1").page.keyboard.press("Escape")
    assert walker.asked() == "J1 to J2 clear gap, near line"
    walker.tap("What is here").tap("Notch on J1").tap("Top edge").tap("Undo")
    assert walker.asked() == "J1 to J2 clear gap, near line"
    assert walker.entries("feature") == []
    assert len(walker.entries("across", "breadth")) == 2


def test_what_is_in_a_bay_carries_its_caution(walker: Walker) -> None:
    walker.start(joists=3).read(212, 47)
    walker.tap("What is here").tap("Insulation in J1–J2").read(170)
    walker.saved("asbestos")
    [found] = walker.entries("feature")
    assert {"feature": "insulation", "bay": 1, "depth": 170}.items() <= found.items()


def test_a_remark_is_noted_at_its_bay(walker: Walker) -> None:
    walker.start(joists=3).tap("Remark")
    walker.page.get_by_role("textbox").fill("Old nails stand up here")
    walker.tap("Save the remark").saved("Remark noted")
    [remark] = walker.entries("remark")
    assert (remark["bay"], remark["text"]) == (0, "Old nails stand up here")


def test_digits_in_a_remark_are_not_taken_for_a_reading(walker: Walker) -> None:
    walker.start(joists=3).tap("Remark")
    walker.page.get_by_role("textbox").press_sequentially("353")
    walker.tap("Back")
    assert walker.echo() == "? mm"


def test_a_photo_is_one_touch_and_lies_at_its_bay(walker: Walker, tmp_path: Path) -> None:
    from PIL import Image

    picture = tmp_path / "bay.jpg"
    Image.effect_noise((640, 480), 60).convert("RGB").save(picture)
    walker.start(joists=3).read(212, 47)
    with walker.page.expect_file_chooser() as chooser:
        walker.tap("Photo")
    chooser.value.set_files(picture)
    walker.saved("Photo kept")
    [photo] = walker.entries("photo")
    assert photo["bay"] == 1
    assert len(photo["sha256"]) == 64


def test_a_notice_stands_beside_the_rod_and_never_blocks(walker: Walker) -> None:
    walker.start(joists=2).read(212, 47, 353, 47, 187, 185, 407)
    notice = walker.page.locator(".walk-notice")
    notice.wait_for()
    assert "J1–J2 reads 353 on the near line and 407 on the far line" in notice.inner_text()
    assert walker.asked() == "wall to J1 clear gap, far line"
    assert walker.page.locator(".rod .bracket:not(.asked)").count() == 1


def test_a_reading_is_taken_again_and_the_old_one_goes_only_if_told(walker: Walker) -> None:
    walker.start(joists=2).read(212, 47, 353, 47, 187, 185, 407)
    walker.tap("1 to check").tap("Take again J1–J2, far line: 407").read(355)
    walker.shows("355 now, 407 before")
    far = [one["value"] for one in walker.entries("across") if one["line"] == "far"]
    assert far == [185, 407, 355]
    walker.tap("Strike out 407").saved("407 struck out")
    book = walker.book()
    [strike] = [one for one in book["entries"] if one["kind"] == "strike"]
    assert strike["reason"] == "taken again"
    assert walker.asked() == "wall to J1 clear gap, far line"
    walker.page.locator(".walk-notice").wait_for(state="hidden")


def test_both_readings_may_stay_and_the_two_are_then_told_apart(walker: Walker) -> None:
    walker.start(joists=2).read(212, 47, 353, 47, 187, 185, 407)
    walker.tap("1 to check").tap("Take again J1–J2, far line: 407").read(355)
    # A touch may not come before the question stands where it stays.
    walker.shows("355 now, 407 before")
    walker.tap("Keep both")
    # At once the two are told apart; what all readings say of them follows, and stands then.
    told = re.compile("read as 407 and 355|reads 407. The other readings want 358")
    walker.page.locator(".walk-notice", has_text=told).wait_for()
    assert len(walker.entries("across")) == 6


def test_a_notice_is_left_alone_when_it_is_so(walker: Walker) -> None:
    walker.start(joists=2).read(212, 47, 353, 47, 187, 185, 407)
    walker.tap("1 to check").tap("It is so")
    walker.page.locator(".walk-notice").wait_for(state="hidden")
    walker.open()
    walker.page.wait_for_timeout(1000)
    expect(walker.page.locator(".walk-notice")).to_be_hidden()


def test_several_notices_are_gone_through_one_by_one(walker: Walker) -> None:
    walker.start(joists=3).read(212, 47, 353, 47, 361, 47, 187, 185, 407, 301)
    walker.page.get_by_role("button", name="2 to check").wait_for()
    walker.tap("2 to check")
    walker.shows("Worth a second look: 1 of 2")
    walker.tap("The next one")
    walker.shows("Worth a second look: 2 of 2")
    walker.tap("It is so")
    walker.page.get_by_role("button", name="1 to check").wait_for()


def test_a_run_without_a_tape_line_says_so(walker: Walker) -> None:
    walker.start(joists=3, lines=["near"])
    walker.page.evaluate(
        """async ([id]) => {
          const { openBook } = await import("/app/book/book.js");
          await (await (await openBook()).openSurvey(id)).set("/runs/A/lines", []).saved;
        }""",
        [walker.id],
    )
    walker.page.goto("about:blank")
    walker.page.goto(f"{walker.phone.url}/#/s/{walker.id}/walk/A")
    walker.page.get_by_text("This run has no tape line to walk along").wait_for()


def test_a_step_put_off_is_asked_for_at_the_end(walker: Walker) -> None:
    walker.start(joists=1, lines=["near"]).tap("More").tap("Ask this one later")
    assert walker.asked() == "J1 breadth, its thin side"
    walker.read(47, 180).tap("Ask what was put off")
    assert walker.asked() == "wall to J1 clear gap, near line"
