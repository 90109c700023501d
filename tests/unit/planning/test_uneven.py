"""Lofts that are not as drawn: features without a place, wavy edges, long runs, broad joists."""

from __future__ import annotations

import random
from typing import Any

import pytest

from baywalk import rules
from baywalk.planning import Choices, Refused, failed, plan
from tests.unit.planning.loft import as_built, rectangle, regular

PACK = rules.load()
INSULATION = {
    "id": "33333333-3333-4333-8333-333333333333",
    "feature": "insulation",
    "bay": 2,
    "depth": 200,
}


def _kept(document: dict[str, Any], **choices: Any) -> list[dict[str, Any]]:
    made = plan(document, Choices(**{"seconds": 2, **choices}))
    assert failed(made) == []
    decks: list[dict[str, Any]] = made["decks"]
    return decks


@pytest.mark.parametrize("kind", ["opening", "obstacle", "laid"])
def test_what_cannot_be_placed_is_not_boarded_over(kind: str) -> None:
    """A feature whose corners nothing determines stops the plan, in words that say what to do."""
    feature = rectangle(kind, 1230, 1000, 1970, 1800) | {"polygon": None}
    with pytest.raises(Refused, match=r"cannot be placed yet.*strike it out"):
        plan(regular(8, features=[feature]), Choices())


@pytest.mark.parametrize(("kind", "high"), [("opening", 1000.0), ("obstacle", 1000.5)])
def test_what_has_no_size_is_read_again(kind: str, high: float) -> None:
    """A rectangle without a length is a slip of the hand; one of just the least size is not."""
    with pytest.raises(Refused, match="width and length again"):
        plan(regular(8, features=[rectangle(kind, 1230, 1000, 1970, high)]), Choices())
    least = 1000 + PACK["plan.plausible"][kind]
    _kept(regular(8, features=[rectangle(kind, 1230, 1000, 1570, least)]), roof="free")


def test_a_deck_laid_in_the_middle_is_refused() -> None:
    """It reaches no edge: the boards on either side could not be pushed home."""
    with pytest.raises(Refused, match="neither the near nor the far"):
        plan(regular(8, features=[rectangle("laid", 600, 1000, 2600, 2200)]), Choices())


def test_a_deck_laid_in_another_room_is_passed_over() -> None:
    """It lies beyond the wall."""
    (made,) = _kept(regular(8, features=[rectangle("laid", 600, 4000, 2600, 4600)]))
    assert made["deck"]["continues"] is None


def test_each_part_of_a_long_deck_has_its_own_added_joists() -> None:
    """Eighteen bays of 650 call for a joist in each; none is listed under a deck it is not in."""
    decks = _kept(regular(18, 650, depth=1500), deck=22)
    assert len(decks) == 2
    names = [added["id"] for made in decks for added in made["added_joists"]]
    assert len(names) == len(set(names)) == 16
    assert all(added["length"] > 1000 for made in decks for added in made["added_joists"])


def test_a_movement_gap_takes_the_joist_that_is_broad_enough() -> None:
    """Both decks bear 18 on it and 10 stay open: a joist of 44 is passed over for one of 47."""
    loft = regular(28, depth=1500)
    middle = loft["runs"][0]["joists"][13]
    middle["breadth"]["value"] = 44.0
    x = middle["at"]["near"]["x"]
    decks = _kept(loft)
    assert len(decks) == 2
    strip = decks[0]["deck"]["movement"][0]
    xs = [point[0] for point in strip]
    assert max(xs) - min(xs) == pytest.approx(10)
    assert abs(sum(xs) / len(xs) - x) == pytest.approx(400, abs=1)


def test_where_all_joists_are_thin_the_movement_gap_is() -> None:
    """All of 44: 18 and 18 leave 8 open."""
    decks = _kept(regular(28, depth=1500, breadth=44))
    xs = [point[0] for point in decks[0]["deck"]["movement"][0]]
    assert max(xs) - min(xs) == pytest.approx(8)


@pytest.mark.parametrize(("breadth", "batten"), [(47, 47), (49.6, 47), (75, 75)])
def test_battens_are_as_broad_as_the_joists(breadth: float, batten: float) -> None:
    """Sawn timber of 47 may be up to 50 (EN 336, class T1); a broader joist takes a broader one."""
    (made,) = _kept(regular(8, breadth=breadth, features=[INSULATION]))
    assert {b["breadth"] for b in made["raise"] if b["kind"] == "batten"} == {batten}


def test_added_joists_of_a_raised_deck_have_battens() -> None:
    """Each is named by the bay it stands in and its count there."""
    (made,) = _kept(regular(6, 650, features=[INSULATION]), deck=22)
    battens = [(b["joist"], b.get("added")) for b in made["raise"] if b["kind"] == "batten"]
    assert len(battens) == len(set(battens)) == 9
    assert (1, 1) in battens


@pytest.mark.parametrize("seed", range(6))
def test_wavy_edges_and_leaning_joists(seed: int) -> None:
    """Edges that leave the straight by up to 12 at every joist: every noggin fits its own place."""
    draw = random.Random(seed)
    centres = [450 * k + draw.uniform(-9, 9) for k in range(1, 9)]
    loft = as_built(centres, 450 * 9, 3000, skew=draw.uniform(-40, 40))
    ends = [0.0, *centres, 4050.0]
    near = [[x, draw.uniform(-12, 12)] for x in ends]
    far = [[x, 3000 + draw.uniform(-12, 12)] for x in ends]
    loft["runs"][0]["outline"] = [*near, *reversed(far)]
    _kept(loft)
