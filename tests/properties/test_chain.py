"""Strange lofts from the field book to the sheets: refused in words, or planned within every rule.

A few at every run; ``python -m tests.bench.chain`` takes as many as one likes.
"""

from __future__ import annotations

import pytest

from tests.chain import walked

SEEDS = range(24)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_strange_loft(seed: int) -> None:
    """Nothing is raised but refusals, no plan breaks a rule, and there are sheets of it."""
    became = walked(seed, 0.5)
    assert not became["plan"].startswith("broken"), became["plan"]
    assert became["sheets"] == "written"
