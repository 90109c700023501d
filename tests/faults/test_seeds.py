"""Seeded worlds: nothing acknowledged is lost, nothing is doubled, every order is one outcome."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.faults.check import check
from tests.faults.doors import Inside, Outside
from tests.faults.world import World
from tests.support.postgres import database

if TYPE_CHECKING:
    from pathlib import Path


INSIDE, OUTSIDE = 70, 40
"""How much happens in one world [steps]. Every kill costs a service in a process a second."""


@pytest.mark.world("inside")
def test_inside(world_seed: int, tmp_path: Path) -> None:
    """The application in this process, over SQLite."""
    play(world_seed, Inside(tmp_path / "one"), INSIDE, tmp_path)


@pytest.mark.world("outside")
def test_outside(world_seed: int, tmp_path: Path) -> None:
    """The service in a process of its own, over HTTP, killed and started again."""
    play(world_seed, Outside(tmp_path / "one"), OUTSIDE, tmp_path)


@pytest.mark.postgres
@pytest.mark.world("postgres")
def test_outside_on_postgres(world_seed: int, tmp_path: Path, postgres_url: str) -> None:
    """The same over PostgreSQL."""
    url = database(postgres_url, f"seed_{world_seed}")
    play(world_seed, Outside(tmp_path / "one", url), OUTSIDE, tmp_path)


def test_a_seed_does_the_same_twice(tmp_path: Path) -> None:
    """Two runs of a seed are the same to the last answer, with and without a server between."""
    worlds = [
        play(7, door(tmp_path / f"{place}"), OUTSIDE, tmp_path / f"{place}")
        for place, door in enumerate((Inside, Inside, Outside))
    ]
    assert worlds[0].history == worlds[1].history
    assert worlds[0].history == worlds[2].history


def play(seed: int, door: Inside | Outside, steps: int, folder: Path) -> World:
    """Play a seed to its end, check it, and return it."""
    world = World(seed, door, steps)
    try:
        world.play()
        check(world, folder / "other")
    finally:
        door.close()
    return world
