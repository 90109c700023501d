"""The seeds that are played, one after the other in blocks: one, the first N, or a handful."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

HANDFUL = {"inside": 450, "inside on postgres": 50, "outside": 2, "outside on postgres": 1}
"""How many seeds each world plays where nothing is said [-]."""
BLOCK = {"inside": 25, "inside on postgres": 25}
"""How many seeds one test plays [-], where it is more than one."""
_MEMORY = Path("/dev/shm")  # noqa: S108 - a folder of our own is made in it


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Give a test of a world its seeds."""
    if "world_seeds" not in metafunc.fixturenames:
        return
    one, many = metafunc.config.getoption("seed"), metafunc.config.getoption("seeds")
    marker = metafunc.definition.get_closest_marker("world")
    assert marker
    seeds = range(one, one + 1) if one is not None else range(many or HANDFUL[marker.args[0]])
    size = BLOCK.get(marker.args[0], 1)
    blocks = [seeds[start : start + size] for start in range(0, len(seeds), size)]
    metafunc.parametrize("world_seeds", blocks, ids=[_named(block) for block in blocks])


def _named(block: range) -> str:
    return f"{block[0]}" if len(block) == 1 else f"{block[0]}-{block[-1]}"


@pytest.fixture
def memory(tmp_path: Path) -> Iterator[Path]:
    """Give a folder in the machine's memory, or on the disk where there is no such place.

    Where a service falls by an exception, what it wrote is with the machine whether it was flushed
    or not: a disk would add nothing but the time it takes.
    """
    folder = Path(tempfile.mkdtemp(prefix="bw-", dir=_MEMORY)) if _MEMORY.is_dir() else tmp_path
    yield folder
    shutil.rmtree(folder)
