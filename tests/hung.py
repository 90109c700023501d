"""Two lofts whose board needs joists where an opening is; invented.

Joists of 47 stand 700 apart in a loft 3000 deep, so every bay needs one more in its middle.
"""

from __future__ import annotations

import copy
from functools import cache
from typing import Any

from baywalk.planning import Choices, plan
from tests.unit.planning.loft import as_built, rectangle

Json = dict[str, Any]
DEPTH = 3000.0
BETWEEN = rectangle("opening", 1080, 1000, 1720, 1600)
"""Between J2 and J3, whose faces are at 1073.5 and 1726.5; J2a would stand at 1400, in it."""
CUTTING = rectangle("opening", 1500, 1000, 1900, 1600)
"""It cuts J3, at 1750; J2a at 1400 and J3a at 2100 stand beside it, in the way of its trimmers."""


def loft(*features: Json) -> Json:
    """Return an as-built with such features."""
    return as_built([350.0 + 700 * k for k in range(4)], 2800.0, DEPTH, features=list(features))


@cache
def _made(*, cutting: bool) -> tuple[Json, Json]:
    given = loft(CUTTING if cutting else BETWEEN)
    return given, plan(given, Choices(seconds=0.05))


def made(*, cutting: bool) -> tuple[Json, Json]:
    """Return as-built and plan of one of the two."""
    given, plan_ = _made(cutting=cutting)
    return copy.deepcopy(given), copy.deepcopy(plan_)
