"""A page of one version before a service of another, from the project's own history."""

from __future__ import annotations

import io
import shutil
import subprocess
import tarfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
SIDES = {
    "page": ("web/app/sync", "web/app/book"),
    "service": ("service/baywalk/http", "service/baywalk/fieldbook"),
}
"""What makes the two sides of the sync."""


def before(side: str) -> str | None:
    """Return the commit before the last change to one side of the sync, None without a history."""
    try:
        changed = _git("log", "-1", "--format=%H", "--", *SIDES[side]).decode().strip()
        return _git("rev-parse", "--verify", "--quiet", f"{changed}^").decode().strip()
    except (OSError, subprocess.CalledProcessError):
        return None


def mixed(place: Path, *, page: str | None = None, service: str | None = None) -> Path:
    """Put page and service of two commits into a folder and return it; None is what lies here.

    What both obey goes with the service, as it is the service that hands it out.
    """
    for commit, folders in ((page, ("web",)), (service, ("service", "shared", "fixtures"))):
        if commit:
            with tarfile.open(fileobj=io.BytesIO(_git("archive", commit, *folders))) as found:
                found.extractall(place, filter="data")
            continue
        skip = shutil.ignore_patterns("node_modules", "__pycache__")
        for folder in folders:
            shutil.copytree(ROOT / folder, place / folder, ignore=skip)
    return place


def _git(*words: str) -> bytes:
    return subprocess.run(["git", "-C", ROOT, *words], capture_output=True, check=True).stdout
