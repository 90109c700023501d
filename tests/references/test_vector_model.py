"""The array form of the plain model is the plain model, and what scipy makes of it is ours."""

from __future__ import annotations

import numpy as np
import pytest

from tests.lofts import full_loft
from tests.references.plain_model import PlainModel
from tests.references.vector_model import VectorModel


@pytest.mark.parametrize("seed", range(4))
def test_same_residuals_and_derivatives(seed: int) -> None:
    """Residuals equal the loop's; exact derivatives equal central differences."""
    survey = full_loft(seed, 5).survey()
    plain, vector = PlainModel(survey), VectorModel(survey)
    at = vector.start() + np.random.default_rng(seed).normal(size=vector.size)
    assert vector.residuals(at) == pytest.approx(plain.residuals(at), abs=1e-9)
    step = 1e-4
    ahead = [vector.residuals(at + step * unit) for unit in np.eye(vector.size)]
    behind = [vector.residuals(at - step * unit) for unit in np.eye(vector.size)]
    slopes = (np.array(ahead) - np.array(behind)).T / (2 * step)
    assert vector.jacobian(at) == pytest.approx(slopes, abs=1e-6)


def test_same_solution_however_it_is_found() -> None:
    """Loop, arrays and exact derivatives come to the same unknowns."""
    survey = full_loft(3, 6).survey()
    plain, vector = PlainModel(survey).solve(), VectorModel(survey)
    assert vector.solve().x == pytest.approx(plain.x, abs=1e-3)
    assert vector.solve(exact=True).x == pytest.approx(plain.x, abs=1e-3)
