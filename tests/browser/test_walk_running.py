"""Running readings: one zero, many faces, and the tape hooked anew where it ends."""

from __future__ import annotations

from tests.browser.walking import Walker, pairs


def test_running_readings_are_one_touch_away_and_start_at_the_wall(walker: Walker) -> None:
    walker.start().tap("Running")
    assert walker.asked() == "wall to J1 left near line"
    walker.read(212, 47, 612, 47)
    across = walker.entries("across")
    assert pairs(across) == [([0, "face"], [1, "left"], 212), ([0, "face"], [2, "left"], 612)]
    assert across[0]["hook"] == across[1]["hook"]
    assert walker.run()["joists"] == 2


def test_the_tape_is_hooked_anew_at_a_joists_face(walker: Walker) -> None:
    walker.start().tap("Running").read(212, 47, 612, 47)
    walker.tap("Hook anew").tap("J2 left face")
    assert walker.asked() == "J2 left to J3 left near line"
    walker.read(401)
    *before, after = walker.entries("across")
    assert (after["from"], after["to"], after["value"]) == ([2, "left"], [3, "left"], 401)
    assert after["hook"] not in {one["hook"] for one in before}


def test_the_tapes_zero_outlives_the_page(walker: Walker) -> None:
    walker.start().tap("Running").read(212, 47)
    walker.tap("Hook anew").tap("J1 right face")
    walker.open()
    assert walker.asked() == "J1 right to J2 left near line"
    walker.read(354).open().read(47)
    assert walker.asked() == "J1 right to J3 left near line"


def test_the_far_line_starts_at_the_end_wall(walker: Walker) -> None:
    walker.start(joists=2).tap("Running").read(212, 47, 612, 47, 850)
    assert walker.asked() == "end wall to J2 right far line"
    walker.read(190, 590, 851)
    far = [one for one in walker.entries("across") if one["line"] == "far"]
    assert pairs(far) == [
        ([3, "face"], [2, "right"], 190),
        ([3, "face"], [1, "right"], 590),
        ([3, "face"], [0, "face"], 851),
    ]
    assert len({one["hook"] for one in far}) == 1
    walker.shows("This run is walked")


def test_who_starts_in_the_middle_is_asked_where_the_zero_is(walker: Walker) -> None:
    walker.start().read(212, 47, 353, 47).tap("Running")
    walker.shows("Where is the tape's zero now?")
    walker.tap("J2 right face")
    assert walker.asked() == "J2 right to J3 left near line"
    walker.tap("Running")
    assert walker.asked() == "J2 to J3 clear gap, near line"


def test_a_running_reading_that_falls_behind_is_asked_about(walker: Walker) -> None:
    walker.start().tap("Running").read(212, 47, 612, 47)
    walker.type(101).tap("Save")
    walker.shows("no further than the last face")
    walker.tap("No, 1010")
    assert walker.entries("across")[-1]["value"] == 1010


def test_running_readings_close_against_a_gap(walker: Walker) -> None:
    walker.start(joists=2).tap("Running").read(212, 47, 612, 47, 850)
    walker.tap("Running").tap("More").tap("Both ends of each bay")
    assert walker.asked() == "wall to J1 clear gap, far line"
    walker.read(211, 300)
    notice = walker.page.locator(".walk-notice")
    notice.wait_for()
    assert "J1–J2 reads 353 on the near line and 300 on the far line" in notice.inner_text()
