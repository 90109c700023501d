"""What the service is told when it starts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

if TYPE_CHECKING:
    from pathlib import Path

DEFAULT_PORT = 8765
ADDRESS = "127.0.0.1"
PHONE_PORT = 8766
"""Where phones find the service over HTTPS, unless told otherwise."""

_USUAL = {"http": 80, "https": 443}


@dataclass(frozen=True)
class Lan:
    """Where phones find the service.

    By a public ``url`` where a proxy stands before it; else at ``port`` of ``address`` and of
    ``name``, and then ``handed`` is the port where the authority's certificate is handed out, and
    ``fingerprint`` is that of the authority. ``named`` says that the name is known to lead here.
    """

    address: str
    name: str | None
    port: int
    handed: int | None = None
    fingerprint: str | None = None
    url: str | None = None
    named: bool = False

    def urls(self) -> tuple[str, ...]:
        """Return the addresses of the page, the one to keep to first, each with a slash."""
        if self.url:
            return (self.url,)
        names = ([self.name] if self.name else []) + [self.address]
        # The name outlives a change of address, and with it what a phone stores; if it works.
        names = names if self.named else names[::-1]
        return tuple(f"https://{name}:{self.port}/" for name in names)

    def handout(self) -> str | None:
        """Return where the authority's certificate is handed out, if it is."""
        return f"http://{self.address}:{self.handed}/" if self.handed else None

    def hosts(self) -> frozenset[str]:
        """Return the names that a phone's request may know the service by."""
        return frozenset(urlsplit(url).netloc.lower() for url in self.urls())


@dataclass(frozen=True)
class Config:
    """The folder ``data`` of the photos and of SQLite, another ``database`` URL, and the port.

    With ``phones`` the same service answers twice: on this machine alone, to its owner; and
    ``guarded``, to paired phones, at what ``lan`` says.
    """

    data: Path
    database: str | None = None
    port: int = DEFAULT_PORT
    demo: bool = False
    phones: bool = False
    lan: Lan | None = None
    guarded: bool = False

    @property
    def scheme(self) -> str:
        """Return the scheme of the addresses that the service is asked at."""
        # A proxy speaks plainly to the service, and HTTPS to the phone, whose page says so.
        return "https" if self.guarded else "http"

    def hosts(self) -> frozenset[str]:
        """Return the names that a request may know this service by."""
        if self.guarded and self.lan:
            return self.lan.hosts()
        names = (ADDRESS, "localhost")
        bare = names if self.port == _USUAL[self.scheme] else ()
        return frozenset([f"{name}:{self.port}" for name in names] + list(bare))
