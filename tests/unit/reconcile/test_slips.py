"""Several slips in one loft: each is named, and none is taken for a mistake that all share."""

from __future__ import annotations

import json
import math
import random
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from baywalk import fieldbook
from baywalk.reconcile import reconcile
from baywalk.reconcile.plane import Line, Spot
from baywalk.reconcile.rounding import ranked
from tests.lofts import Lines, Loft, full_loft
from tests.slips import plant
from tests.vectors.rig import Rig

if TYPE_CHECKING:
    from collections.abc import Iterator


def _as_built(loft: Loft) -> dict[str, Any]:
    run: dict[str, Any] = reconcile(fieldbook.load_survey(json.dumps(loft.survey())))["runs"][0]
    return run


def _plant(loft: Loft, slips: int, seed: int) -> set[str]:
    draw, planted = random.Random(seed), set[str]()
    while len(planted) < slips:
        planted.add(plant([e for e in loft.entries if e["id"] not in planted], draw)["id"])
    return planted


def test_slips_that_share_nothing_are_no_shared_mistake() -> None:
    """A tape's scale is no reading: it is not set aside to make all lengths agree at nought.

    Of these twenty lofts with four slips each, one mistake was named for all in thirteen once.
    """
    named = 0
    for seed in range(20):
        loft = full_loft(seed, 3)
        loft.entries = [e for e in loft.entries if e["kind"] not in ("breadth", "diagonal")]
        planted = _plant(loft, 4, seed)
        run = _as_built(loft)
        assert run["common_cause"] is None, seed
        named += planted <= {suspect["reading"] for suspect in run["suspects"]}
    assert named >= 12


def test_no_line_runs_backwards() -> None:
    """However far a further line is turned, joists lie along it in their order."""
    first, last = (Spot(x, Line(2, 3, 4)) for x in (0, 1))
    for slope in (-1e7, -500.0, 0.0, 8.0, 3000.0, 1e7):
        values = np.array([400.0, 4000.0, -20.0, 3000.0, slope])
        (ax, ay), (bx, by) = first.at(values), last.at(values)
        assert bx > ax
        assert np.hypot(bx - ax, by - ay) == pytest.approx(3600)
        for column, slopes in zip(last.columns(), last.slopes(values), strict=True):
            step = np.zeros(5)
            step[column] = 1e-2
            moved = np.subtract(last.at(values + step), last.at(values - step)) / 2e-2
            assert moved == pytest.approx(slopes, abs=1e-4)


def _beside(figures: list[float]) -> Iterator[list[float]]:
    for noise in (-2e-6, 0.0, 2e-6):
        yield [figure + noise * (-1) ** i for i, figure in enumerate(figures)]


def test_ranks_are_not_turned_by_the_last_bits() -> None:
    """Figures alike keep their order, wherever a rounding would part them."""
    for figures in _beside([1.00005, 2.0, 1.00005, 1.00005]):
        assert ranked(range(4), figures.__getitem__) == [1, 0, 2, 3]


def test_lines_tied_by_lengths_alone_come_to_rest() -> None:
    """Three lines with no diagonal: sound readings accuse nobody."""
    for seed in range(12):
        assert _as_built(Lines(seed))["suspects"] == [], seed


@pytest.mark.parametrize("seed", [25, 44, 62])
def test_a_line_that_short_diagonals_alone_tie(seed: int) -> None:
    """No length along a joist says where it lies: adjusting finds it from any first guess."""
    draw = random.Random(seed)
    n = draw.randint(3, 8)
    centres = [150.0 + draw.choice([350, 400]) * i for i in range(n)]
    book = Rig(centres, 150.0 + 400 * n, ("near", "far"), breadth=47)
    book.bays("near")
    book.breadths()
    for joist in range(1, n):
        book.read("far", (joist, "centre"), (joist + 1, "centre"))
    apart = draw.choice([1300, 1500, 1800, 2200])
    for _ in range(draw.choice([2, 3])):
        i, j = draw.sample(range(1, n + 1), 2)
        length = math.hypot(book.x(i, "near") - book.x(j, "far"), apart)
        book.diagonal((j, "far"), (i, "near"), round(length))
    assert book.only_run()["suspects"] == []
