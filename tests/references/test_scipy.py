"""The whole reconciling against scipy.optimize.least_squares on the same model."""

from __future__ import annotations

import json

import numpy as np
import pytest

from baywalk import fieldbook
from baywalk.reconcile import reconcile
from tests.lofts import random_loft
from tests.references.plain_model import PlainModel


@pytest.mark.parametrize("seed", range(6))
def test_positions_uncertainties_and_residuals(seed: int) -> None:
    """Positions, breadths, points, residuals and standard deviations agree with scipy's."""
    survey = random_loft(seed)
    model = PlainModel(survey)
    solution = model.solve()
    cov = np.linalg.inv(solution.jac.T @ solution.jac)
    run = reconcile(fieldbook.load_survey(json.dumps(survey)))["runs"][0]
    n = model.n
    for joist in run["joists"]:
        j = joist["index"]
        for shift, line in ((0, "near"), (n + 1, "far")):
            at = joist["at"][line]
            assert at["x"] == pytest.approx(solution.x[shift + j - 1], abs=2e-3)
            assert at["sd"] == pytest.approx(np.sqrt(cov[shift + j - 1, shift + j - 1]), rel=2e-3)
            assert at["point"] == pytest.approx(model._point(solution.x, j, line), abs=5e-3)
        assert joist["breadth"]["value"] == pytest.approx(solution.x[2 * n + 1 + j], abs=2e-3)
    wall = run["walls"]["end"]["at"]["far"]["x"]
    assert wall == pytest.approx(solution.x[2 * n + 1], abs=2e-3)
    reads = {e["id"]: e for e in model.readings}
    for reading in run["readings"]:
        length, sigma = model.computed(solution.x, reads[reading["id"]])
        assert reading["computed"] == pytest.approx(length, abs=3e-3)
        assert reading["sd"] == pytest.approx(sigma, abs=1e-4)
    assert run["fit"]["dof"] == len(model.readings) + 1 - model.size
    sigma0 = np.sqrt(2 * solution.cost / run["fit"]["dof"])
    assert run["fit"]["sigma0"] == pytest.approx(sigma0, rel=1e-4)
