"""What one deck is planned from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from baywalk.planning.added import member_ends, member_length, member_timbers
from baywalk.planning.tails import tails

if TYPE_CHECKING:
    from collections.abc import Callable

    from shapely import Polygon

    from baywalk.planning.area import Area
    from baywalk.planning.board import Choice
    from baywalk.planning.choices import Board, Choices
    from baywalk.planning.ground import Ground, Member
    from baywalk.planning.laid.place import HeldDeck
    from baywalk.planning.tails import Tail
    from baywalk.planning.trimming import Opening
    from baywalk.rules import Pack


@dataclass(frozen=True)
class Task:
    """What one deck is planned from; ``seconds`` is the time for its layout.

    ``after`` is how many decks come after it, for which boards there already must be left.
    ``held`` is what is laid of it already.
    """

    run: dict[str, Any]
    area: Area
    choice: Choice
    choices: Choices
    pack: Pack
    seconds: float
    progress: Callable[[float, float], bool] | None = None
    openings: tuple[Opening, ...] = ()
    after: int = 0
    held: HeldDeck | None = None

    @property
    def ground(self) -> Ground:
        """Return the joists, added ones among them."""
        return self.choice.ground

    @property
    def added(self) -> tuple[Member, ...]:
        """Return the joists added under this deck: of a run in parts, each part has its own."""
        chosen = self.choice.chosen.added
        return tuple(member for member in chosen if member_length(member, [self.area]) > 0)

    def tails(self, member: Member) -> list[Tail]:
        """Return the parts of an added joist that is cut at openings; none where it is whole."""
        return tails(member, member_ends(member, [self.area]), self.openings, self.pack)

    def timbers(self, member: Member) -> list[tuple[str, float]]:
        """Return the timbers of an added joist, each with its name and its length to cut [mm]."""
        cut = [tail.length for tail in self.tails(member)]
        lengths = cut or member_timbers(member, [self.area])
        parted = bool(cut or member.laps)
        return [
            (f"{member.name}.{number}" if parted else member.name, length)
            for number, length in enumerate(lengths, start=1)
        ]

    def trimmed(self) -> list[Polygon]:
        """Return the room in the plane that trimmers take up [mm]."""
        return [trimmer.polygon() for o in self.openings for trimmer in o.trimmers]

    @property
    def board(self) -> Board:
        """Return the board chosen."""
        return self.choice.chosen.board
