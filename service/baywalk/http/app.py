"""The Flask application, put together."""

from __future__ import annotations

import json
import time
from typing import TYPE_CHECKING

from flask import Flask

from baywalk import places
from baywalk.fieldbook import load_survey
from baywalk.fieldbook.photos import MAX_BYTES, Photos
from baywalk.fieldbook.store import Devices, Store, open_engine
from baywalk.http import computed, files, guard, openapi, photos, problems, sheets, surveys
from baywalk.http.phones import routes
from baywalk.http.phones.pairing import Pairing

if TYPE_CHECKING:
    from collections.abc import Callable

    from baywalk.http.config import Config


def create_app(config: Config, clock: Callable[[], float] = time.time) -> Flask:
    """Return the service over the store that ``config`` names, opened and brought up to date.

    ``clock`` gives the time [s] by which pairings end.

    Raises ``NewerStore`` and the errors of the database and the file system.
    """
    config.data.mkdir(parents=True, exist_ok=True, mode=0o700)
    engine = open_engine(config.data, config.database)
    store, pairing = Store(engine), Pairing(Devices(engine), clock)
    if config.demo:
        put_demo(store)
    app = Flask("baywalk", static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = MAX_BYTES
    # A path with two slashes is another path, and is not redirected to one.
    app.url_map.merge_slashes = False
    guard.install(app, config, pairing)
    problems.install(app)
    app.register_blueprint(surveys.blueprint(store))
    worked, kept = computed.Computed(store), Photos(config.data / "photos", store)
    app.register_blueprint(computed.blueprint(worked))
    app.register_blueprint(sheets.blueprint(store, worked, kept))
    app.register_blueprint(routes.blueprint(pairing, store, config))
    app.register_blueprint(photos.blueprint(kept))
    openapi.install(app)
    files.install(app)
    app.extensions |= {
        "baywalk.store": store,
        "baywalk.pairing": pairing,
        "baywalk.photos": config.data / "photos",
    }
    return app


def put_demo(store: Store) -> None:
    """Put the invented demo loft into a store, if it is not there."""
    text = (places.fixtures() / "demo-loft.json").read_text(encoding="utf-8")
    survey = load_survey(text)
    if store.stamp(survey.id) is None:
        store.put_head({k: v for k, v in json.loads(text).items() if k != "entries"})
        store.add(survey.id, survey.entries)
