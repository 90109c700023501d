"""Stock cutting against trying everything, and its bound."""

from __future__ import annotations

import itertools
import random

import pytest

from baywalk.planning import Refused
from baywalk.planning.support.noggins import Section
from baywalk.planning.support.timber import Item, cut_stock

SIZE = Section(47, 97)
KERF = 3.0


def least(items: list[float], lengths: list[float]) -> float:
    """Return the least stock for a few items, by trying every way to group them."""
    best = float("inf")
    for groups in itertools.product(range(len(items)), repeat=len(items)):
        total = 0.0
        for group in set(groups):
            need = sum(v + KERF for v, g in zip(items, groups, strict=True) if g == group) - KERF
            total += min((v for v in lengths if v >= need - 1e-9), default=float("inf"))
        best = min(best, total)
    return best


@pytest.mark.parametrize("seed", range(12))
def test_small_cuttings_are_best(seed: int) -> None:
    """Five pieces, three lengths of stock."""
    draw = random.Random(seed)
    items = [float(draw.randint(250, 1200)) for _ in range(5)]
    lengths = [1800.0, 2400.0, 3000.0]
    made = cut_stock(SIZE, [Item(str(k), v) for k, v in enumerate(items)], lengths, KERF)
    assert made.bound <= least(items, lengths) + 1e-6
    assert made.bought == pytest.approx(least(items, lengths))


@pytest.mark.parametrize("seed", range(3))
def test_larger_cuttings_hold_together(seed: int) -> None:
    """Everything is cut once, nothing is longer than its stock, the bound is near."""
    draw = random.Random(seed)
    items = [Item(str(k), float(draw.randint(280, 640))) for k in range(120)]
    made = cut_stock(SIZE, items, [2400.0, 3000.0, 4800.0], KERF)
    assert sorted(i.id for s in made.stock for i in s.cuts) == sorted(i.id for i in items)
    for stock in made.stock:
        assert sum(i.length + KERF for i in stock.cuts) - KERF <= stock.length + 1e-9
    assert made.bound <= made.bought <= 1.05 * made.bound


def test_alike_items_are_all_cut() -> None:
    """Two thicknesses of one trimmer have one name."""
    made = cut_stock(SIZE, [Item("O1", 700.0)] * 2, [1800.0], KERF)
    assert [i.id for s in made.stock for i in s.cuts] == ["O1", "O1"]


def test_what_no_stock_holds_is_refused() -> None:
    """With its name and length."""
    with pytest.raises(Refused, match="J4a is 6000 mm long"):
        cut_stock(SIZE, [Item("J4a", 6000.0)], [5400.0], KERF)
