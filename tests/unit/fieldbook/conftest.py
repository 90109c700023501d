"""The store on each database that it is for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from sqlalchemy import Engine, create_engine, text

from baywalk.fieldbook.store import Store, open_engine

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def engine(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Engine]:
    """Give an open, empty database of either kind."""
    url = None
    if request.param == "postgres":
        url = request.getfixturevalue("postgres_url")
        empty(url)
    engine = open_engine(tmp_path, url)
    yield engine
    engine.dispose()


@pytest.fixture
def store(engine: Engine) -> Store:
    """Give an empty store."""
    return Store(engine)


def empty(url: str) -> None:
    """Take everything out of a PostgreSQL database."""
    engine = create_engine(url)
    with engine.begin() as connection:
        connection.execute(text("DROP SCHEMA public CASCADE"))
        connection.execute(text("CREATE SCHEMA public"))
    engine.dispose()
