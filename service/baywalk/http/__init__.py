"""The Flask service: routes, problems, static files.

In the order in which a request meets them: ``server`` (connections), ``bridge`` (how a body comes),
``guard`` (who may ask), ``phones`` (who is let in from the network),
``bodies`` (what is read), ``surveys``, ``photos`` and ``computed`` (the routes), ``problems`` (what
is said when it does not go well), ``files`` (the page).
"""

from baywalk.http.app import create_app
from baywalk.http.config import Config
from baywalk.http.phones.lan import Wanted
from baywalk.http.server import serve

__all__ = ["Config", "Wanted", "create_app", "serve"]
