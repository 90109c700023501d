"""Running the service: one process answers requests, and one watches over it.

The server was chosen by measurement (``tests/bench/servers.py``): it keeps half-sent connections
in its own loop, hands on what came of a body that was cut, and speaks TLS.
"""

from __future__ import annotations

import contextlib
import errno
import logging
import multiprocessing
import os
import resource
import signal
import socket
import sys
import threading
import time
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

from granian.constants import HTTPModes, Interfaces, SSLProtocols
from granian.http import HTTP1Settings
from granian.log import LogLevels
from granian.server.mp import MPServer
from sqlalchemy.exc import SQLAlchemyError

from baywalk.fieldbook.store import NewerStore, Store, open_engine
from baywalk.http.app import create_app, put_demo
from baywalk.http.bridge import Bridge
from baywalk.http.config import ADDRESS
from baywalk.http.phones import announcement, handout, lan, where
from baywalk.http.phones.folder import Certificates

if TYPE_CHECKING:
    from baywalk.http.config import Config
    from baywalk.http.phones.lan import Wanted
    from baywalk.http.phones.pairing import Pairing

THREADS = 512
"""How many requests are answered at once [-]."""
CONNECTIONS = 2048
"""How many connections may be open at once [-]; all but a few are idle. Where more are asked for,
the rest wait until one of them is closed, at the latest after :data:`HEADER_PATIENCE`."""
SPARE_FILES = 256
"""How many files the service may need open beside its connections [-]."""
BACKLOG = 512
"""How many connections may wait to be taken up [-]."""
HEADER_LIMIT = 32 * 1024
"""The most bytes of a request's headers [bytes]."""
HEADER_PATIENCE = 15_000
"""How long a request's headers may take to come [ms]."""
GRACE = 0.5
"""How long open connections have when the service is told to end [s]."""

CANNOT_START = 2


def serve(config: Config, wanted: Wanted | None = None) -> int:
    """Run the service until told to end; return the exit code.

    On this machine alone; where ``wanted`` says how, for phones on the network as well. The port 0
    takes a free one. Says where it is once it answers. Returns 2, with one line on standard error,
    where it cannot start.
    """
    port = config.port
    try:
        port = lan.free(ADDRESS, port)
        config = replace(config, data=config.data.absolute(), port=port)
        _open_once(config)
        beside = _beside(config, wanted) if wanted else None
    except (OSError, SQLAlchemyError, NewerStore, ValueError, ImportError) as fault:
        print(f"Baywalk cannot start: {_plainly(fault, port)}", file=sys.stderr)
        return CANNOT_START
    if beside is None:
        _server(config).serve(target_loader=partial(_load, config), wrap_loader=False)
        return 0
    beside.start()
    try:
        config = replace(config, phones=True)
        _server(config).serve(target_loader=partial(_load, config), wrap_loader=False)
    finally:
        beside.stop()
    return 0


def _beside(config: Config, wanted: Wanted) -> lan.Beside:
    """Return what is to run beside the service for phones, not yet running."""
    there = replace(config, phones=True, demo=False, lan=lan.place(config, wanted))
    return lan.Beside(there, wanted, serve_phones)


def serve_phones(config: Config) -> None:
    """Serve phones, guarded, in this process, until it is told to end or its parent is gone."""
    _end_with_parent()
    there = config.lan
    if there is None:
        raise ValueError("no place was given to serve phones at")
    certificates = Certificates(config.data)
    authority = certificates.authority()
    secure: dict[str, Any] = {}
    if there.handed and authority:
        given = authority.certificate, there
        threading.Thread(target=handout.run, args=given, daemon=True).start()
        certificate, key = certificates.service
        oldest = SSLProtocols.tls12
        secure = {"ssl_cert": certificate, "ssl_key": key, "ssl_protocol_min": oldest}
    server = _server(config, there.address, there.port, **secure)
    server.serve(target_loader=partial(_load, config), wrap_loader=False)


def _open_once(config: Config) -> None:
    """Open and migrate the store before anyone is answered, so that a fault is told plainly."""
    config.data.mkdir(parents=True, exist_ok=True, mode=0o700)
    store = Store(open_engine(config.data, config.database))
    if config.demo:
        put_demo(store)
    store.close()


def _server(
    config: Config, address: str = ADDRESS, port: int | None = None, **secure: Any
) -> MPServer:
    """Return the server, not yet running."""
    return MPServer(
        "baywalk",
        address=address,
        port=port or config.port,
        interface=Interfaces.ASGINL,
        http=HTTPModes.http1,
        http1_settings=HTTP1Settings(
            header_read_timeout=HEADER_PATIENCE, max_buffer_size=HEADER_LIMIT
        ),
        websockets=False,
        backlog=BACKLOG,
        backpressure=connections(),
        workers_kill_timeout=GRACE,  # type: ignore[arg-type]  # parts of a second do as well
        log_level=LogLevels.error,
        **secure,
    )


def connections() -> int:
    """Return how many connections may be open, having the system allow as many files for them."""
    own, most = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = CONNECTIONS + SPARE_FILES
    if own != resource.RLIM_INFINITY and own < wanted:
        own = wanted if most == resource.RLIM_INFINITY else min(wanted, most)
        resource.setrlimit(resource.RLIMIT_NOFILE, (own, most))
    return min(CONNECTIONS, max(own - SPARE_FILES, 1)) if own > 0 else CONNECTIONS


def _load(config: Config) -> Any:
    """Return the application, in the process that answers."""
    _end_with_parent()
    _keep_log()
    app = create_app(config)
    if not config.guarded:
        pairing = app.extensions["baywalk.pairing"]
        threading.Thread(target=_announce, args=(config, pairing), daemon=True).start()
    return Bridge(app, THREADS)


def _keep_log() -> None:
    """Have what happens with phones told on standard error, with its time."""
    told = logging.StreamHandler(sys.stderr)
    told.setFormatter(logging.Formatter("%(asctime)s %(message)s"))
    log = logging.getLogger("baywalk.phones")
    log.setLevel(logging.INFO)
    log.addHandler(told)


def _end_with_parent() -> None:
    """End this process as soon as the one that watches over it is gone, however it went.

    Otherwise a killed service would live on and hold its port.
    """
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def wait() -> None:
        parent.join()
        os.kill(os.getpid(), signal.SIGKILL)

    threading.Thread(target=wait, daemon=True).start()


def _announce(config: Config, pairing: Pairing) -> None:
    """Say where the service is as soon as it answers there."""
    _wait_for(ADDRESS, config.port)
    print(f"Baywalk is at http://{ADDRESS}:{config.port}/", flush=True)
    there = where.read(config.data) if config.phones else None
    if there:
        _wait_for(there.address, there.port)
        words = announcement.phones(there, pairing, paper=not sys.stdout.isatty())
        print(words, flush=True)


def _wait_for(address: str, port: int) -> None:
    """Wait until there is someone who answers connections, for some seconds at most."""
    for _ in range(200):
        with contextlib.suppress(OSError), socket.create_connection((address, port), 5):
            return
        time.sleep(0.05)


def _plainly(fault: Exception, port: int) -> str:
    """Return why the service cannot start, in one line."""
    if isinstance(fault, OSError) and fault.errno == errno.EADDRINUSE:
        return f"port {port} is in use. Give another with --port."
    # Drivers tell a fault in several lines.
    words = " ".join(str(getattr(fault, "orig", None) or fault).split())
    if isinstance(fault, SQLAlchemyError):
        return f"the database cannot be opened ({words})."
    return words
