"""Where the certificates lie, and how they are made, renewed and removed there.

Keys can be read by their owner alone, from the moment that their file is there.
"""

from __future__ import annotations

import os
import socket
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from baywalk.http.phones import authority

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from baywalk.http.phones.authority import Pair

_NAMES = ("authority.pem", "authority.key", "service.pem", "service.key")


def _now() -> datetime:
    return datetime.now(UTC)


class Certificates:
    """The certificates in a data folder."""

    def __init__(self, data: Path, clock: Callable[[], datetime] = _now) -> None:
        """Take the data folder, and the clock."""
        self.folder = data / "certificates"
        self._clock = clock

    @property
    def service(self) -> tuple[Path, Path]:
        """Return where the service's certificate and its key are."""
        return self.folder / "service.pem", self.folder / "service.key"

    def authority(self) -> Pair | None:
        """Return the authority, None where there is none that is whole."""
        return self._read("authority")

    def ensure(self, address: str, name: str | None) -> bool:
        """See to it that there are good certificates for an address and name.

        Returns whether the service's own was made anew. Raises ValueError where the authority may
        not certify the address, with what to do.
        """
        made = self._ensure_authority(address)
        now = self._clock()
        known = self._read("service")
        if known and known.issued_by(made) and known.serves(address, name, now):
            return False
        self._write("service", authority.new_service(made, address, name, now))
        return True

    def remove(self) -> bool:
        """Remove every certificate and key; False where there were none."""
        gone = [self.folder / name for name in _NAMES if (self.folder / name).exists()]
        for file in gone:
            file.unlink()
        return bool(gone)

    def _ensure_authority(self, address: str) -> Pair:
        """Return the authority, made now where there is none or it has ended."""
        known = self.authority()
        now = self._clock()
        if known and known.certificate.not_valid_after_utc > now + authority.SERVICE_LASTS:
            if not known.may_certify(address):
                raise ValueError(
                    f"the authority may not certify {address}, which is not an address at home. "
                    "Make a new one: baywalk certificates renew"
                )
            return known
        machine = socket.gethostname().split(".")[0]
        made = authority.new_authority(machine, address, now)
        self._write("authority", made)
        return made

    def _read(self, name: str) -> Pair | None:
        pem, key = self.folder / f"{name}.pem", self.folder / f"{name}.key"
        if not pem.exists() or not key.exists():
            return None
        try:
            return authority.load(pem.read_bytes(), key.read_bytes())
        except (ValueError, TypeError):
            # Half of a pair, after a power cut: it is as good as none.
            return None

    def _write(self, name: str, pair: Pair) -> None:
        self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        _put(self.folder / f"{name}.key", pair.key_pem(), 0o600)
        _put(self.folder / f"{name}.pem", pair.pem(), 0o644)


def _put(file: Path, content: bytes, mode: int) -> None:
    """Write a file whole or not at all; nobody ever sees it with other rights than ``mode``."""
    draft = file.with_suffix(file.suffix + ".draft")
    draft.unlink(missing_ok=True)
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
    with os.fdopen(handle, "wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    draft.replace(file)
