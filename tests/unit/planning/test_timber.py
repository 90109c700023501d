"""Stock cutting against trying everything, and its bound."""

from __future__ import annotations

import itertools
import random

import pytest

from baywalk.planning import Refused
from baywalk.planning.support.noggins import Section
from baywalk.planning.support.timber import Item, Saw, cut_stock

SIZE = Section(47, 97)
SAW = Saw(3.0, 10.0)


def least(items: list[float], lengths: list[float]) -> float:
    """Return the least stock for a few items, by trying every way to group them."""
    best = float("inf")
    for groups in itertools.product(range(len(items)), repeat=len(items)):
        total = 0.0
        for group in set(groups):
            need = 10 + sum(v + 3 for v, g in zip(items, groups, strict=True) if g == group)
            total += min((v for v in lengths if v >= need - 1e-9), default=float("inf"))
        best = min(best, total)
    return best


@pytest.mark.parametrize("seed", range(12))
def test_small_cuttings_are_best(seed: int) -> None:
    """Five pieces, three lengths of stock."""
    draw = random.Random(seed)
    items = [float(draw.randint(250, 1200)) for _ in range(5)]
    lengths = [1800.0, 2400.0, 3000.0]
    made = cut_stock(SIZE, [Item(str(k), v) for k, v in enumerate(items)], lengths, SAW)
    assert made.bound <= least(items, lengths) + 1e-6
    assert made.bought == pytest.approx(least(items, lengths))


@pytest.mark.parametrize("seed", range(3))
def test_larger_cuttings_hold_together(seed: int) -> None:
    """Everything is cut once, nothing is longer than its stock, the bound is near."""
    draw = random.Random(seed)
    items = [Item(str(k), float(draw.randint(280, 640))) for k in range(120)]
    made = cut_stock(SIZE, items, [2400.0, 3000.0, 4800.0], SAW)
    assert sorted(i.id for s in made.stock for i in s.cuts) == sorted(i.id for i in items)
    for stock in made.stock:
        assert 10 + sum(i.length + 3 for i in stock.cuts) <= stock.length + 1e-9
    assert made.bound <= made.bought <= 1.05 * made.bound


def test_alike_items_are_all_cut() -> None:
    """Two thicknesses of one trimmer have one name."""
    made = cut_stock(SIZE, [Item("O1", 700.0)] * 2, [1800.0], SAW)
    assert [i.id for s in made.stock for i in s.cuts] == ["O1", "O1"]


def test_both_ends_of_a_piece_are_sawn() -> None:
    """Of 2400, 10 square one end and 3 part the piece: 2387 is cut from it and 2388 is not.

    Common practice, no source.
    """
    lengths = [2400.0, 2700.0]
    assert cut_stock(SIZE, [Item("N1-1", 2387.0)], lengths, SAW).bought == 2400
    (stock,) = cut_stock(SIZE, [Item("N1-1", 2388.0)], lengths, SAW).stock
    assert (stock.length, stock.offcut(SAW)) == (2700, 2700 - 10 - 2388 - 3)


def test_what_no_stock_holds_is_refused() -> None:
    """With its name and length."""
    say = "J4a is 6000 mm long, and the longest timber is 5400 mm, of which 5387 can be used"
    with pytest.raises(Refused, match=say):
        cut_stock(SIZE, [Item("J4a", 6000.0)], [5400.0], SAW)
