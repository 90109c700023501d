"""NIST StRD linear regressions through the adjustment's core, with NIST's certified figures."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import scipy.stats

from baywalk.reconcile.adjust import Adjuster, Fit
from baywalk.reconcile.equations import Equations


def _regress(design: np.ndarray, read: np.ndarray) -> Fit:
    equations = Equations()
    for place in range(design.shape[1]):
        equations.unknown(0.0, place)
    for row, value in zip(design, read, strict=True):
        equations.row(list(range(len(row))), row.tolist(), float(value), 1.0)
    return Adjuster(equations).fit()


def test_norris() -> None:
    """Norris: the data and certified block that SciPy's wheel carries among its own test data."""
    path = Path(scipy.stats.__file__).parent / "tests/data/nist_linregress/Norris.dat"
    lines = path.read_text(encoding="ascii").splitlines()
    data = np.array([[float(v) for v in line.split()] for line in lines[60:96]])
    design = np.column_stack([np.ones(len(data)), data[:, 1]])
    fit = _regress(design, data[:, 0])
    certified = (-0.262323073774029, 1.00211681802045)
    assert fit.values == pytest.approx(certified, rel=1e-9)
    assert fit.sigma0 == pytest.approx(0.884796396144373, rel=1e-11)
    assert fit.dof == 34


def test_longley() -> None:
    """Longley: data from statsmodels; certified by NIST StRD. Its columns are nearly dependent.

    Columns are centred and scaled first, as anyone must who forms normal equations: a network of
    lengths in millimetres is of even scale by nature. The coefficients are scaled back.
    """
    from statsmodels.datasets import longley

    data = longley.load_pandas()
    raw = data.exog.to_numpy(dtype=float)
    read = data.endog.to_numpy(dtype=float)
    middle, width = raw.mean(axis=0), raw.std(axis=0)
    design = np.column_stack([np.ones(len(raw)), (raw - middle) / width])
    fit = _regress(design, read)
    slopes = fit.values[1:] / width
    intercept = fit.values[0] - float(slopes @ middle)
    certified = [
        15.0618722713733,
        -0.0358191792925910,
        -2.02022980381683,
        -1.03322686717359,
        -0.0511041056535807,
        1829.15146461355,
    ]
    assert slopes == pytest.approx(certified, rel=1e-5)
    assert intercept == pytest.approx(-3482258.63459582, rel=1e-5)
    assert fit.sigma0 == pytest.approx(304.854073561965, rel=1e-8)
    assert fit.dof == 9
