"""Who may ask, and what every answer carries.

A page from elsewhere, open in the same browser, must not read or write surveys, and a name server
must not be able to pass this service off as its own. So names and origins are on a list. From the
network, only paired phones are answered.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Flask, Response, request

from baywalk.http.phones import routes
from baywalk.http.problems import Problem

if TYPE_CHECKING:
    from baywalk.http.config import Config
    from baywalk.http.phones.pairing import Pairing

HEADERS = {
    "Content-Security-Policy": "; ".join(
        (
            "default-src 'none'",
            "script-src 'self'",
            "style-src 'self'",
            "img-src 'self' blob:",
            "connect-src 'self'",
            "manifest-src 'self'",
            "worker-src 'self'",
            "base-uri 'none'",
            "form-action 'self'",
            "frame-ancestors 'none'",
        )
    ),
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(), microphone=(), payment=(), usb=()",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}
"""What every answer carries, whatever it answers."""

# The worker gives each file of the pack the headers that the pack came with.
_ACTS = ("text/html", "text/javascript", "application/octet-stream")
_POLICY = "Content-Security-Policy"
_NOTHING = "default-src 'none'; frame-ancestors 'none'"
"""The policy of answers that are only read: what is no page and no script may load nothing."""

API = "/api/"
PAIRING = "/api/pairing"
"""The one route that a phone may ask before it is paired."""
OWNERS = "/api/phones"
"""What only the machine itself may ask, with all below it."""

_OWN = ("same-origin", "none")


def install(app: Flask, config: Config, pairing: Pairing) -> None:
    """Let only those through that know the service by its name and, if guarded, are paired."""
    hosts = config.hosts()

    def check() -> None:
        _check_host(hosts)
        _check_origin(config.scheme)
        _check_site()
        _check_paired(config, pairing)

    def finish(response: Response) -> Response:
        if config.lan and config.lan.url and config.guarded:
            # On a name of one's own alone. A machine's name at home also serves plain pages.
            response.headers["Strict-Transport-Security"] = "max-age=31536000"
        return _finish(response)

    app.before_request(check)
    app.after_request(finish)


def _check_host(hosts: frozenset[str]) -> None:
    """Refuse a request that goes to another name than the service's own."""
    # What a proxy says of the name is not asked: anyone can write that header.
    if request.environ.get("HTTP_HOST", "").lower() not in hosts:
        raise Problem("foreign-host")


def _check_origin(scheme: str) -> None:
    """Refuse a request that a page of another origin made."""
    origin = request.headers.get("Origin")
    own = f"{scheme}://{request.environ['HTTP_HOST']}"
    if origin is not None and origin.lower() != own.lower():
        raise Problem("foreign-origin")


def _check_site() -> None:
    """Refuse what a page of another site asks for. A link from there may open the page itself."""
    site = request.headers.get("Sec-Fetch-Site")
    opens = request.method == "GET" and request.headers.get("Sec-Fetch-Mode") == "navigate"
    if site is None or site in _OWN or (opens and not request.path.startswith(API)):
        return
    raise Problem("foreign-site")


def _check_paired(config: Config, pairing: Pairing) -> None:
    """Refuse a phone that is not paired, and one that asks for what is not its own."""
    if not config.guarded or not request.path.startswith(API) or request.path == PAIRING:
        return routes.limit(None)
    device = pairing.who(request.cookies.get(routes.COOKIE))
    if request.path.startswith(OWNERS):
        raise Problem("owner-only")
    return routes.limit(device)


def _finish(response: Response) -> Response:
    """Add what every answer carries; an answer of the API is kept by nobody on the way."""
    if response.mimetype not in _ACTS:
        response.headers.setdefault(_POLICY, _NOTHING)
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if request.path.startswith(API):
        response.headers["Cache-Control"] = "no-store"
    return response
