"""The commands about phones: pair one, and show, renew or remove the certificates."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from baywalk.fieldbook.store import Devices, open_engine
from baywalk.http.phones import announcement, where
from baywalk.http.phones.authority import fingerprint
from baywalk.http.phones.folder import Certificates
from baywalk.http.phones.pairing import Pairing

if TYPE_CHECKING:
    from pathlib import Path

REFUSED = 2


def pair(data: Path, database: str | None) -> int:
    """Make an offer and show it; return 2 where phones are not served now."""
    lan = where.read(data.absolute())
    if lan is None:
        return _refuse("phones are not served now. Start: baywalk serve --phone")
    engine = open_engine(data.absolute(), database)
    sys.stdout.write(announcement.invitation(lan, Pairing(Devices(engine))) + "\n")
    engine.dispose()
    return 0


def certificates(what: str, data: Path) -> int:
    """Show, renew or remove the certificates; return 2 where there are none to show."""
    kept = Certificates(data.absolute())
    if what == "show":
        return _show(kept)
    # A service that runs goes on with what it has in memory, and would make half of it anew.
    if where.read(data.absolute()):
        return _refuse("phones are served now. End the service first.")
    there = kept.remove()
    if what == "renew":
        sys.stdout.write("A new authority is made at the next start. Phones must trust it anew.\n")
    else:
        sys.stdout.write("Removed.\n" if there else "There were none.\n")
    sys.stdout.write("On each phone, remove the old certificate too; the settings list it.\n")
    return 0


def _show(kept: Certificates) -> int:
    made = kept.authority()
    if made is None:
        return _refuse("there are no certificates yet. baywalk serve --phone makes them")
    ends = made.certificate.not_valid_after_utc.date().isoformat()
    sys.stdout.write(f"Authority: {made.certificate.subject.rfc4514_string()}, until {ends}\n")
    sys.stdout.write(f"SHA-256: {fingerprint(made.certificate)}\n")
    return 0


def _refuse(why: str) -> int:
    sys.stderr.write(f"baywalk: {why}\n")
    return REFUSED
