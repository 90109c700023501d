"""The spacing that the joists were set out to, if any."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from baywalk.reconcile.rounding import ranked

if TYPE_CHECKING:
    from baywalk.reconcile.geometry import Geometry
    from baywalk.rules import Pack


@dataclass(frozen=True)
class Nominal:
    """A spacing family.

    Attributes:
        centres: its centre-to-centre distance [mm].
        family: its name in the pack.
        confidence: 0 to 1, against every other family and against none.

    """

    centres: float
    family: str
    confidence: float


def centres_seen(geometry: Geometry) -> list[float]:
    """Return the centres of every bay along every line [mm]."""
    return [bay.centres.value for bay in geometry.bays.values() if bay.centres is not None]


def nominal(geometry: Geometry, pack: Pack) -> Nominal | None:
    """Return the most likely spacing family, or None where no family explains the bays.

    Each bay either follows the family, within the scatter of setting out, or is anything at all;
    a family is weighed by the likelihood of all bays, and so is "no family".
    """
    seen = centres_seen(geometry)
    if len(seen) < 2:
        return None
    scores = {name: _score(seen, q, pack) for name, q in pack["nominal.spacings"].items()}
    scores[""] = len(seen) * -math.log(pack["nominal.range"])
    best = ranked(scores, lambda name: scores[name])[0]
    if not best:
        return None
    total = sum(math.exp(s - scores[best]) for s in scores.values())
    return Nominal(float(pack["nominal.spacings"][best]), best, 1 / total)


def _score(seen: list[float], spacing: float, pack: Pack) -> float:
    """Return the log likelihood of the bays, given this spacing."""
    scatter, stray = pack["nominal.scatter"], pack["nominal.stray"]
    peak = (1 - stray) / (scatter * math.sqrt(2 * math.pi))
    return sum(
        math.log(
            peak * math.exp(-0.5 * ((c - spacing) / scatter) ** 2) + stray / pack["nominal.range"]
        )
        for c in seen
    )
