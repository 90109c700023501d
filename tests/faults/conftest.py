"""The seeds that are played: one, the first N, or a handful."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pytest

HANDFUL = {"inside": 24, "outside": 2, "postgres": 1}
"""How many seeds each world plays where nothing is said [-]."""


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Give a test of a world its seeds."""
    if "world_seed" not in metafunc.fixturenames:
        return
    one, many = metafunc.config.getoption("seed"), metafunc.config.getoption("seeds")
    marker = metafunc.definition.get_closest_marker("world")
    assert marker
    seeds = [one] if one is not None else range(many or HANDFUL[marker.args[0]])
    metafunc.parametrize("world_seed", seeds)
