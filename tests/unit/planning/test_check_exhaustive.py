"""Small decks: the plan costs what the cheapest of all layouts costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from baywalk.planning import Choices, plan
from baywalk.rules import load
from tests.exhaustive import Search
from tests.planned import broken
from tests.planning_lofts import plain, uneven

if TYPE_CHECKING:
    from tests.planning_lofts import Json

DECKS = {
    "even joists, 600": plain(6, 600, 1600),
    "even joists, joints on none of them": plain(9, 450, 1700, first=130, last=310),
    "two courses 1": uneven(1, 8, 450, 900),
    "two courses 2": uneven(2, 8, 450, 900),
    "two courses 3": uneven(3, 8, 450, 900),
    "uneven at 450, 1": uneven(1, 9, 450, 1250),
    "uneven at 450, 2": uneven(2, 9, 450, 1250),
    "uneven at 450, 3": uneven(3, 9, 450, 1250),
    "uneven at 600": uneven(1, 6, 600, 1300),
    "uneven at 450, wider": uneven(1, 7, 450, 1500),
}


def _set_out_wider(as_built: Json) -> Json:
    """Return a loft whose usual centres are such that two bays are longer than 1200."""
    as_built["runs"][0]["nominal"]["centres"] = 603
    return as_built


SHORT = {
    "even joists, boards shorter than two bays": _set_out_wider(plain(5, 596, 1700)),
    "uneven joists, boards shorter than two bays": _set_out_wider(uneven(3, 5, 560, 1250)),
}


@pytest.mark.parametrize("name", SHORT)
def test_boards_shorter_than_two_bays_are_short_unless_on_three_joists(name: str) -> None:
    _cheapest(SHORT[name], Choices(seconds=5, board=(1200, 600)))


@pytest.mark.parametrize("name", DECKS)
def test_the_plan_is_the_cheapest_there_is(name: str) -> None:
    _cheapest(DECKS[name], Choices(seconds=5))


def _cheapest(as_built: Json, choices: Choices) -> None:
    made = plan(as_built, choices)
    assert broken(made, as_built) == {}
    proof = made["decks"][0]["proof"]
    assert proof["cost_lower_bound"] <= proof["cost"] + 0.011
    assert Search(made, as_built, load()).cost() == pytest.approx(proof["cost"], abs=0.011)
