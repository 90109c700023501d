"""How much of what the survey leaves open gets into each check."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from baywalk.capacity.joist import Case, shifted

if TYPE_CHECKING:
    from baywalk.capacity.check import Check
    from baywalk.capacity.joist import Given
    from baywalk.capacity.model import Joist

_MEASURED = ("breadth", "depth", "span", "near", "far", "width")
_SIDED = 1.96
"""Standard deviations on either side that hold the truth in 95 % of cases."""


def with_doubt(checks: list[Check], joist: Joist, given: Given) -> list[Check]:
    """Return the checks with the utilisation that lies at the far end of their 95 % interval.

    Each length is moved to the far end of its own interval; the lengths are taken as independent.
    """
    squares = dict.fromkeys((check.name for check in checks), 0.0)
    for name in _MEASURED:
        figure = getattr(joist, name)
        if figure is None or figure.sd == 0:
            continue
        # Worked out anew rather than by a derivative: limits and factors have corners.
        # Moved the whole way, not by one deviation, so that no corner in between is missed.
        moved = Case(shifted(joist, name, _SIDED * _worse(name)), given).checks()
        there = {other.name: other for other in moved}
        for check in checks:
            # A cut that comes to lie within the published limits has no check any more; one that
            # leaves them does so at their edge, where the whole section is worse off than it.
            if check.name in there:
                squares[check.name] += _change(check, there[check.name]) ** 2
    return [
        replace(check, upper=check.utilisation + math.sqrt(squares[check.name])) for check in checks
    ]


def _worse(name: str) -> float:
    """Return which way a length is moved: the way in which a joist is worse off."""
    return -1.0 if name in ("breadth", "depth") else 1.0


def _change(check: Check, other: Check) -> float:
    # Where nothing is left of the section both are infinite, and their difference says nothing.
    change = other.utilisation - check.utilisation
    return change if math.isfinite(change) else 0.0


def cautions(checks: list[Check], joist: Joist) -> list[str]:
    """Return, in words, which of a verdict's checks hold as measured but are not sure to."""
    names = [check.name for check in checks if not check.sure]
    if not names:
        return []
    return [
        (
            f"J{joist.index}: {'; '.join(names)} would not hold if the survey is out by as much as "
            "it may be (95 %). Measure it again before trusting it."
        )
    ]
