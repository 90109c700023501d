"""What every suite shares."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.support import postgres
from tests.support.process import Service

if TYPE_CHECKING:
    from collections.abc import Iterator


pytest_plugins = ["tests.support.searched"]


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the number by which a run of the faults is repeated."""
    parser.addoption("--seed", type=int, default=None, help="repeat one seed of tests/faults")
    parser.addoption("--seeds", type=int, default=None, help="how many seeds tests/faults runs")
    for side in ("page", "service"):
        words = f"a revision whose {side} tests/browser takes instead of what lies here"
        parser.addoption(f"--{side}-of", default=None, help=words)


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[str]:
    """Give the URL of a private PostgreSQL, or skip where there is none on this machine."""
    if postgres.binaries() is None:
        pytest.skip("PostgreSQL is not installed here (apt-get install postgresql)")
    # A socket's path may have some hundred signs only, and its user must reach it.
    folder = Path(tempfile.mkdtemp(prefix="bw-pg-"))
    folder.chmod(0o755)
    try:
        with postgres.cluster(folder) as url:
            yield url
    finally:
        shutil.rmtree(folder)


@pytest.fixture(scope="session")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """Give a real service that lasts for the whole session."""
    service = Service(tmp_path_factory.mktemp("service")).start()
    yield service
    service.stop()
