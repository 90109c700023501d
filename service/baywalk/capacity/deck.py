"""The deck: its thickness against the joists' real centres, and what it may be relied on for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from baywalk.capacity.model import Joist, Run
    from baywalk.capacity.setting import Setting
    from baywalk.rules import Pack


def widest(run: Run) -> float | None:
    """Return the widest centres of a run [mm]; None where none is known."""
    known = [c for joist in run.joists for c in (joist.left, joist.right) if c is not None]
    return max(known, default=None)


def needed(centres: float, pack: Pack) -> float | None:
    """Return the P5 thickness that centres need [mm]; None where no published row goes so far."""
    return next((float(t) for most, t in pack["deck.thickness"] if centres <= most), None)


def shares(joist: Joist, deck: float, pack: Pack) -> bool:
    """Say whether a ``deck`` of a thickness [mm] may be counted on to share a joist's point load.

    A bay a little over its spacing still counts as set out to it; a deck thinner than its table
    asks, or beyond the table, is counted on for nothing.
    """
    # Set out to 600 and found at 603, a bay is still what the table means by 600.
    apart = max(joist.left or 0.0, joist.right or 0.0) - pack["centres.tolerance"]
    asked = needed(max(apart, 0.0), pack)
    return asked is not None and deck >= asked


def thickness(run: Run, setting: Setting, pack: Pack) -> float:
    """Return the deck's thickness that the checks count on [mm].

    The person's own, else what the centres need; beyond the table its thickest.
    """
    if setting.deck is not None:
        return setting.deck
    # Beyond the table something must be weighed; the thickest is nearest to what would be laid.
    thick = needed(widest(run) or 0.0, pack)
    return thick if thick is not None else float(max(t for _, t in pack["deck.thickness"]))


def deck(run: Run, setting: Setting, pack: Pack) -> dict[str, Any]:
    """Return what is to be said of a run's deck; lengths in mm."""
    centres = widest(run)
    asked = needed(centres, pack) if centres is not None else None
    laid = thickness(run, setting, pack)
    enough = asked is not None and laid >= asked
    return {
        "rule": "deck.thickness",
        "centres": None if centres is None else round(centres, 3),
        "needed": asked,
        "thickness": laid,
        "holds": enough,
        "say": _say(centres, asked, laid),
        "cautions": [
            (
                "A deck's strength under a load on one spot is proved by test (EN 12871, a pad of "
                "50 × 50 mm), not by a sum. The board's own declaration must say what it passed."
            ),
            (
                "A board laid wrong side up, not glued, or not on every joist is not to be relied "
                "on for any published figure."
            ),
        ],
    }


def _say(centres: float | None, asked: float | None, laid: float) -> str:
    if centres is None:
        return "No centres are known, so nothing is said of the deck."
    if asked is None:
        return (
            f"The widest centres are {centres:.0f} mm. No published thickness goes so far: add a "
            "joist or ask an engineer."
        )
    if laid >= asked:
        return (
            f"At centres up to {centres:.0f} mm the table asks for {asked:.0f} mm; {laid:g} mm "
            "meets it."
        )
    return (
        f"At centres up to {centres:.0f} mm the table asks for {asked:.0f} mm; {laid:g} mm is too "
        "thin."
    )
