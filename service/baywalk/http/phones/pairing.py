"""Letting phones in: an offer made on this machine, taken once by a phone, ends in a session.

There is one offer at a time, alive for minutes. It can be taken by its secret, which a QR code
carries, or by its code, which a person types; after five wrong codes the code is dead.
"""

from __future__ import annotations

import logging
import re
import time
import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING

from baywalk.fieldbook.store import Device, Offer
from baywalk.http.phones import tokens
from baywalk.http.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Callable

    from baywalk.fieldbook.store import Devices

OFFER_LASTS = 5 * 60
"""How long an offer to pair is good [s]."""
TRIES = 5
"""How many wrong codes an offer's code outlives, less one [-]."""
IDLE = 31 * 24 * 3600
"""How long a phone may stay away before it is asked to pair again [s]: a working month."""
LONGEST = 93 * 24 * 3600
"""How long a pairing lasts at most [s]."""

_SEEN_EVERY = 60
_COOKIE = re.compile(r"([0-9a-f-]{36})\.([A-Za-z0-9_-]{22})", re.ASCII)
_log = logging.getLogger("baywalk.phones")


@dataclass(frozen=True)
class Told:
    """What is told of an offer, once: its secret, its code, and when it ends [s]."""

    secret: str
    code: str
    ends: int


class Pairing:
    """The pairing of one service."""

    def __init__(self, devices: Devices, clock: Callable[[], float] = time.time) -> None:
        """Take what the store knows of phones, and the clock [s]."""
        self.devices = devices
        self._clock = clock

    def offer(self, survey: str | None = None) -> Told:
        """Make an offer, for one survey alone where it is given; every other offer ends."""
        now = int(self._clock())
        secret, code, salt = tokens.new_secret(), tokens.new_code(), tokens.new_salt()
        hashes = tokens.hash_secret(secret), salt, tokens.hash_code(code, salt)
        self.devices.offer(Offer(str(uuid.uuid4()), *hashes, survey, now))
        self.devices.forget(now - LONGEST - IDLE)
        return Told(secret, code, now + OFFER_LASTS)

    def by_secret(self, secret: str, name: str) -> tuple[Device, str]:
        """Pair a phone by an offer's secret; return it and its token."""
        told = tokens.hash_secret(secret)
        return self._pair(lambda one: tokens.equal(one.secret, told), name, counts=False)

    def by_code(self, code: str, name: str) -> tuple[Device, str]:
        """Pair a phone by an offer's code; return it and its token."""
        plain = tokens.plain_code(code)

        def fits(one: Offer) -> bool:
            # A dead code is not even compared, so guessing on costs nothing and gains nothing.
            if one.tries >= TRIES:
                return False
            return tokens.equal(one.code, tokens.hash_code(plain, one.salt))

        return self._pair(fits, name, counts=True)

    def _pair(
        self, fits: Callable[[Offer], bool], name: str, *, counts: bool
    ) -> tuple[Device, str]:
        """Take the offer that fits; raise the one problem for every reason that none does."""
        now = int(self._clock())
        token = tokens.new_secret()
        device = Device(str(uuid.uuid4()), name, tokens.hash_secret(token), None, now, now)

        def judge(offers: list[Offer]) -> Offer | None:
            alive = [one for one in offers if not one.used and now < one.made + OFFER_LASTS]
            return next((one for one in alive if fits(one)), None)

        kept = self.devices.pair(judge, device, counts=counts)
        if kept is None:
            _log.warning("a try to pair was refused")
            raise Problem("pairing-refused")
        _log.info("paired: %r, %s", kept.name, kept.id)
        return kept, token

    def who(self, cookie: str | None) -> Device:
        """Return the phone that a cookie is of; raise the problem where it is of none."""
        match = _COOKIE.fullmatch(cookie or "")
        device = self.devices.device(match[1]) if match else None
        if not match or not device or not tokens.equal(device.token, tokens.hash_secret(match[2])):
            raise Problem("not-paired")
        if device.out:
            raise Problem("put-out")
        now = int(self._clock())
        if now >= self.ends(device):
            raise Problem("session-ended")
        if now - device.seen >= _SEEN_EVERY:
            self.devices.see(device.id, now)
        return device

    def ends(self, device: Device) -> int:
        """Return when a phone's session ends [s] unless it is seen before."""
        return min(device.seen + IDLE, device.paired + LONGEST)

    def put_out(self, device: str) -> bool:
        """Put a phone out; False where there is none of this id."""
        done = self.devices.put_out(device)
        if done:
            _log.info("put out: %s", device)
        return done
