"""What the terminal says of phones when the service has started."""

from __future__ import annotations

from typing import TYPE_CHECKING

from baywalk.http.phones import offer

if TYPE_CHECKING:
    from baywalk.http.config import Lan
    from baywalk.http.phones.pairing import Pairing


def phones(lan: Lan, pairing: Pairing, *, paper: bool) -> str:
    """Return where phones find the service and, unless it goes to ``paper``, how one is paired.

    What is no terminal may be kept, in a file or a journal, and no secret belongs there.
    """
    lines = [f"Phones find it at {url}" for url in lan.urls()]
    if lan.handed:
        lines.append(f"First let the phone trust it, at {lan.handout()}")
        lines.append(f"Its authority's SHA-256 is {lan.fingerprint}")
    if paper:
        return "\n".join([*lines, "To pair a phone, open the page on this machine: Phones."])
    return "\n".join([*lines, invitation(lan, pairing)])


def invitation(lan: Lan, pairing: Pairing) -> str:
    """Make an offer and return it drawn, with its code and how long it is good."""
    told = pairing.offer()
    drawn = offer.drawn(offer.address(lan.urls()[0], told.secret))
    code = f"{told.code[:4]}-{told.code[4:]}"
    return (
        f"Scan this with the phone within five minutes:\n{drawn}"
        f"or type on the phone's page the code {code}"
    )
