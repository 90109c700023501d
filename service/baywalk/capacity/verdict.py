"""From a joist's checks to one word, and the sentence that goes with it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from baywalk.capacity.check import worst

if TYPE_CHECKING:
    from baywalk.capacity.check import Check

SAYINGS: dict[str, str] = {
    "holds": (
        "Every check made here holds on the figures surveyed. That is a screening, not an "
        "approval: building control and, in any doubt, a structural engineer decide."
    ),
    "holds_if_deck_fixed": (
        "Holds if the deck is glued and screwed as planned; ask an engineer before anything heavy. "
        "This is a screening, not an approval."
    ),
    "does_not_hold": (
        "Does not hold for this use. Do not load it so. A structural engineer can say what would "
        "make it strong enough."
    ),
    "not_to_be_relied_on": (
        "Split or decayed: nothing worked out here can be relied on. Keep load off it and have a "
        "structural engineer look at it."
    ),
    "refused": "No rule covers this joist. Keep load off it and ask a structural engineer.",
    "not_checked": "Not checked. Take nothing from this; the cautions say what is missing.",
}
"""Each verdict and what is said with it."""

_BINDING = ("floor", "permanent", "trimming", "things", "carried", "feel")

_UNSURE = (
    "As measured it holds, but it would not if the survey is out by as much as it may be. Measure "
    "it again before trusting it. "
)


def say(word: str, checks: list[Check]) -> str:
    """Return the sentence of a verdict, with the doubt that the survey leaves put first."""
    return ("" if sure(word, checks) else _UNSURE) + SAYINGS[word]


def sure(word: str, checks: list[Check]) -> bool:
    """Say whether a verdict would be no worse anywhere within what the survey leaves open."""
    return not word.startswith("holds") or all(check.sure for check in deciding(checks))


def verdict(
    checks: list[Check], damage: tuple[str, ...], refused: list[str], *, cut: bool = False
) -> str:
    """Return a joist's verdict, one of the keys of :data:`SAYINGS`.

    ``damage`` and ``refused`` name what no check can speak for; ``cut`` is for a joist that an
    opening cuts, which the checks of a whole joist do not cover.
    """
    if damage:
        return "not_to_be_relied_on"
    if refused:
        return "refused"
    if not checks or cut:
        return "not_checked"
    # What is always there must hold, whoever shares what.
    if not all(check.holds for check in checks if check.line in _BINDING):
        return "does_not_hold"
    if all(check.holds for check in checks if check.line == "concentrated"):
        return "holds"
    shared = [check for check in checks if check.line == "shared"]
    fixed = bool(shared) and all(check.holds for check in shared)
    return "holds_if_deck_fixed" if fixed else "does_not_hold"


def deciding(checks: list[Check]) -> list[Check]:
    """Return the checks that the verdict rests on.

    The load on one joist counts where it holds; where only the shared one can, that counts.
    """
    alone = [check for check in checks if check.line == "concentrated"]
    other = "concentrated" if all(check.holds for check in alone) else "shared"
    return [check for check in checks if check.line in (*_BINDING, other)]


def governing(checks: list[Check]) -> Check | None:
    """Return the check that decides: the worst of those that the verdict rests on."""
    return worst(deciding(checks))
