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


@pytest.mark.parametrize("name", DECKS)
def test_the_plan_is_the_cheapest_there_is(name: str) -> None:
    as_built: Json = DECKS[name]
    made = plan(as_built, Choices(seconds=5))
    assert broken(made, as_built) == {}
    proof = made["decks"][0]["proof"]
    assert proof["cost_lower_bound"] <= proof["cost"] + 0.011
    assert Search(made, as_built, load()).cost() == pytest.approx(proof["cost"], abs=0.011)
