"""A private PostgreSQL cluster on a socket in a folder of its own, where Debian's binaries are."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import create_engine, text

if TYPE_CHECKING:
    from collections.abc import Iterator

_HOME = Path("/usr/lib/postgresql")


def binaries() -> Path | None:
    """Return the folder of the newest PostgreSQL's programs, or None."""
    found = sorted(_HOME.glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    return found[-1].parent if found else None


@contextmanager
def cluster(folder: Path) -> Iterator[str]:
    """Run a cluster in a folder and give the URL of its database."""
    programs = binaries()
    assert programs
    _own(folder)
    data, quiet = folder / "data", {"check": True, "stdout": subprocess.DEVNULL}
    start = [*_as_user(), str(programs / "initdb"), "-D", str(data), "-A", "trust", "-U", "baywalk"]
    subprocess.run([*start, "-E", "UTF8", "--no-sync"], **quiet, stderr=subprocess.DEVNULL)
    control = [*_as_user(), str(programs / "pg_ctl"), "-D", str(data), "-w"]
    # What is killed here is the service, never the database or the machine: nothing is flushed.
    flushing = ("fsync", "synchronous_commit", "full_page_writes")
    quick = " ".join(f"-c {name}=off" for name in flushing)
    options = f"-c listen_addresses='' {quick} -k {folder}"
    log = folder / "log"
    subprocess.run([*control, "-o", options, "-l", str(log), "start"], **quiet)
    try:
        yield f"postgresql+psycopg://baywalk@/postgres?host={folder}"
    finally:
        subprocess.run([*control, "-m", "immediate", "stop"], **quiet)


def database(url: str, name: str) -> str:
    """Make an empty database in a cluster and return its URL."""
    engine = create_engine(url, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)"))
        connection.execute(text(f"CREATE DATABASE {name}"))
    engine.dispose()
    return url.replace("/postgres?", f"/{name}?")


def _as_user() -> list[str]:
    """Return what runs a command as another user: PostgreSQL will not run as root."""
    if os.geteuid() != 0:
        return []
    runuser = shutil.which("runuser")
    assert runuser, "root needs runuser to start PostgreSQL"
    return [runuser, "-u", "nobody", "--"]


def _own(folder: Path) -> None:
    """Give the folder to the user that PostgreSQL will run as, and let them reach it."""
    if os.geteuid() != 0:
        return
    nobody = pwd.getpwnam("nobody")
    os.chown(folder, nobody.pw_uid, nobody.pw_gid)
