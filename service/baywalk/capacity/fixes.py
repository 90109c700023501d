"""What would make a joist that fails hold: each change is checked anew."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from baywalk.capacity import deck as decks
from baywalk.capacity.model import Figure, Joist, Run
from baywalk.capacity.setting import Setting
from baywalk.capacity.verdict import governing, verdict

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.capacity.check import Check
    from baywalk.rules import Pack

Checker = Callable[[Run, Joist, Setting], "list[Check]"]


@dataclass(frozen=True)
class Change:
    """One thing that could be done: the joist, the run and the setting as they would then be."""

    what: str
    say: str
    run: Run
    joist: Joist
    setting: Setting


def fixes(
    run: Run, joist: Joist, word: str, setting: Setting, checker: Checker, pack: Pack
) -> list[dict[str, Any]]:
    """Return the changes that would make a failing joist hold, the smallest first.

    Every change in the list was checked with ``checker`` and holds; empty where the joist holds
    already or where none of them would do.
    """
    if word != "does_not_hold":
        return []
    found: list[dict[str, Any]] = []
    for change in _changes(run, joist, setting, pack):
        if any(one["what"] == change.what for one in found):
            # A smaller one of the same sort does.
            continue
        checks = checker(change.run, change.joist, change.setting)
        outcome = verdict(checks, change.joist.damage, [])
        if outcome in ("holds", "holds_if_deck_fixed"):
            found.append(_told(change, outcome, checks))
    return found


def _told(change: Change, outcome: str, checks: list[Check]) -> dict[str, Any]:
    decides = governing(checks)
    tail = (
        " With it the checks made here hold; an engineer confirms it before it is built."
        if outcome == "holds"
        else " With it the checks hold if the deck is glued and screwed as planned; an engineer "
        "confirms it before it is built."
    )
    return {
        "what": change.what,
        "verdict": outcome,
        "utilisation": round(decides.utilisation, 6) if decides else None,
        "check": decides.name if decides else None,
        "say": change.say + tail,
    }


def _changes(run: Run, joist: Joist, setting: Setting, pack: Pack) -> Iterator[Change]:
    """Yield what could be done, the smallest first."""
    if setting.strutting != "yes":
        say = "A row of noggins or strutting at mid-span."
        yield Change("strutting", say, run, joist, replace(setting, strutting="yes"))
    yield from _thicker(run, joist, setting, pack)
    yield from _sisters(run, joist, setting, pack)
    # Cheap and light first: whoever reads down the list stops at the first that is enough.
    yield from _added(run, joist, setting)
    if setting.use != "storage" and setting.imposed is None and setting.point is None:
        say = "Light storage only, and no room."
        yield Change("smaller_use", say, run, joist, replace(setting, use="storage"))


def _thicker(run: Run, joist: Joist, setting: Setting, pack: Pack) -> Iterator[Change]:
    laid = decks.thickness(run, setting, pack)
    for thick in pack["span.deck.stock"]:
        if thick > laid:
            say = f"A deck of {thick} mm."
            yield Change("thicker_deck", say, run, joist, replace(setting, deck=float(thick)))


def _sisters(run: Run, joist: Joist, setting: Setting, pack: Pack) -> Iterator[Change]:
    """Yield a second timber of a stock size along the whole joist, as deep as the joist or less."""
    if joist.breadth is None or joist.depth is None:
        return
    stock, near = pack["timber.sizes.stock"], pack["ec5.k_sys.like"]["depth"]
    # A sister deeper than the joist would not lie under the same deck.
    depths = [d for d in stock["depths"] if 0 <= joist.depth.value - d <= near]
    if not depths:
        return
    for breadth in stock["breadths"]:
        whole = Figure(joist.breadth.value + breadth, joist.breadth.sd)
        depth = Figure(float(depths[-1]), joist.depth.sd)
        sister = replace(joist, breadth=whole, depth=depth, plies=joist.plies + 1)
        say = (
            f"A sister joist of {breadth} × {depths[-1]} mm, {joist.grade} or better, along its "
            "whole length and on both supports."
        )
        yield Change("sister", say, _swapped(run, sister), sister, setting)


def _added(run: Run, joist: Joist, setting: Setting) -> Iterator[Change]:
    """Yield a new joist in the middle of the bays beside it."""
    if joist.width is None:
        return
    # The new joist takes half of what this one had, on whichever side it has a neighbour.
    closer = replace(
        joist,
        width=Figure(joist.width.value / 2, joist.width.sd / 2),
        left=None if joist.left is None else joist.left / 2,
        right=None if joist.right is None else joist.right / 2,
    )
    say = "A like joist added in the middle of the bay on either side."
    yield Change("added_joist", say, _swapped(run, closer), closer, setting)


def _swapped(run: Run, joist: Joist) -> Run:
    joists = tuple(joist if one.index == joist.index else one for one in run.joists)
    return replace(run, joists=joists)
