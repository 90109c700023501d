"""Which WSGI server to build on, by measurement.

    python tests/bench/servers.py                 # every candidate that is installed
    python tests/bench/servers.py granian         # one of them

Each candidate runs the same two applications, one bare and one Flask, in a process of its own.
Measured: requests a second; the slowest answer while two dozen connections are idle or half sent;
what malformed chunks and huge headers get; whether the application sees what arrived of a body
that was cut; how soon SIGTERM ends it. A service that takes photos over bad links needs them all.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib.util
import os
import signal
import socket
import statistics
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

HOLDERS = 24
THREADS = 64
GRACE = 1
"""How long a server may wait for its open connections when it is told to end [s]."""
SEEN: dict[str, int] = {"bytes": -1}
"""How much of the last body the bare application has read [bytes]."""


def bare(environ: dict[str, Any], start: Callable[..., Any]) -> list[bytes]:
    """Answer GET at once; on anything else read the body piece by piece and count it."""
    if environ["PATH_INFO"] == "/seen":
        body = str(SEEN["bytes"]).encode()
    elif environ["REQUEST_METHOD"] == "GET":
        body = b"ok"
    else:
        body = _count(environ["wsgi.input"], environ.get("CONTENT_LENGTH"))
    start("200 OK", [("Content-Type", "text/plain"), ("Content-Length", str(len(body)))])
    return [body]


def _count(stream: Any, length: str | None) -> bytes:
    """Read a body to its end, noting after each piece how much came."""
    SEEN["bytes"], left = 0, int(length) if length else 1 << 62
    with contextlib.suppress(Exception):
        while left > 0 and (piece := stream.read(min(16384, left))):
            SEEN["bytes"] += len(piece)
            left -= len(piece)
    return b"read"


def flask_app() -> Any:
    """Return the Flask application of the comparison."""
    from flask import Flask

    app = Flask(__name__)
    app.add_url_rule("/", "root", lambda: {"ok": True})
    return app


APPS: dict[str, Callable[[], Any]] = {"bare": lambda: bare, "flask": flask_app}
bare_app = bare
flask_wsgi = flask_app() if importlib.util.find_spec("flask") else None


def _granian(app: str, port: int) -> None:
    from granian.server import Server

    target = f"servers:{'bare_app' if app == 'bare' else 'flask_wsgi'}"
    Server(
        target,
        port=port,
        interface="wsgi",
        blocking_threads=THREADS,
        backpressure=THREADS * 2,
        workers_kill_timeout=GRACE,
    ).serve()


def _gunicorn(app: str, port: int) -> None:
    target = f"servers:{'bare_app' if app == 'bare' else 'flask_wsgi'}"
    options = [
        "-k",
        "gthread",
        "--threads",
        str(THREADS),
        "--graceful-timeout",
        str(GRACE),
        "-b",
        f"127.0.0.1:{port}",
    ]
    command = [sys.executable, "-m", "gunicorn", *options, target]
    os.execv(sys.executable, command)  # noqa: S606 - the very program that is measured


def _cheroot(app: str, port: int) -> None:
    from cheroot.wsgi import Server

    server = Server(("127.0.0.1", port), APPS[app](), numthreads=THREADS, shutdown_timeout=GRACE)
    signal.signal(signal.SIGTERM, lambda *_: setattr(server, "interrupt", SystemExit(0)))
    server.safe_start()


def _uvicorn(app: str, port: int) -> None:
    import uvicorn
    from a2wsgi import WSGIMiddleware

    wrapped = WSGIMiddleware(APPS[app](), workers=THREADS)
    uvicorn.run(
        wrapped, port=port, log_level="warning", lifespan="off", timeout_graceful_shutdown=GRACE
    )


def _hypercorn(app: str, port: int) -> None:
    import asyncio

    from hypercorn.asyncio import serve
    from hypercorn.config import Config

    config = Config()
    config.graceful_timeout = GRACE
    config.bind = [f"127.0.0.1:{port}"]
    stop = asyncio.Event()
    signal.signal(signal.SIGTERM, lambda *_: stop.set())
    asyncio.run(serve(APPS[app](), config, mode="wsgi", shutdown_trigger=stop.wait))


def _gevent(app: str, port: int) -> None:
    from gevent.pywsgi import WSGIServer

    server = WSGIServer(("127.0.0.1", port), APPS[app](), log=None, error_log=None)
    server.stop_timeout = GRACE
    import gevent

    gevent.signal_handler(signal.SIGTERM, server.stop)
    server.serve_forever()


CANDIDATES: dict[str, Callable[[str, int], None]] = {
    "granian": _granian,
    "gunicorn": _gunicorn,
    "cheroot": _cheroot,
    "uvicorn": _uvicorn,
    "hypercorn": _hypercorn,
    "gevent": _gevent,
}


@contextlib.contextmanager
def running(name: str, app: str) -> Iterator[tuple[subprocess.Popen[bytes], int]]:
    """Run a candidate in a process of its own and give its port once it answers."""
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port = probe.getsockname()[1]
    command = [sys.executable, __file__, "--serve", name, app, str(port)]
    here = {**os.environ, "PYTHONPATH": str(Path(__file__).parent)}
    child = subprocess.Popen(
        command, env=here, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        for _ in range(100):
            with contextlib.suppress(OSError):
                ask(port, b"GET / HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
                break
            time.sleep(0.1)
        yield child, port
    finally:
        child.kill()
        child.wait()


def ask(port: int, request: bytes, *, timeout: float = 10) -> str:
    """Send one request on a connection of its own; return the status, or how it went."""
    with socket.create_connection(("127.0.0.1", port), timeout=timeout) as line:
        try:
            line.sendall(request)
            answer = line.recv(65536)
        except TimeoutError:
            return "no answer"
        except OSError:
            return "cut"
    return answer.split(b" ", 2)[1].decode() if answer.startswith(b"HTTP/") else "closed"


def timed(port: int, count: int) -> list[float]:
    """Return how long each of ``count`` requests on one kept connection took [s]."""
    request, times = b"GET / HTTP/1.1\r\nHost: x\r\n\r\n", []
    with socket.create_connection(("127.0.0.1", port), timeout=10) as line:
        line.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        for _ in range(count):
            began, answer = time.perf_counter(), b""
            line.sendall(request)
            while b"ok" not in answer:
                piece = line.recv(65536)
                if not piece:
                    raise TimeoutError("closed without an answer")
                answer += piece
            times.append(time.perf_counter() - began)
    return times


def rate(port: int, lines: int, count: int = 1500) -> float:
    """Return requests a second over ``lines`` kept connections at once."""
    threads = [threading.Thread(target=timed, args=(port, count // lines)) for _ in range(lines)]
    began = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return count / (time.perf_counter() - began)


HALVES = {
    "idle": b"",
    "half headers": b"POST / HTTP/1.1\r\nHost: x\r\nContent-",
    "half body": b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 1000\r\n\r\nhalf",
}


def held(port: int, start: bytes) -> str:
    """Return the median and slowest answer [ms] behind two dozen lines that sent ``start``."""
    with contextlib.ExitStack() as stack:
        for _ in range(HOLDERS):
            line = stack.enter_context(socket.create_connection(("127.0.0.1", port)))
            line.sendall(start)
        time.sleep(0.5)
        try:
            # Each on a new connection, as a phone that wakes up comes.
            times = [timed(port, 1)[0] * 1000 for _ in range(100)]
        except TimeoutError:
            return "starved"
    return f"{statistics.median(times):.1f} / {max(times):.1f} ms"


def cut(port: int) -> str:
    """Return how much of a body cut at 300 kB the application saw [bytes]."""
    with socket.create_connection(("127.0.0.1", port)) as line:
        line.sendall(
            b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 1000000\r\n\r\n" + b"x" * 300_000
        )
        time.sleep(0.5)
    time.sleep(0.5)
    with socket.create_connection(("127.0.0.1", port), timeout=10) as line:
        line.sendall(b"GET /seen HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
        answer = b""
        with contextlib.suppress(OSError):
            while piece := line.recv(65536):
                answer += piece
    return answer.rpartition(b"\r\n\r\n")[2].decode()


def ending(child: subprocess.Popen[bytes], port: int) -> str:
    """Return how long SIGTERM takes [s] with connections open, and the exit code."""
    with contextlib.ExitStack() as stack:
        for start in HALVES.values():
            stack.enter_context(socket.create_connection(("127.0.0.1", port))).sendall(start)
        time.sleep(0.3)
        began = time.perf_counter()
        child.send_signal(signal.SIGTERM)
        try:
            child.wait(timeout=15)
        except subprocess.TimeoutExpired:
            return "not in 15 s"
    return f"{time.perf_counter() - began:.2f} s, code {child.returncode}"


CHUNKED = b"POST / HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\n"


def measure(name: str) -> dict[str, str]:
    """Return every figure of one candidate, in words."""
    figures: dict[str, str] = {}
    for app in APPS:
        with running(name, app) as (_, port):
            timed(port, 200)
            figures[f"{app}, 1 line"] = f"{rate(port, 1):.0f}/s"
            figures[f"{app}, 4 lines"] = f"{rate(port, 4):.0f}/s"
    with running(name, "bare") as (child, port):
        figures |= {f"behind {HOLDERS} {kind}": held(port, half) for kind, half in HALVES.items()}
        figures["malformed chunk"] = ask(port, CHUNKED + b"zz\r\nhello\r\n0\r\n\r\n", timeout=3)
        figures["chunk too long"] = ask(port, CHUNKED + b"ffffffffffffffffff\r\nx", timeout=3)
        for size in (32, 1000):
            header = b"X: " + b"x" * size * 1024 + b"\r\n"
            request = b"GET / HTTP/1.1\r\nHost: x\r\n" + header + b"\r\n"
            figures[f"{size} kB header"] = ask(port, request, timeout=3)
        figures["cut at 300 000"] = cut(port)
        figures["SIGTERM"] = ending(child, port)
    return figures


def main() -> None:
    """Measure the candidates named, or all that are installed, and print a table each."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*", choices=[*CANDIDATES, []], help="candidates")
    parser.add_argument("--serve", nargs=3, metavar=("NAME", "APP", "PORT"))
    given = parser.parse_args()
    if given.serve:
        name, app, port = given.serve
        CANDIDATES[name](app, int(port))
        return
    for name in given.names or CANDIDATES:
        if importlib.util.find_spec(name) is None:
            print(f"{name}: not installed here")
            continue
        print(name)
        for what, figure in measure(name).items():
            print(f"  {what:28} {figure}", flush=True)


if __name__ == "__main__":
    main()
