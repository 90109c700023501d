"""Joists to be added beside what stands on the floor and under what is laid already, by hand."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from baywalk.planning import Choices, Refused, plan
from tests.planned import broken
from tests.unit.planning.loft import as_built, rectangle

# J2 and J3 stand 640 apart, where the thickest board reaches 600; 593 are clear between them.
CENTRES = [400.0, 1000.0, 1640.0, 2240.0]


def loft(*features: dict[str, Any]) -> dict[str, Any]:
    """Return an invented loft in which one joist must be added between J2 and J3."""
    return as_built(CENTRES, 2640, 3000, features=list(features))


def added(made: dict[str, Any]) -> dict[str, Any]:
    """Return the one joist added."""
    (one,) = made["decks"][0]["added_joists"]
    return one


def test_a_joist_stands_beside_a_post_with_the_gap_that_the_deck_keeps() -> None:
    post = rectangle("obstacle", 1290, 1400, 1340, 1450)
    made = plan(loft(post), Choices(seconds=0.3))
    # Half way it would stand at 1320, in the post. 47 broad and 10 away: at 1256.5 or 1373.5.
    assert added(made)["near"][0] == pytest.approx(1373.5, abs=0.1)
    assert broken(made, loft(post)) == {}


def test_where_no_joist_gets_past_an_obstacle_there_is_no_plan() -> None:
    """Between 1050 and 1590, 27 mm are left beside either joist."""
    chimney = rectangle("obstacle", 1050, 1200, 1590, 1600)
    with pytest.raises(Refused) as caught:
        plan(loft(chimney), Choices(seconds=0.3))
    (reason,) = caught.value.reasons
    assert reason.code == "joist.at_obstacle"
    assert reason.say.startswith("J2–J3: ")
    assert "structural engineer" in reason.say


def test_under_what_stands_on_the_joists_an_added_one_goes_through() -> None:
    """A tank from 950 to 1590 stands on J2, so it stands on an added joist as well."""
    tank = rectangle("obstacle", 950, 1200, 1590, 1600)
    made = plan(loft(tank), Choices(seconds=0.3))
    one = added(made)
    assert (one["near"], one["far"]) == ([1320.0, 0.0], [1320.0, 3000.0])
    assert "see that there is room" in one["why"]
    assert broken(made, loft(tank)) == {}


def test_a_joist_does_not_end_at_an_obstacle_by_the_wall_either() -> None:
    breast = rectangle("obstacle", 1050, 0, 1590, 350)
    with pytest.raises(Refused) as caught:
        plan(loft(breast), Choices(seconds=0.3))
    assert [reason.code for reason in caught.value.reasons] == ["joist.at_obstacle"]


def test_a_joist_goes_on_under_boards_that_are_laid() -> None:
    laid = rectangle("laid", 10, 10, 2630, 610, edge="tongue")
    made = plan(loft(laid), Choices(seconds=0.3))
    one = added(made)
    assert one["near"] == [1320.0, 0.0]
    assert one["length"] == pytest.approx(3000, abs=1)
    assert "lift them to set it" in one["why"]
    assert broken(made, loft(laid)) == {}


def test_the_checker_sees_a_joist_run_into_an_obstacle() -> None:
    made = plan(loft(), Choices(seconds=0.3))
    there = loft(rectangle("obstacle", 1300, 1400, 1340, 1450))
    assert "plan.joists" in broken(made, there)
    assert "plan.joists" not in broken(made, loft())


def test_the_checker_sees_a_joist_that_ends_at_what_is_laid() -> None:
    laid = rectangle("laid", 10, 10, 2630, 610, edge="tongue")
    made = copy.deepcopy(plan(loft(laid), Choices(seconds=0.3)))
    one = added(made)
    one["near"], one["length"] = [1320.0, 600.0], 2400.0
    assert "laid already" in broken(made, loft(laid))["plan.joists"]
