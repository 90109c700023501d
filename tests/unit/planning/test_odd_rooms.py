"""Rooms that are not plain: leaning joists at a wall, steps, long decks, hatches beside a wall."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest

from baywalk import rules
from baywalk.planning import Choices, Refused, failed, plan
from baywalk.planning.support.builder import Builder
from tests.unit.planning.loft import as_built, rectangle, regular

PACK = rules.load()


def decks(document: dict[str, Any], **choices: Any) -> list[dict[str, Any]]:
    """Return the decks of a plan, which must keep all rules."""
    made = plan(document, Choices(**{"seconds": 1, **choices}))
    assert failed(made) == []
    found: list[dict[str, Any]] = made["decks"]
    return found


def test_an_edge_that_a_leaning_joist_leaves_has_noggins_to_where_it_comes_near() -> None:
    """The last joist stands 34 mm from the wall at the near edge and 190 mm at the far one."""
    loft = as_built([100, 500, 900, 1300, 1700], 1757.5, 3000)
    last = loft["runs"][0]["joists"][-1]
    last["at"]["far"] = {"x": 1544.0, "sd": 1.0, "point": [1544.0, 3000.0]}
    (deck,) = decks(loft)
    ys = sorted(n["y"] for n in deck["noggins"] if n["bay"] == 5 and n["use"] == "perimeter")
    assert len(ys) > 2
    assert max(b - a for a, b in pairwise(ys)) <= PACK["noggin.edge.apart"]


def test_a_room_with_a_step_has_no_narrow_course_where_it_has_no_deck() -> None:
    loft = regular(12)
    loft["runs"][0]["outline"] = [
        [0, 0],
        [4800, 0],
        [4800, 1800],
        [2450, 1800],
        [2450, 3000],
        [0, 3000],
    ]
    (deck,) = decks(loft)
    assert min(course["narrowest"] for course in deck["courses"]) >= PACK["board.rip.least"]


def test_what_goes_on_from_a_laid_deck_is_parted_where_it_grows_too_long() -> None:
    """12 m along the joists, the first 600 laid: courses before and after a movement gap."""
    laid = rectangle("laid", 0, 0, 1600, 600)
    loft = regular(4, depth=12000, features=[laid])
    for joist in loft["runs"][0]["joists"]:
        joist["span"] = joist["ends"] = None
    found = decks(loft)
    assert [bool(deck["deck"]["continues"]) for deck in found] == [True, False]
    for deck in found:
        ys = [y for _, y in deck["deck"]["outline"]]
        assert max(ys) - min(ys) <= PACK["deck.movement.run"]
    (gap,) = found[0]["deck"]["movement"]
    assert (min(y for _, y in gap) - 600) % 600 == pytest.approx(0)


def test_a_long_deck_on_thin_joists_is_not_parted() -> None:
    with pytest.raises(Refused) as caught:
        plan(regular(30, depth=1000, breadth=35))
    assert [reason.code for reason in caught.value.reasons] == ["deck.not_parted"]


def test_a_long_deck_is_parted_once_more_where_no_joist_stands_half_way() -> None:
    """19.9 m in two parts of 10 m at most leaves no joist in the middle: so it has three."""
    centres = [300 + 600 * k for k in range(16)] + [10400 + 600 * k for k in range(16)]
    assert len(decks(as_built(centres, 19900, 900))) == 3


def test_no_noggin_passes_through_a_hatch_beside_a_wall() -> None:
    """The deck stands far beyond the last joist: noggins along the wall, but none in the hatch."""
    hatch = rectangle("opening", 2300, 1200, 2850, 1750)
    loft = as_built([400 * k for k in range(1, 6)], 2900, 3000, features=[hatch])
    (deck,) = decks(loft)
    beside = [n["y"] for n in deck["noggins"] if n["bay"] == 5 and not n.get("along")]
    assert beside
    assert not [y for y in beside if 1230 < y < 1720]


@pytest.mark.parametrize("side", ["left", "right"])
def test_no_cleat_stands_in_an_opening(side: str) -> None:
    """Joists doubled away from it leave their side towards it free, but not for a cleat."""
    x0, x1 = (1230, 1970) if side == "left" else (830, 1570)
    hatch = rectangle("opening", x0, 900, x1, 1900)
    (deck,) = decks(regular(8, features=[hatch]), board=(1200, 600))
    for cleat in deck["cleats"]:
        centre = 400 * cleat["joist"]
        out = 1 if cleat["side"] == "right" else -1
        low, high = sorted((centre + out * 23.5, centre + out * 70.5))
        near, far = (cleat["y"] + d * cleat["length"] / 2 for d in (-1, 1))
        assert high <= x0 + 1 or x1 - 1 <= low or far <= 901 or near >= 1899


def test_every_noggin_set_for_a_frame_names_it() -> None:
    (deck,) = decks(regular(9, spacing=530), board=(1200, 600))
    frames = {frame["id"]: frame["noggins"] for frame in deck["frames"]}
    mine = [n for n in deck["noggins"] if n["use"] == "frame"]
    assert mine
    assert all(n["id"] in frames[n["frame"]] for n in mine)


def test_noggins_under_a_short_piece_stand_in_no_wall() -> None:
    """Two joists 590 apart: every piece is short, and its outer edge is the deck's own."""
    loft = as_built([105, 695], 800, 925)
    (deck,) = decks(loft, board=(1200, 600))
    under = [n for n in deck["noggins"] if set(n["serves"]) & {p["id"] for p in deck["pieces"]}]
    assert under
    for noggin in deck["noggins"]:
        if not noggin.get("along"):
            half = noggin["section"]["breadth"] / 2
            assert half - 0.1 <= noggin["y"] <= 925 - half + 0.1


def test_a_frame_that_finds_no_room_is_refused_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Builder, "under", lambda *_: None)
    with pytest.raises(Refused, match="needs a noggin frame") as caught:
        plan(regular(9, spacing=530), Choices(seconds=1, board=(1200, 600)))
    assert [reason.code for reason in caught.value.reasons] == ["frame.no_room"]
