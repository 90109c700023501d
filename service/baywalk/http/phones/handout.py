"""The one plain page on the network: it hands out the authority's certificate, and nothing else.

A phone cannot come over HTTPS before it trusts the authority, so this page comes without. It takes
nothing, knows nothing of surveys, and answers five addresses with bytes made at the start.
"""

from __future__ import annotations

import html
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cryptography.hazmat.primitives.serialization import Encoding
from waitress.server import create_server

from baywalk import places
from baywalk.http.guard import HEADERS
from baywalk.http.phones.authority import fingerprint

if TYPE_CHECKING:
    from collections.abc import Iterable

    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment
    from cryptography.x509 import Certificate

    from baywalk.http.config import Lan

CERTIFICATE = "/baywalk-authority.crt"
"""Where the authority's certificate is."""

_FILES = {
    "/": ("trust.html", "text/html; charset=utf-8"),
    "/trust.css": ("trust.css", "text/css; charset=utf-8"),
    "/ios.svg": ("ios.svg", "image/svg+xml"),
    "/android.svg": ("android.svg", "image/svg+xml"),
}


@dataclass(frozen=True)
class Page:
    """What one address answers: its bytes and their type."""

    content: bytes
    type: str


def pages(authority: Certificate, lan: Lan) -> dict[str, Page]:
    """Return everything that is handed out, by its address."""
    folder = places.web() / "trust"
    given = {
        path: Page((folder / name).read_bytes(), kind) for path, (name, kind) in _FILES.items()
    }
    text = given["/"].content.decode("utf-8")
    text = text.replace("{fingerprint}", html.escape(fingerprint(authority)))
    text = text.replace("{name}", html.escape(_name(authority)))
    text = text.replace("{url}", html.escape(lan.urls()[0]))
    given["/"] = Page(text.encode(), given["/"].type)
    der = authority.public_bytes(Encoding.DER)
    return given | {CERTIFICATE: Page(der, "application/x-x509-ca-cert")}


def application(table: dict[str, Page], host: str) -> WSGIApplication:
    """Return what answers with the pages to those who know it by ``host``."""

    def app(environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        page = table.get(environ["PATH_INFO"])
        if environ["REQUEST_METHOD"] not in ("GET", "HEAD"):
            return _refused(start, "405 Method Not Allowed", [("Allow", "GET, HEAD")])
        if environ.get("HTTP_HOST", "").lower() not in (host, host.removesuffix(":80")):
            return _refused(start, "403 Forbidden", [])
        if page is None:
            return _refused(start, "404 Not Found", [])
        policy = {**HEADERS, "Content-Security-Policy": _POLICY, "Cache-Control": "no-store"}
        length = str(len(page.content))
        start(
            "200 OK",
            [("Content-Type", page.type), ("Content-Length", length), *policy.items()],
        )
        return [page.content] if environ["REQUEST_METHOD"] == "GET" else []

    return app


def run(authority: Certificate, lan: Lan) -> None:
    """Hand out until the process ends."""
    app = application(pages(authority, lan), f"{lan.address}:{lan.handed}")
    server = create_server(
        app,
        host=lan.address,
        port=lan.handed,
        threads=2,
        connection_limit=64,
        channel_timeout=15,
        # It takes no body and short addresses.
        max_request_header_size=16_384,
        max_request_body_size=1_024,
        ident=None,
    )
    server.run()


_POLICY = "; ".join(
    (
        "default-src 'none'",
        "style-src 'self'",
        "img-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)


def _name(authority: Certificate) -> str:
    """Return what the phone calls the authority."""
    return str(authority.subject.rdns[0].rfc4514_string().removeprefix("CN="))


def _refused(start: StartResponse, status: str, headers: list[tuple[str, str]]) -> Iterable[bytes]:
    """Answer with a status alone."""
    start(status, [*headers, ("Content-Length", "0")])
    return []
