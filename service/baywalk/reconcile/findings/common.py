"""What every finding is, and what it may look at."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from baywalk.reconcile.rounding import printed, steady

if TYPE_CHECKING:
    from baywalk.reconcile.geometry import Geometry
    from baywalk.reconcile.nominal import Nominal
    from baywalk.reconcile.questions import Figure
    from baywalk.reconcile.solve import Solved
    from baywalk.reconcile.verdicts import Suspect

Severity = Literal["note", "look", "settle"]
"""A note to know; something to look at before planning; something to settle before planning."""


@dataclass(frozen=True)
class Finding:
    """One finding.

    Attributes:
        code: what it is, stable across versions.
        severity: how much it matters.
        say: the whole of it in plain words.
        where: run, line, joist, bay as far as it has them.
        figure: the value found and its standard deviation, in the unit of the rule.
        limit: what the value was held against.
        rule: id of the rule in the pack.

    """

    code: str
    severity: Severity
    say: str
    where: dict[str, Any] = field(default_factory=dict)
    figure: Figure | None = None
    limit: float | None = None
    rule: str | None = None

    def json(self) -> dict[str, Any]:
        """Return it for a file."""
        value = None if self.figure is None else printed(self.figure.value)
        sd = None if self.figure is None else printed(self.figure.sd)
        return {
            "code": self.code,
            "severity": self.severity,
            "where": self.where,
            "value": value,
            "sd": sd,
            "limit": self.limit,
            "rule": self.rule,
            "say": self.say,
        }


@dataclass(frozen=True)
class View:
    """All that findings may look at: one solved run, what was derived from it, its features."""

    solved: Solved
    geometry: Geometry
    nominal: Nominal | None
    suspects: list[Suspect]
    features: list[dict[str, Any]] = field(default_factory=list)

    def significant(self, figure: Figure, limit: float) -> bool:
        """Say whether a figure is beyond a limit, in its unit, and beyond its own uncertainty."""
        times = self.solved.network.pack["finding.significance"]
        beyond = steady(abs(figure.value) - limit)
        return beyond > 0 and abs(figure.value) > times * figure.sd
