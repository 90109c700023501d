"""The application in this process, and how much is tried."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings

from tests.faults.doors import Inside
from tests.faults.phone import JSON
from tests.support.sample import head

if TYPE_CHECKING:
    from collections.abc import Iterator

# The same examples at every run: what is found today is found tomorrow. More with a profile.
_ALIKE = {"deadline": None, "suppress_health_check": list(HealthCheck), "database": None}
settings.register_profile("baywalk", max_examples=60, derandomize=True, **_ALIKE)
settings.register_profile("baywalk-long", max_examples=2_000, **_ALIKE)


def pytest_configure(config: pytest.Config) -> None:
    """Take the long profile only where it is asked for by name."""
    settings.load_profile(config.getoption("--hypothesis-profile") or "baywalk")


@pytest.fixture(scope="session")
def door(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Inside]:
    """Give the application, with no server between."""
    door = Inside(tmp_path_factory.mktemp("properties"))
    yield door
    door.close()


@pytest.fixture(scope="session")
def survey(door: Inside) -> str:
    """Give the address of a survey that is there."""
    return new_survey(door)


def new_survey(door: Inside) -> str:
    """Make a survey and return its address."""
    given = head()
    path = f"/api/surveys/{given['id']}"
    assert door.ask("PUT", path, json.dumps(given).encode(), JSON).status == 201
    return path
