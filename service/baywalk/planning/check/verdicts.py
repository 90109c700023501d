"""What the checker says: for each rule whether it holds, and the figure nearest to its limit."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

EXACT = 0.06
"""How far two figures of one length may differ [mm]: a plan's coordinates are rounded."""


@dataclass
class _Rule:
    """What is known so far of one rule."""

    margin: float = float("inf")
    figure: float | None = None
    limit: float | None = None
    where: str | None = None
    say: str = ""
    broken: int = 0


@dataclass
class Verdicts:
    """Collects what is found on one deck, or on the plan as a whole."""

    deck: str | None = None
    _rules: dict[str, _Rule] = field(default_factory=dict)

    def looked(self, rule: str) -> None:
        """Note that a rule was looked at, though nothing in the plan may fall under it."""
        self._rules.setdefault(rule, _Rule())

    def must(self, rule: str, holds: object, where: str, say: str) -> bool:
        """Record a fact that must be so; ``say`` tells what is wrong where it is not."""
        # A fact has no margin: it is either just met or missed by a whole.
        self._record(rule, 0.0 if holds else -1.0, None, None, where, say, ok=bool(holds))
        return bool(holds)

    def at_least(self, rule: str, figure: float, limit: float, where: str, what: str) -> bool:
        """Record a figure that must not be less than its limit, both in the rule's unit."""
        ok = figure >= limit - EXACT
        say = f"{what} is {figure:.1f}; at least {limit:g} is needed"
        self._record(rule, figure - limit, figure, limit, where, say, ok=ok)
        return ok

    def at_most(self, rule: str, figure: float, limit: float, where: str, what: str) -> bool:
        """Record a figure that must not be more than its limit, both in the rule's unit."""
        ok = figure <= limit + EXACT
        say = f"{what} is {figure:.1f}; at most {limit:g} is allowed"
        self._record(rule, limit - figure, figure, limit, where, say, ok=ok)
        return ok

    def same(
        self, rule: str, figure: float, own: float, where: str, what: str, within: float = EXACT
    ) -> bool:
        """Record a figure of the plan that must equal the one worked out here."""
        ok = abs(figure - own) <= within
        say = f"{what} is given as {figure:g}; worked out here it is {own:.4g}"
        self._record(rule, within - abs(figure - own), figure, own, where, say, ok=ok)
        return ok

    def _record(
        self,
        rule: str,
        margin: float,
        figure: float | None,
        limit: float | None,
        where: str,
        say: str,
        *,
        ok: bool,
    ) -> None:
        known = self._rules.setdefault(rule, _Rule())
        # Every breach is counted, though only the worst is told in full.
        known.broken += not ok
        # A breach outweighs any figure that holds, however near to its limit.
        worse = margin < known.margin if known.broken == (not ok) else not ok
        if worse or (not ok and known.broken == 1):
            known.margin, known.figure, known.limit = margin, figure, limit
            known.where, known.say = where, say

    def rows(self) -> list[dict[str, Any]]:
        """Return one row for each rule, by its id."""
        return [self._row(rule, self._rules[rule]) for rule in sorted(self._rules)]

    def _row(self, rule: str, known: _Rule) -> dict[str, Any]:
        more = f" {known.broken - 1} more like it." if known.broken > 1 else ""
        return {
            "rule": rule,
            "holds": known.broken == 0,
            "figure": None if known.figure is None else round(known.figure, 3),
            "limit": None if known.limit is None else round(known.limit, 3),
            "where": known.where,
            "deck": self.deck,
            "say": f"{known.where}: {known.say}.{more}" if known.broken else "Holds.",
        }
