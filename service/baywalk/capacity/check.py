"""One check: what is asked of a joist, what it can give, by which rule."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from baywalk.rules import Pack

LINES: dict[str, str] = {
    "floor": "",
    "permanent": ", permanent load alone",
    "concentrated": ", load on one joist",
    "shared": ", load shared through the deck",
    "trimming": ", an opening's trimmers hung on it",
    "things": ", things put on the floor",
    "carried": ", a thing carried over the floor",
    "feel": "",
}
"""The lines of loading, each with what its checks' names end in."""

_ROOM = 1e-9
"""What the arithmetic's own noise may take a utilisation above one [-]."""


@dataclass(frozen=True)
class Check:
    """One check of one joist.

    Attributes:
        rule: id of the rule in the pack. name: in words. line: one of :data:`LINES`.
        demand, capacity: in ``unit``; larger demand is worse.
        numbers: what went into it, by the formula's own signs.
        rules: ids of all rules whose figures went into it.
        formula: id of the rule that has the formula, where it is not ``rule`` itself.
        upper: the utilisation that the survey's uncertainty may hide [-]; None where not known.

    """

    rule: str
    name: str
    line: str
    demand: float
    capacity: float
    unit: str
    numbers: dict[str, float] = field(default_factory=dict)
    rules: tuple[str, ...] = ()
    upper: float | None = None
    formula: str = ""

    @property
    def utilisation(self) -> float:
        """Demand over capacity [-]; infinite where there is no capacity at all."""
        if self.capacity <= 0:
            return math.inf if self.demand > 0 else 0.0
        return self.demand / self.capacity

    @property
    def holds(self) -> bool:
        """Whether the demand is within the capacity."""
        return self.utilisation <= 1 + _ROOM

    @property
    def sure(self) -> bool:
        """Whether it would hold anywhere within what the survey leaves open."""
        return self.upper is None or not self.holds or self.upper <= 1 + _ROOM

    def json(self, pack: Pack) -> dict[str, Any]:
        """Return it for a file."""
        rule = pack.rule(self.rule)
        formula = pack[self.formula or self.rule]
        use = self.utilisation
        return {
            "rule": self.rule,
            "name": self.name,
            "line": self.line,
            "demand": round(self.demand, 6),
            "capacity": round(self.capacity, 6),
            "unit": self.unit,
            "utilisation": round(use, 6) if math.isfinite(use) else None,
            "utilisation_95": _finite(self.upper),
            "holds": self.holds,
            "sure": self.sure,
            "formula": str(formula),
            "numbers": {k: round(v, 6) for k, v in self.numbers.items()},
            "rules": sorted({self.rule, self.formula or self.rule, *self.rules}),
            "source": ", ".join(filter(None, (rule.source, rule.edition, rule.clause))),
        }


def _finite(value: float | None) -> float | None:
    return round(value, 6) if value is not None and math.isfinite(value) else None


def worst(checks: list[Check]) -> Check | None:
    """Return the check with the greatest utilisation; of equals the first."""
    return max(checks, key=lambda check: check.utilisation, default=None)
