"""``baywalk`` with the points of ``crash`` in it: ``python -m tests.faults.launch FOLDER serve …``.

A point that is reached kills the service as a power cut would, the process that watches first.
"""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

import pytest

from baywalk.cli import main
from tests.faults.crash import Points, install


def _die() -> None:
    """Kill the process that watches over this one, and this one."""
    os.kill(os.getppid(), signal.SIGKILL)
    os.kill(os.getpid(), signal.SIGKILL)


if __name__ == "__main__":
    # The process that answers is a fork of this one, so the points go with it.
    install(Points(_die, Path(sys.argv[1])), pytest.MonkeyPatch())
    sys.exit(main(sys.argv[2:]))
