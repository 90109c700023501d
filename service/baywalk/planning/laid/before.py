"""What was planned before, and what is laid of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from baywalk.fieldbook.text import plain, unsound
from baywalk.planning.check.form import faults
from baywalk.planning.laid.place import place
from baywalk.planning.laid.read import LaidDeck, read_as_laid
from baywalk.planning.refused import BadChoice, BadEarlier, Reason, Refused

if TYPE_CHECKING:
    from baywalk.planning.choices import Choices
    from baywalk.planning.laid.place import HeldDeck
    from baywalk.rules import Pack


@dataclass(frozen=True)
class Before:
    """An earlier plan and what is laid of it, both as JSON data; lengths in mm."""

    earlier: dict[str, Any]
    as_laid: dict[str, Any] | None
    pack: Pack

    @cached_property
    def _laid(self) -> dict[str, LaidDeck]:
        return read_as_laid(self.as_laid, self.earlier) if self.as_laid is not None else {}

    def deck(self, name: str) -> HeldDeck | None:
        """Return what is laid of a deck; None where the earlier plan has no deck of that name."""
        told = next((deck for deck in self.earlier["decks"] if deck["id"] == name), None)
        if told is None:
            return None
        return place(self._laid.get(name, LaidDeck(name)), told, self.pack)

    def choices(self, wanted: Choices, run: str) -> Choices:
        """Return the choices for one run: where a deck of it is begun, the board of that stays.

        Raises ``BadChoice`` where another board is asked for.
        """
        names = {name for name, laid in self._laid.items() if laid.pieces}
        decks = [d for d in self.earlier["decks"] if d["id"] in names and d["run"] == run]
        if not decks:
            return wanted
        board = decks[0]["deck"]["board"]
        size, thick = (board["length"], board["width"]), board["thickness"]
        if wanted.board not in (None, size):
            raise BadChoice("board", f"boards of {size[0]:g} × {size[1]:g} mm are laid already")
        if wanted.deck not in (None, thick):
            raise BadChoice("deck", f"boards of {thick:g} mm are laid already")
        return replace(wanted, board=size, deck=thick)


def before(earlier: Any, as_laid: Any, pack: Pack) -> Before:
    """Return an earlier plan and what is laid of it, None where nothing is.

    Raises:
        BadEarlier: the plan is none that can be gone on from.
        BadAsLaid: what is laid is not of its form, or not of this plan.
    """
    wide = unsound(earlier)
    if wide:
        raise BadEarlier(str(wide))
    earlier = plain(earlier)
    wrong = faults(earlier)
    if wrong:
        raise BadEarlier(wrong[0])
    if as_laid is not None:
        read_as_laid(as_laid, earlier)
    return Before(earlier, as_laid, pack)


def same_survey(told: Before, as_built: Any) -> None:
    """Raise ``Refused`` where the earlier plan is of another survey than is planned now."""
    survey = as_built.get("survey") if isinstance(as_built, dict) else None
    if survey is not None and survey != told.earlier["survey"]:
        say = "The earlier plan is of another survey. Give the plan that was laid by."
        raise Refused(Reason("laid.other_survey", say))
