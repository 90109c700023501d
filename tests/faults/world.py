"""A seeded world: two phones, a way between them and a service that loses things, and the service.

Every choice is drawn from the seed, and nothing waits for a clock: so the same seed does the same
things, in the same order, and gets the same answers. ``history`` tells them.
"""

from __future__ import annotations

import hashlib
import json
import random
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from tests.faults import crash, loft
from tests.faults.doors import Door, NoAnswer
from tests.faults.phone import Entry, Message, Phone

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.support.process import Answer

FATES = {
    "goes": 40,
    "lost": 8,  # on the way there
    "cut": 8,  # on the way there, in the middle of the body
    "deaf": 12,  # the answer is lost, after the commit
    "late": 9,  # the answer comes, but later than others
    "held": 9,  # it arrives later than others, which were sent after it
    "twice": 9,  # and a third time, later
    "falls": 9,  # the service dies in the middle of it
    "full": 5,  # the disk has no room for it
}


@dataclass
class Seen:
    """A cursor that the service gave, and what it said it had stored just before."""

    cursor: int
    stored: tuple[str, ...]


@dataclass
class World:
    """Two phones before one service, for so many ``steps``."""

    seed: int
    door: Door
    steps: int
    history: list[tuple[Any, ...]] = field(default_factory=list)
    seen: list[Seen] = field(default_factory=list)
    met: list[Phone] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Make the phones."""
        self.draw = random.Random(self.seed)
        head = loft.head(self.draw)
        self.phones = [self._phone({**head, "runs": runs}) for runs in _heads(head["runs"][0])]
        self._held: list[Message] = []
        self._late: list[tuple[Message, Answer]] = []

    def _phone(self, head: Entry) -> Phone:
        return Phone(random.Random(self.draw.getrandbits(64)), head)

    def play(self) -> None:
        """Let things happen, then let everything still on its way arrive and every outbox drain."""
        for _ in range(self.steps):
            self._step()
        self.door.points.disarm()
        self.door.points.fill(full=False)
        self.drain()
        # What was held back for very long comes when all is over, and changes nothing.
        while self._held:
            self._arrive()
        while self._late:
            self._hear_late()
        self.drain()

    def drain(self) -> None:
        """Let every phone send and pull until nothing is left to do."""
        for phone in self.phones * 2:
            self._reach(phone.introducing())
            while message := phone.batch(50):
                self._reach(message)
            for sha256 in list(phone.photos_to_go):
                self._reach(phone.photo(sha256, self._start(phone, sha256)))
            known = -1
            while known < phone.cursor:
                known = phone.cursor
                self._reach(phone.pulling())

    def digest(self) -> str:
        """Return a hash of everything that happened."""
        return hashlib.sha256(json.dumps(self.history).encode()).hexdigest()

    def _step(self) -> None:
        steps: dict[Callable[[Phone], None], int] = {
            self._measure: 24,
            self._send: 26,
            self._pull: 12,
            self._introduce: 4,
            self._send_photo: 10,
            self._impostor: 2,
            self._jump: 3,
            lambda _: self._arrive(): 8,
            lambda _: self._hear_late(): 6,
            lambda _: self._restart(): 3,
        }
        phone = self.draw.choice(self.phones)
        self.draw.choices(list(steps), list(steps.values()))[0](phone)

    def _measure(self, phone: Phone) -> None:
        for _ in range(self.draw.randint(1, 8)):
            loft.measure(phone)
        if self.draw.random() < 0.2:
            loft.take_photo(phone)

    def _send(self, phone: Phone) -> None:
        message = phone.batch(self.draw.choice((1, 3, 20)))
        if message:
            self._set_out(message, crash.STORE)

    def _pull(self, phone: Phone) -> None:
        self._set_out(phone.pulling(), ())

    def _introduce(self, phone: Phone) -> None:
        self._set_out(phone.introducing(), crash.STORE)

    def _send_photo(self, phone: Phone) -> None:
        if phone.photos_to_go:
            sha256 = self.draw.choice(phone.photos_to_go)
            start = self._start(phone, sha256) if self.draw.random() < 0.7 else 0
            self._set_out(phone.photo(sha256, start), crash.PHOTO)

    def _start(self, phone: Phone, sha256: str) -> int:
        """Return where the service says that a photo is to go on [bytes]."""
        answer = self.door.ask("HEAD", f"/api/photos/{sha256}")
        assert answer.status in (200, 404)
        start = int(answer.headers["upload-offset"])
        whole = start >= len(phone.photos[sha256])
        return 0 if whole else start

    def _impostor(self, phone: Phone) -> None:
        """Send other content under an id that is known: it is refused, and the first stands."""
        if not phone.acknowledged:
            return
        entry = self.draw.choice(list(phone.acknowledged.values()))
        answer = self._ask(phone.sending([{**entry, "note": "another"}]))
        assert answer
        refused = answer.json()["refused"]
        assert [(one["id"], one["field"]) for one in refused] == [(entry["id"], "id")]

    def _jump(self, phone: Phone) -> None:
        phone.clock += timedelta(days=self.draw.choice((-365, 365)))

    def _restart(self) -> None:
        self.door.restart()
        self.history.append(("restart",))

    def _set_out(self, message: Message, points: tuple[str, ...]) -> None:
        """Send a message to the fate that is drawn for it."""
        fate = self.draw.choices(list(FATES), list(FATES.values()))[0]
        self.history.append((message.what, message.path, len(message.body), fate))
        if fate == "held":
            self._held.append(message)
        elif fate == "cut":
            self._cut(message)
        elif fate == "falls":
            self._fall(message, points)
        elif fate == "full":
            self._fill(message)
        elif fate != "lost":
            self._deliver(message, fate)

    def _deliver(self, message: Message, fate: str) -> None:
        answer = self._ask(message)
        if answer is None or fate == "deaf":
            return
        if fate == "late":
            self._late.append((message, answer))
            return
        message.phone.hear(message, answer)
        if fate == "twice":
            self._reach(message)
            self._held.append(message)

    def _cut(self, message: Message) -> None:
        """Send half a body: entries are kept all or none, a photo as far as it came."""
        if len(message.body) < 2:
            return
        answer = self._ask(message, self.draw.randrange(len(message.body)))
        assert answer is None or answer.status in (204, 400, 409), answer.body
        if answer and answer.status == 204:
            message.phone.hear(message, answer)

    def _fall(self, message: Message, points: tuple[str, ...]) -> None:
        if points:
            self.door.points.arm(self.draw.choice(points))
        answer = self._ask(message)
        reached = not self.door.points.disarm()
        assert (answer is None) == (bool(points) and reached)
        if answer:
            message.phone.hear(message, answer)
        self.door.restart()

    def _fill(self, message: Message) -> None:
        self.door.points.fill(full=True)
        answer = self._ask(message)
        assert answer
        message.phone.hear(message, answer)
        self.door.points.fill(full=False)

    def _arrive(self) -> None:
        """Let something that was held back arrive, out of its turn."""
        if self._held:
            message = self._held.pop(self.draw.randrange(len(self._held)))
            self._reach(message)

    def _hear_late(self) -> None:
        if self._late:
            message, answer = self._late.pop(self.draw.randrange(len(self._late)))
            message.phone.hear(message, answer)

    def _reach(self, message: Message) -> None:
        answer = self._ask(message)
        assert answer, "nothing keeps it from coming through"
        message.phone.hear(message, answer)

    def _ask(self, message: Message, upto: int | None = None) -> Answer | None:
        """Ask the service and note what it said."""
        try:
            answer = self.door.ask(
                message.method, message.path, message.body, message.headers, upto
            )
        except NoAnswer:
            self.history.append((message.what, "no answer"))
            return None
        said = hashlib.sha256(answer.body).hexdigest() if answer.status < 300 else ""
        self.history.append((message.what, answer.status, said))
        if message.what == "entries" and answer.status == 200:
            self._note(answer.json())
        if message.what == "head" and answer.status < 300:
            self.met = list(dict.fromkeys([*self.met, message.phone]))
        return answer

    def _note(self, said: dict[str, Any]) -> None:
        self.seen.append(Seen(said["cursor"], tuple(said["stored"])))


def _heads(run: Entry) -> list[list[Entry]]:
    """Return the runs as each phone has them: the second found a joist and a run more."""
    more = {**run, "joists": run["joists"] + 1, "lines": [*run["lines"], "middle"]}
    return [[run], [more, {"id": "B", "title": "B", "joists": 2, "lines": ["near"]}]]
