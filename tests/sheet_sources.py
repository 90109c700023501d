"""Lofts with their as-built, plan and load check, for tests of the sheets; invented."""

from __future__ import annotations

import json
import random
from datetime import date
from functools import cache
from typing import TYPE_CHECKING, Any

from baywalk import places
from baywalk.capacity import capacity
from baywalk.fieldbook import load_survey
from baywalk.planning import Choices, plan
from baywalk.reconcile import reconcile
from baywalk.sheets import Head, Source, head_of
from tests.lofts import full_loft

if TYPE_CHECKING:
    from baywalk.fieldbook import Survey

DAY = date(2026, 11, 25)


@cache
def demo() -> Source:
    """Return the demo loft with everything that sheets are made from."""
    survey = load_survey((places.fixtures() / "demo-loft.json").read_bytes())
    return _source(survey, "near")


@cache
def loft(seed: int, joists: int | None = None, *, opening: bool = False) -> Source:
    """Return a random loft with everything that sheets are made from."""
    made, draw = full_loft(seed, joists), random.Random(seed)
    for joist in (1, made.n):
        for a, b in (("near_edge", "near"), ("far", "far_edge")):
            made.add("along", joist=joist, **{"from": a, "to": b}, value=draw.randint(150, 500))
        span = round(made.apart) + draw.randint(300, 600)
        ends = {"from": "near_support", "to": "far_support"}
        made.add("along", joist=joist, **ends, value=span)
    if opening:
        spot: dict[str, Any] = {"from": [made.n // 2, "right"], "line": "near", "across": -100}
        spot |= {"along": 400, "width": 600, "length": 700}
        made.add("feature", feature="obstacle", **spot)
    return _source(load_survey(json.dumps(made.survey())), "far" if seed % 2 else "near")


@cache
def unplanned(seed: int, joists: int) -> Source:
    """Return a random loft, as long as one likes, with its as-built alone."""
    return Source(reconcile(load_survey(json.dumps(full_loft(seed, joists).survey()))))


def _source(survey: Survey, start: str) -> Source:
    as_built = reconcile(survey)
    made = plan(as_built, Choices(anyway=True, seconds=1.0, start_wall=start))
    return Source(as_built, made, capacity(as_built), survey, earlier=as_built)


def head(source: Source, paper: str = "A4", units: str = "mm") -> Head:
    """Return a page's head of a day that does not change."""
    return head_of(source, DAY, paper=paper, units=units)
