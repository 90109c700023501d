"""Choices: what is written is read, and what cannot be used is named."""

from __future__ import annotations

import pytest

from baywalk import rules
from baywalk.planning import BadChoice, Choices, plan, read_choices
from baywalk.planning.choices import Board, board_price, weights
from tests.planned import broken
from tests.planning_lofts import random_as_built
from tests.unit.planning.loft import regular

PACK = rules.load()


def test_choices_are_read_by_name() -> None:
    """Every name, once."""
    asked = {
        "deck": ["22"],
        "board": ["1200x600"],
        "had": ["3"],
        "gap": ["12"],
        "start_wall": ["far"],
        "first": ["equal"],
        "use": ["domestic"],
        "stock": ["2400,3000"],
        "roof": ["free"],
        "time": ["2.5"],
        "anyway": ["1"],
        "price.board": ["14.5"],
    }
    assert read_choices(asked) == Choices(
        use="domestic",
        deck=22.0,
        board=(1200.0, 600.0),
        gap=12.0,
        start_wall="far",
        first="equal",
        stock=(2400.0, 3000.0),
        had=3,
        anyway=True,
        seconds=2.5,
        roof="free",
        prices={"board": 14.5},
    )


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("deck", "22mm"),
        ("deck", "-1"),
        ("deck", "nan"),
        ("deck", "1e3"),
        ("board", "2400"),
        ("board", "2400x600x22"),
        ("had", "1.5"),
        ("stock", "2400,,3000"),
        ("anyway", "perhaps"),
        ("price.board", "cheap"),
        ("colour", "red"),
    ],
)
def test_what_is_not_understood_is_named(name: str, text: str) -> None:
    """One line with the name."""
    with pytest.raises(BadChoice) as fault:
        read_choices({name: [text]})
    assert fault.value.field == name
    assert str(fault.value).startswith(f"{name}: ")


def test_a_choice_comes_once() -> None:
    """Two thicknesses are none."""
    with pytest.raises(BadChoice, match="deck: must come once"):
        read_choices({"deck": ["18", "22"]})


@pytest.mark.parametrize(
    ("choices", "name"),
    [
        (Choices(use="dancing"), "use"),
        (Choices(deck=19), "deck"),
        (Choices(board=(100, 600)), "board"),
        (Choices(gap=51), "gap"),
        (Choices(start_wall="left"), "start_wall"),
        (Choices(first="half"), "first"),
        (Choices(stock=(100,)), "stock"),
        (Choices(had=-1), "had"),
        (Choices(seconds=0), "time"),
        (Choices(roof="thatch"), "roof"),
        (Choices(prices={"board": -1}), "price.board"),
        (Choices(prices={"dog": 1}), "price.dog"),
        (Choices(prices={"currency": 1}), "price.currency"),
    ],
)
def test_what_cannot_be_used_is_named(choices: Choices, name: str) -> None:
    """Before anything is planned."""
    with pytest.raises(BadChoice) as fault:
        plan(regular(8), choices)
    assert fault.value.field == name


def test_weights_are_prices_and_minutes() -> None:
    """A frame of 20 minutes at 0.40 and 1.5 m at 2.50: 8.00 + 3.75."""
    board = Board(2400, 600, 22)
    weighed = weights(Choices(), PACK, board)
    assert weighed.frame == pytest.approx(20 * 0.4 + 1.5 * 2.5)
    assert weighed.board == pytest.approx(11.0 * 1.44)
    dearer = weights(Choices(prices={"minute": 1.0}), PACK, board)
    assert dearer.frame == pytest.approx(20 + 3.75)
    assert board_price(Choices(prices={"board": 20}), PACK, board) == 20


def test_own_prices_change_the_plan() -> None:
    """Where frames cost next to nothing, none is avoided; where they cost much, few are left.

    The price of a board is one board's, and the checker reads it so.
    """
    loft = regular(11, 450)
    cheap = plan(loft, Choices(seconds=3, prices={"minutes.frame": 0, "metres.frame": 0}))
    dear = plan(loft, Choices(seconds=3, prices={"minutes.frame": 500, "board": 14.5}))
    assert dear["decks"][0]["proof"]["weights"]["board"] == 14.5
    assert not broken(dear, loft)
    counts = [made["decks"][0]["proof"]["counts"]["frames"] for made in (cheap, dear)]
    assert counts[1] < counts[0]


@pytest.mark.parametrize("had", [3, 12, 60])
def test_boards_there_already_are_used_once(had: int) -> None:
    """Two decks share them: what one takes is gone for the other, the spare ones as well."""
    as_built = random_as_built(7)
    made = plan(as_built, Choices(had=had, seconds=0.3))
    assert len(made["decks"]) == 2
    assert "plan.choices" not in broken(made, as_built)
    boards = [board["had"] for deck in made["decks"] for board in deck["boards"]]
    assert sum(boards) == min(had, len(boards))
    (row,) = [row for row in made["quantities"] if row["kind"] == "board"]
    assert row["net"] + row["spare"] - had <= row["buy"] <= row["net"] + row["spare"] - sum(boards)
