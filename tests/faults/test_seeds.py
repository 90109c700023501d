"""Seeded worlds: nothing acknowledged is lost, nothing is doubled, every order is one outcome."""

from __future__ import annotations

import shutil
from contextlib import contextmanager, nullcontext
from typing import TYPE_CHECKING

import pytest

from tests.faults import quick
from tests.faults.check import check
from tests.faults.doors import Inside, Outside
from tests.faults.world import World
from tests.support.postgres import database

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


INSIDE, OUTSIDE = 70, 40
"""How much happens in one world [steps]. Every kill costs a service in a process a second."""
ANEW = 20
"""One world in so many has its as-built worked out in either order, though the book is one [-]."""


@pytest.mark.world("inside")
def test_inside(world_seeds: range, memory: Path) -> None:
    """The application in this process, over SQLite."""
    for seed in world_seeds:
        with named(seed, "test_inside"):
            # One world after the other in one place: the engine of the one serves the next.
            play(seed, Inside(memory / "one"), INSIDE, memory)
        for left in memory.iterdir():
            shutil.rmtree(left)


@pytest.mark.postgres
@pytest.mark.world("inside on postgres")
def test_inside_on_postgres(world_seeds: range, memory: Path, shared_database: str) -> None:
    """The same over PostgreSQL: the worlds of a block are surveys of one service."""
    for seed in world_seeds:
        with named(seed, "test_inside_on_postgres"):
            play(seed, Inside(memory / "one", shared_database), INSIDE, memory)
        for left in memory.iterdir():
            shutil.rmtree(left)


@pytest.mark.world("outside")
def test_outside(world_seeds: range, tmp_path: Path) -> None:
    """The service in a process of its own, over HTTP, killed and started again."""
    (seed,) = world_seeds
    play(seed, Outside(tmp_path / "one"), OUTSIDE, tmp_path)


@pytest.mark.postgres
@pytest.mark.world("outside on postgres")
def test_outside_on_postgres(world_seeds: range, tmp_path: Path, postgres_url: str) -> None:
    """The same over PostgreSQL."""
    (seed,) = world_seeds
    url = database(postgres_url, f"seed_{seed}")
    play(seed, Outside(tmp_path / "one", url), OUTSIDE, tmp_path)


def test_a_seed_does_the_same_twice(tmp_path: Path) -> None:
    """Two runs of a seed are the same to the last answer, with and without a server between."""
    worlds = [
        play(7, door(tmp_path / f"{place}"), OUTSIDE, tmp_path / f"{place}")
        for place, door in enumerate((Inside, Inside, Outside))
    ]
    assert worlds[0].history == worlds[1].history
    assert worlds[0].history == worlds[2].history


@pytest.fixture
def shared_database(postgres_url: str) -> str:
    """Give an empty database for a block of worlds."""
    return database(postgres_url, "block")


@contextmanager
def named(seed: int, test: str) -> Iterator[None]:
    """Say of a failure how it is had again."""
    try:
        yield
    except BaseException as fault:
        fault.add_note(f"Again: pytest tests/faults -k {test} --seed {seed}")
        raise


def play(seed: int, door: Inside | Outside, steps: int, folder: Path) -> World:
    """Play a seed to its end, check it, and return it."""
    world = World(seed, door, steps)
    try:
        with nullcontext() if seed % ANEW else quick.reconciled_anew():
            world.play()
            check(world, folder / "other")
    finally:
        door.close()
    return world
