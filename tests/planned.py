"""Plans for tests of the checker, each made once."""

from __future__ import annotations

import copy
from functools import cache
from typing import Any

from baywalk.planning import Choices, plan
from baywalk.planning.check import check
from baywalk.rules import load
from tests.planning_lofts import plain, random_as_built, uneven

Json = dict[str, Any]


@cache
def _small() -> tuple[Json, Json]:
    as_built = plain(6, 450, 1700, first=130, last=310)
    return as_built, plan(as_built, Choices(seconds=2))


def small() -> tuple[Json, Json]:
    """Return as-built and plan of a small loft with nothing out of true."""
    as_built, made = _small()
    return copy.deepcopy(as_built), copy.deepcopy(made)


@cache
def _compact() -> tuple[Json, Json]:
    as_built = uneven(3, 8, 450, 900)
    return as_built, plan(as_built, Choices(seconds=2))


def compact() -> tuple[Json, Json]:
    """Return as-built and plan of a loft of two courses, with a noggin frame and a cleat."""
    as_built, made = _compact()
    return copy.deepcopy(as_built), copy.deepcopy(made)


@cache
def _random(seed: int, kinds: tuple[str, ...]) -> tuple[Json, Json]:
    as_built = random_as_built(seed, *kinds)
    return as_built, plan(as_built, Choices(seconds=1))


def random_plan(seed: int, *kinds: str) -> tuple[Json, Json]:
    """Return as-built and plan of a random loft."""
    as_built, made = _random(seed, kinds)
    return copy.deepcopy(as_built), copy.deepcopy(made)


def broken(plan: Json, as_built: Json) -> dict[str, str]:
    """Return the rules that a plan breaks, each with what is said of it."""
    rows = check(plan, as_built, load())
    return {row["rule"]: row["say"] for row in rows if not row["holds"]}
