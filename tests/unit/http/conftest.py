"""The application without a server, over a store of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from flask.testing import FlaskClient

from baywalk.http import Config, create_app

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from flask import Flask

BASE = "http://127.0.0.1:8765"


class Client(FlaskClient):
    """A client that knows the service by its name."""

    def open(self, *args: Any, **more: Any) -> Any:
        """Ask at the service's own address."""
        return super().open(*args, **{"base_url": BASE, **more})


@pytest.fixture
def app(tmp_path: Path) -> Iterator[Flask]:
    """Give an application over an empty store."""
    app = create_app(Config(tmp_path))
    yield app
    app.extensions["baywalk.store"].close()


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """Give a client of the application."""
    app.test_client_class = Client
    return app.test_client()
