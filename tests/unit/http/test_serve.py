"""The service as a program: how it starts, where it listens, and how it ends."""

from __future__ import annotations

import json
import signal
import socket
import subprocess
import threading
import time
from pathlib import Path

import pytest

from baywalk import cli, places
from baywalk.http import server
from tests.support import postgres
from tests.support.heard import LAUNCH
from tests.support.process import Service
from tests.support.sample import entry, head


def refused(*more: str) -> str:
    """Return the one line that the service says when it cannot start."""
    ended = subprocess.run([*LAUNCH, "serve", *more], capture_output=True, text=True, timeout=60)
    assert ended.returncode == 2
    assert ended.stdout == ""
    (line,) = ended.stderr.splitlines()
    return line


def test_it_listens_on_this_machine_alone(running: Service) -> None:
    listening = [
        row.split()[1]
        for name in ("tcp", "tcp6")
        for row in Path(f"/proc/net/{name}").read_text().splitlines()[1:]
        if row.split()[3] == "0A" and row.split()[1].endswith(f":{running.port:04X}")
    ]
    assert listening == [f"0100007F:{running.port:04X}"]


def test_a_port_in_use_is_told_in_one_line(running: Service, tmp_path: Path) -> None:
    line = refused("--port", str(running.port), "--data", str(tmp_path))
    assert line == f"Baywalk cannot start: port {running.port} is in use. Give another with --port."


def test_a_folder_that_cannot_be_made_is_told_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    assert "cannot start" in refused("--port", "0", "--data", str(tmp_path / "file" / "data"))


@pytest.mark.parametrize(
    "url", ["nonsense", "postgresql+psycopg://x@127.0.0.1:1/none", "mysql://x"]
)
def test_a_database_that_cannot_be_opened_is_told_in_one_line(tmp_path: Path, url: str) -> None:
    line = refused("--port", "0", "--data", str(tmp_path), "--database", url)
    assert line.startswith("Baywalk cannot start: ")


def test_a_spoilt_database_is_told_and_left_alone(tmp_path: Path) -> None:
    file = tmp_path / "baywalk.sqlite"
    file.write_bytes(b"not a database at all" * 100)
    assert "database" in refused("--port", "0", "--data", str(tmp_path))
    assert file.read_bytes() == b"not a database at all" * 100


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_it_ends_soon_and_well_with_connections_open(tmp_path: Path, how: int) -> None:
    service = Service(tmp_path).start()
    lines = [socket.create_connection(("127.0.0.1", service.port)) for _ in range(4)]
    half = b"PUT /api/photos/%s HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nContent-Length: 99\r\n\r\nx"
    lines[0].sendall(half % (b"e" * 64, service.port))
    time.sleep(0.2)
    began = time.monotonic()
    assert service.stop(how) == 0
    # Two seconds are promised; a busy machine that runs tests gets some more.
    assert time.monotonic() - began < 4
    for line in lines:
        line.close()


def test_what_was_kept_is_there_after_the_power_was_cut(tmp_path: Path) -> None:
    service = Service(tmp_path).start()
    survey, sent = head(), [entry() for _ in range(3)]
    service.ask("PUT", f"/api/surveys/{survey['id']}", json=survey)
    kept = service.ask("POST", f"/api/surveys/{survey['id']}/entries", json={"entries": sent})
    service.kill()
    service.start()
    page = service.ask("GET", f"/api/surveys/{survey['id']}/entries").json()
    assert (page["entries"], page["cursor"]) == (sent, kept.json()["cursor"])
    service.stop()


def test_the_demo_is_put_in_once_and_never_over_what_is_there(tmp_path: Path) -> None:
    demo = json.loads((places.fixtures() / "demo-loft.json").read_text(encoding="utf-8"))
    service = Service(tmp_path, ["--demo"]).start()
    assert service.ask("GET", f"/api/surveys/{demo['id']}").json() == demo
    more = {"entries": [entry()]}
    service.ask("POST", f"/api/surveys/{demo['id']}/entries", json=more)
    service.stop()
    service.start()
    entries = service.ask("GET", f"/api/surveys/{demo['id']}").json()["entries"]
    assert len(entries) == len(demo["entries"]) + 1
    service.stop()


def test_the_data_are_in_the_platforms_own_folder_unless_told(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    opened: list[Path] = []
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))

    def note(config: server.Config) -> None:
        opened.append(config.data)
        raise OSError("enough")

    monkeypatch.setattr(server, "_open_once", note)
    assert cli.main(["serve", "--port", "0"]) == 2
    assert opened == [tmp_path / "baywalk"]


@pytest.mark.postgres
def test_it_runs_on_postgresql(tmp_path: Path, postgres_url: str) -> None:
    url = postgres.database(postgres_url, "serve")
    service = Service(tmp_path, ["--database", url]).start()
    survey, batches = head(), [[entry() for _ in range(20)] for _ in range(4)]
    service.ask("PUT", f"/api/surveys/{survey['id']}", json=survey)
    path = f"/api/surveys/{survey['id']}/entries"
    threads = [
        threading.Thread(target=service.ask, args=("POST", path), kwargs={"json": {"entries": b}})
        for b in batches
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    service.kill()
    service.start()
    page = service.ask("GET", path).json()
    assert sorted(e["id"] for e in page["entries"]) == sorted(e["id"] for b in batches for e in b)
    # This database takes no sign zero, and the other does.
    for method in ("GET", "DELETE"):
        assert service.ask(method, "/api/phones/%00").status == 404
    odd = [entry(kind="nil\0", line="\0"), entry(note="\0")]
    assert len(service.ask("POST", path, json={"entries": odd}).json()["stored"]) == 2
    assert not (tmp_path / "baywalk.sqlite").exists()
    service.stop()


def test_nothing_is_said_but_where_it_is(tmp_path: Path) -> None:
    service = Service(tmp_path).start()
    child = service.child
    assert child
    assert child.stdout
    assert child.stderr
    service.ask("GET", "/api/surveys")
    service.ask("POST", "/api/surveys", b"x")
    child.send_signal(signal.SIGINT)
    assert (child.stdout.read(), child.stderr.read()) == ("", "")
    child.wait(timeout=10)
    child.stdout.close()
    child.stderr.close()
