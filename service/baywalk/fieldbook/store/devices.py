"""What the store knows of paired phones: offers to pair, and the phones themselves.

No secret is kept, only what it hashes to. What a secret is, how long it lasts and what it opens is
not decided here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import delete, insert, select, update

from baywalk.fieldbook.store import tables
from baywalk.fieldbook.store.engine import WRITES

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy import Connection, Engine


@dataclass(frozen=True)
class Offer:
    """One offer to pair: hashes of its secret and of its code, and the survey it is for, if one.

    ``made`` is the time it was made [s], ``tries`` how many wrong codes were met [-], ``used``
    whether a phone has taken it.
    """

    id: str
    secret: str
    salt: str
    code: str
    survey: str | None
    made: int
    tries: int = 0
    used: bool = False


@dataclass(frozen=True)
class Device:
    """One paired phone: the hash of its token, its name, the survey it is paired for, if for one.

    ``paired`` and ``seen`` are times [s]; ``out`` says that it was put out.
    """

    id: str
    name: str
    token: str
    survey: str | None
    paired: int
    seen: int
    out: bool = False


class Devices:
    """The offers and phones of one service. Every method is one transaction of its own."""

    def __init__(self, engine: Engine) -> None:
        """Take an engine from ``open_engine``."""
        self._engine = engine
        self._writing = engine.execution_options(**WRITES)

    def offer(self, one: Offer) -> None:
        """Keep an offer in place of every other."""
        with self._writing.begin() as connection:
            connection.execute(delete(tables.offers))
            connection.execute(insert(tables.offers).values(**vars(one)))

    def offers(self) -> list[Offer]:
        """Return the offers there are."""
        with self._engine.begin() as connection:
            return _offers(connection)

    def pair(
        self, judge: Callable[[list[Offer]], Offer | None], device: Device, *, counts: bool
    ) -> Device | None:
        """Use up the offer that ``judge`` finds, and keep the phone for that offer's survey.

        Where it finds none and the try ``counts``, it is counted against every offer. One
        transaction, so that no offer is used twice and no guess goes uncounted.
        """
        table = tables.offers
        with self._writing.begin() as connection:
            if connection.dialect.name == "postgresql":
                connection.execute(select(table).with_for_update()).all()
            found = judge(_offers(connection))
            if found is None:
                if counts:
                    connection.execute(update(table).values(tries=table.c.tries + 1))
                return None
            connection.execute(update(table).where(table.c.id == found.id).values(used=True))
            kept = Device(**{**vars(device), "survey": found.survey})
            connection.execute(insert(tables.devices).values(**vars(kept)))
        return kept

    def device(self, device: str) -> Device | None:
        """Return a phone, put out or not; None where there is no such one."""
        table = tables.devices
        with self._engine.begin() as connection:
            row = connection.execute(select(table).where(table.c.id == device)).first()
        return _device(row) if row else None

    def devices(self) -> list[Device]:
        """Return the phones that were not put out, the last paired first."""
        table = tables.devices
        wanted = select(table).where(~table.c.out).order_by(table.c.paired.desc(), table.c.id)
        with self._engine.begin() as connection:
            return [_device(row) for row in connection.execute(wanted)]

    def see(self, device: str, now: int) -> None:
        """Note that a phone was seen ``now`` [s]."""
        table = tables.devices
        with self._writing.begin() as connection:
            connection.execute(update(table).where(table.c.id == device).values(seen=now))

    def put_out(self, device: str) -> bool:
        """Put a phone out; False where there is no such one, or it is out."""
        table = tables.devices
        with self._writing.begin() as connection:
            done = connection.execute(
                update(table).where(table.c.id == device, ~table.c.out).values(out=True)
            )
            return done.rowcount > 0

    def forget(self, before: int) -> None:
        """Forget the phones that were last seen before a time [s]: their sessions are long over."""
        table = tables.devices
        with self._writing.begin() as connection:
            connection.execute(delete(table).where(table.c.seen < before))


def _offers(connection: Connection) -> list[Offer]:
    return [Offer(**_fields(row)) for row in connection.execute(select(tables.offers))]


def _device(row: Any) -> Device:
    return Device(**_fields(row))


def _fields(row: Any) -> dict[str, Any]:
    return dict(row._mapping)
