"""The block solver: many small blocks give what one block gives, and what plain inversion gives."""

from __future__ import annotations

import random

import numpy as np
import pytest
from scipy.sparse import csr_array, eye_array

from baywalk.reconcile import normal
from baywalk.reconcile.adjust import Adjuster
from baywalk.reconcile.equations import BORDER, Equations
from baywalk.reconcile.normal import HOLD, Normal, lay_out
from tests.lofts import full_loft
from tests.slips import plant
from tests.unit.reconcile.book import computed


def _chain(seed: int, places: int, *, border: int, hubs: int, holes: float = 0.0) -> Equations:
    """Return random equations along a line, with a border and unknowns that many rows touch."""
    draw = random.Random(seed)
    equations = Equations()
    along = [
        equations.unknown(draw.uniform(-5, 5), place)
        for place in range(places)
        for _ in range(draw.randint(0, 3))
    ]
    outside = [equations.unknown(0.0, BORDER) for _ in range(border)]
    wide = draw.sample(along, hubs)
    for i, number in enumerate(along):
        for _ in range(2):
            near = along[max(0, i - 3) : i + 4]
            columns = list(dict.fromkeys([number, *draw.sample(near, min(3, len(near)))]))
            columns += draw.sample(outside, min(1, border))
            columns += [h for h in draw.sample(wide, min(1, hubs)) if h not in columns]
            if draw.random() >= holes:
                slopes = [draw.uniform(-2, 2) for _ in columns]
                equations.row(columns, slopes, draw.gauss(0, 50), draw.uniform(0.5, 2))
    return equations


def _small_blocks(monkeypatch: pytest.MonkeyPatch, size: int) -> None:
    monkeypatch.setattr(normal, "_ONE_BLOCK", 0)
    monkeypatch.setattr(normal, "_BLOCK", size)


def _design(equations: Equations) -> csr_array:
    rows = np.zeros((len(equations.read), len(equations.start)))
    for i, (columns, slopes) in enumerate(
        zip(equations.columns, equations.coefficients, strict=True)
    ):
        rows[i, list(columns)] = slopes
    return csr_array(rows)


@pytest.mark.parametrize("size", [1, 4, 9])
@pytest.mark.parametrize(("border", "hubs"), [(0, 0), (3, 0), (0, 2), (4, 3)])
def test_blocks_agree_with_plain_inversion(
    monkeypatch: pytest.MonkeyPatch, size: int, border: int, hubs: int
) -> None:
    """Steps and variances equal those of numpy's dense inverse of the same normal matrix."""
    equations = _chain(17 * size + border, 40, border=border, hubs=hubs)
    design, sigmas = _design(equations), np.array(equations.sigmas)
    weights = sigmas**-2
    _small_blocks(monkeypatch, size)
    layout = lay_out(equations)
    assert len(layout.bounds) > 3
    assert sorted(layout.order.tolist()) == list(range(len(equations.start)))
    solver = Normal(design, weights, layout)
    dense = design.toarray()
    inverse = np.linalg.inv(
        dense.T @ (weights[:, None] * dense) + HOLD**-2 * np.eye(dense.shape[1])
    )
    right = np.linspace(-1.0, 1.0, dense.shape[1])
    assert solver.solve(right) == pytest.approx(inverse @ right, rel=1e-8, abs=1e-8)
    wanted = np.einsum("ij,jk,ik->i", dense, inverse, dense)
    assert solver.spread(design) == pytest.approx(wanted, rel=1e-8)
    each = eye_array(dense.shape[1], format="csr")
    assert solver.spread(each) == pytest.approx(np.diag(inverse), rel=1e-8)


@pytest.mark.parametrize("seed", range(6))
def test_holes_are_no_trouble_to_blocks(monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    """Unknowns that nothing determines keep a variance near the hold's in any layout."""
    equations = _chain(seed, 30, border=2, hubs=1, holes=0.6)
    one = Adjuster(equations).fit()
    _small_blocks(monkeypatch, 5)
    assert len(lay_out(equations).bounds) > 3
    many = Adjuster(equations).fit()
    each = eye_array(len(equations.start), format="csr")
    known = one.spread(each) < 1e3
    assert many.spread(each) == pytest.approx(one.spread(each), rel=1e-5)
    assert many.values[known] == pytest.approx(one.values[known], abs=1e-4)
    assert many.redundancy == pytest.approx(one.redundancy, abs=1e-6)
    assert many.dof == one.dof


@pytest.mark.parametrize(("size", "most"), [(6, 60), (25, 60), (6, 0)])
@pytest.mark.parametrize("seed", range(3))
def test_a_loft_is_the_same_in_many_blocks(
    monkeypatch: pytest.MonkeyPatch, seed: int, size: int, most: int
) -> None:
    """The as-built of a whole loft does not depend on how its unknowns are cut into blocks.

    Nor on whether what its diagonals touch stands in the border or in the blocks.
    """
    loft = full_loft(seed)
    plant(loft.entries, random.Random(seed))
    survey = loft.survey()
    monkeypatch.setattr(normal, "_MOST_BENT", most)
    whole = computed(survey)["runs"][0]
    _small_blocks(monkeypatch, size)
    cut = computed(survey)["runs"][0]
    assert cut["findings"] == whole["findings"]
    assert cut["fit"] == whole["fit"]
    for a, b in zip(cut["joists"], whole["joists"], strict=True):
        for line in ("near", "far"):
            assert a["at"][line]["x"] == pytest.approx(b["at"][line]["x"], abs=2e-3)
            assert a["at"][line]["sd"] == pytest.approx(b["at"][line]["sd"], abs=2e-3)
    for a, b in zip(cut["readings"], whole["readings"], strict=True):
        assert a["w"] == pytest.approx(b["w"], abs=2e-3)


def test_a_crowded_place_and_an_empty_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Places without unknowns, and one with more than a block holds, are laid out without a gap."""
    equations = Equations()
    for place, count in ((0, 1), (7, 30), (8, 1), (20, 2)):
        for _ in range(count):
            number = equations.unknown(0.0, place)
            equations.row([number], [1.0], 1.0, 1.0)
    _small_blocks(monkeypatch, 4)
    layout = lay_out(equations)
    sizes = np.diff(layout.bounds)
    assert sizes.min() > 0
    assert Adjuster(equations).fit().values == pytest.approx(np.ones(34), abs=1e-6)
