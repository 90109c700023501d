"""Small decks: the plan costs what the cheapest of all layouts costs."""

from __future__ import annotations

import copy
import random
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest

from baywalk.planning import Choices, plan
from baywalk.rules import load
from tests.exhaustive import Search, parted
from tests.planned import broken
from tests.planning_lofts import Run, as_built, plain, uneven

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


def _short_of_places(joists: int, first: float, centres: float, width: float) -> Json:
    """Return a loft of two courses whose outer bays are so wide that few places carry a joint."""
    xs = [0.0, *(first + k * centres for k in range(joists)), width]
    run = Run(
        [0.0, 600.0], [[x, x] for x in xs], [0.0, *[47.0] * joists, 0.0], (-300, -300), (900, 900)
    )
    run.nominal = centres
    return as_built([run], random.Random(1))


PARTED = {
    "a course parted once": (_short_of_places(7, 600, 350, 3300), 1),
    "parted twice": (_short_of_places(6, 620, 400, 3300), 2),
}
"""Lofts for boards of 1000, and how often a course must be parted on a joist, sawn end to end."""


@pytest.mark.parametrize(
    ("name", "start"), [*((name, "near") for name in PARTED), ("a course parted once", "far")]
)
def test_butted_ends_are_a_last_resort_and_the_cheapest_of_the_fewest(
    name: str, start: str
) -> None:
    loft, count = PARTED[name]
    made = plan(loft, Choices(seconds=20, board=(1000, 600), start_wall=start))
    assert broken(made, loft) == {}
    (deck,) = made["decks"]
    butted = [joint for joint in deck["joints"] if joint["butted"]]
    assert len(butted) == deck["proof"]["counts"]["butted"] == count
    assert all("joist" in joint["support"] for joint in butted)
    if start == "far":
        return
    # Noggins of a frame are fixed to joists at both ends: a wall takes none (common practice).
    pack = load()
    assert not Search(made, loft, pack, walls=False).possible()
    for fewer in range(1, count):
        assert not any(search.possible() for search in parted(made, loft, pack, fewer))
    least = min(search.cost() for search in parted(made, loft, pack, count))
    assert least == pytest.approx(deck["proof"]["cost"], abs=0.011)
    assert deck["proof"]["cost_lower_bound"] <= least


@cache
def _once_parted() -> tuple[Json, Json]:
    loft, _ = PARTED["a course parted once"]
    return loft, plan(loft, Choices(seconds=1, board=(1000, 600)))


@pytest.mark.parametrize(
    ("field", "value"),
    [("butted", False), ("support", {"frame": "F1"}), ("support", {"cleat": "C1"})],
)
def test_the_checker_sees_butted_ends_off_a_joist_or_not_said(field: str, value: Any) -> None:
    loft, made = copy.deepcopy(_once_parted())
    joint = next(j for j in made["decks"][0]["joints"] if j["butted"])
    joint[field] = value
    assert "joint.butted" in broken(made, loft)


def test_the_checker_sees_a_sawn_end_against_a_tongue() -> None:
    loft, made = copy.deepcopy(_once_parted())
    (deck,) = made["decks"]
    joint = next(j for j in deck["joints"] if j["butted"])
    left = next(p for p in deck["pieces"] if p["id"] == joint["left"])
    right = next(p for p in deck["pieces"] if p["id"] == joint["right"])
    left["right"], right["left"] = "tongue", "cut"
    assert "joint.butted" in broken(made, loft)


def _cheapest(as_built: Json, choices: Choices) -> None:
    made = plan(as_built, choices)
    assert broken(made, as_built) == {}
    proof = made["decks"][0]["proof"]
    assert proof["cost_lower_bound"] <= proof["cost"] + 0.011
    assert Search(made, as_built, load()).cost() == pytest.approx(proof["cost"], abs=0.011)
