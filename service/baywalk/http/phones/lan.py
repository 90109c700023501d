"""The service as phones meet it: a second process beside the first, on the network, over HTTPS.

It runs as long as the first one, and is started anew where the machine's address has changed or the
certificate was renewed.
"""

from __future__ import annotations

import ipaddress
import logging
import multiprocessing
import socket
import threading
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from baywalk.http.config import ADDRESS, PHONE_PORT, Config, Lan
from baywalk.http.phones import address, where
from baywalk.http.phones.authority import fingerprint
from baywalk.http.phones.folder import Certificates

if TYPE_CHECKING:
    from collections.abc import Callable
    from multiprocessing.process import BaseProcess

LOOK_EVERY = 30
"""How often the machine's address and the certificate are looked at [s]."""

_END_PATIENCE = 5
_log = logging.getLogger("baywalk.phones")


@dataclass(frozen=True)
class Wanted:
    """What was asked for on the command line: a port, an address, or the ``url`` of a proxy."""

    port: int = PHONE_PORT
    address: str | None = None
    url: str | None = None


def place(config: Config, wanted: Wanted) -> Lan:
    """Find where phones are to meet the service, and see to its certificates.

    Raises ValueError, in words, where there is no such place, and OSError where a port is taken.
    """
    if wanted.url is not None:
        return Lan(ADDRESS, None, free(ADDRESS, wanted.port), url=_public(wanted.url))
    own = wanted.address or address.own_address()
    if own is None:
        raise ValueError("this machine is on no network. Join one, or give --address.")
    ipaddress.IPv4Address(own)
    name = address.own_name()
    certificates = Certificates(config.data)
    certificates.ensure(own, name)
    made = certificates.authority()
    return Lan(
        own,
        name,
        free(own, wanted.port),
        handed=free(own, config.port),
        fingerprint=fingerprint(made.certificate) if made else None,
        named=bool(name) and address.leads_to(str(name), own),
    )


def free(own: str, port: int) -> int:
    """Return the port to listen on at an address; raise OSError where someone else does."""
    with socket.socket() as probe:
        # Otherwise a port would count as taken for a while after its last connection.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        probe.bind((own, port))
        probe.listen()
        return int(probe.getsockname()[1])


def _public(url: str) -> str:
    """Return the public address of a proxy; raise ValueError for what is none."""
    parts = urlsplit(url)
    plain = parts.scheme == "https" and parts.hostname and parts.path in ("", "/")
    if not plain or parts.query or parts.fragment or parts.username:
        raise ValueError("--behind takes an address such as https://lofts.example.org/")
    return f"https://{parts.netloc.lower()}/"


class Beside:
    """The process beside, kept running and up to date."""

    def __init__(self, config: Config, wanted: Wanted, run: Callable[[Config], None]) -> None:
        """Take what ``run`` is to serve, guarded; ``place`` has found where."""
        self._config, self._wanted, self._run = config, wanted, run
        self._child: BaseProcess | None = None
        self._ended = threading.Event()

    def start(self) -> None:
        """Start it, and keep looking after it."""
        self._begin()
        threading.Thread(target=self._watch, daemon=True).start()

    def stop(self) -> None:
        """End it."""
        self._ended.set()
        self._end()
        where.forget(self._config.data)

    def _begin(self) -> None:
        if self._config.lan:
            where.write(self._config.data, self._config.lan)
        # A fresh process: this one has threads by the time that the other is started anew.
        child = multiprocessing.get_context("spawn").Process(
            target=self._run, args=(replace(self._config, guarded=True),), name="baywalk-phones"
        )
        child.start()
        self._child = child

    def _end(self) -> None:
        child, self._child = self._child, None
        if child is None:
            return
        child.terminate()
        child.join(_END_PATIENCE)
        if child.is_alive():
            child.kill()
            child.join()

    def _watch(self) -> None:
        """Look at what may change, and start anew where it has."""
        while not self._ended.wait(LOOK_EVERY):
            try:
                changed = self._changed()
            except (OSError, ValueError) as fault:
                _log.warning("phones: %s", fault)
                continue
            if changed and not self._ended.is_set():
                self._end()
                self._begin()

    def _changed(self) -> bool:
        """Take up a new address, and renew the certificate where it is time."""
        lan, fallen = self._config.lan, not (self._child and self._child.is_alive())
        if lan is None or lan.url:
            return fallen
        own = self._wanted.address or address.own_address()
        if own is None:
            # Off the network for a while. The old address may well come back.
            return False
        renewed = Certificates(self._config.data).ensure(own, lan.name)
        moved = own != lan.address
        if moved:
            named = bool(lan.name) and address.leads_to(str(lan.name), own)
            self._config = replace(self._config, lan=replace(lan, address=own, named=named))
            _log.warning("phones: this machine is at %s now", own)
        return moved or renewed or fallen
