"""Where this machine is on its network: its address, and its name."""

from __future__ import annotations

import socket

_ELSEWHERE = ("192.0.2.1", 9)
"""An address set aside for documentation (RFC 5737). Nothing is ever sent to it."""


def own_address() -> str | None:
    """Return this machine's address on the network that it reaches others by, None for none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # A datagram socket that is connected sends nothing, but has the address it would use.
            probe.connect(_ELSEWHERE)
        except OSError:
            return None
        address = str(probe.getsockname()[0])
    return None if address in ("0.0.0.0", "127.0.0.1") else address  # noqa: S104 - compared, not bound


def own_name() -> str | None:
    """Return this machine's ``.local`` name in lower case, None where it has none that is sound."""
    first = socket.gethostname().split(".")[0].lower()
    plain = first.replace("-", "")
    sound = plain.isascii() and plain.isalnum() and len(first) < 64 and first != "localhost"
    return f"{first}.local" if sound and not first.startswith("-") else None


def leads_to(name: str, address: str) -> bool:
    """Say whether a name leads to an address, as far as this machine can tell."""
    try:
        found = socket.getaddrinfo(name, None, socket.AF_INET)
    except OSError:
        return False
    return any(one[4][0] == address for one in found)
