"""Added joists that are cut at an opening, on the sheets: as parts, where and as long as they are.

By hand: trimmers of 94 lie outside an opening from 1000 to 1600 of 3000, and a fit of 2 is left.
"""

from __future__ import annotations

import csv
import io
import json
from typing import Any

import pytest
from shapely.geometry import shape

from baywalk.planning import Choices, plan
from baywalk.sheets import Source, drawing, make
from baywalk.sheets.ink import Path, Words
from tests import sheet_sources
from tests.hung import loft, made
from tests.unit.planning.loft import rectangle

LENGTHS = {"J2a.1": 904.0, "J2a.2": 598.0, "J2a.3": 1304.0}


def _source(*, cutting: bool) -> Source:
    as_built, plan = made(cutting=cutting)
    return Source(as_built, plan)


def _sheet(source: Source, name: str) -> Any:
    return make(name, source, sheet_sources.head(source))


def test_the_schedule_of_the_opening_has_every_part() -> None:
    (table,) = _sheet(_source(cutting=True), "opening").tables
    rows = {row["part"]: row for row in csv.DictReader(io.StringIO(table.csv()))}
    assert {name: float(rows[name]["length"]) for name in LENGTHS} == LENGTHS
    assert rows["the added joists at the trimmers"]["count"] == "8"


def test_the_cut_list_has_every_part_and_no_whole_joist() -> None:
    table = next(t for t in _sheet(_source(cutting=True), "cutting").tables if t.name == "timbers")
    rows = {row["item"]: row for row in csv.DictReader(io.StringIO(table.csv()))}
    assert {name: float(rows[name]["length"]) for name in LENGTHS} == LENGTHS
    assert "J2a" not in rows


@pytest.mark.parametrize(
    ("cutting", "ends"),
    [(False, [(0, 906), (1694, 3000)]), (True, [(0, 906), (1000, 1600), (1694, 3000)])],
)
def test_files_for_other_tools_have_the_parts_where_they_are(
    cutting: bool,  # noqa: FBT001 - a case
    ends: list[tuple[float, float]],
) -> None:
    found = json.loads(drawing("courses", _source(cutting=cutting), "json"))["features"]
    mine = [f for f in found if f["properties"].get("name", "").startswith("J2a")]
    parts = sorted(
        shape(f["geometry"]).bounds for f in mine if f["properties"]["layer"] == "added joists"
    )
    assert [(low, high) for _, low, _, high in parts] == [pytest.approx(pair) for pair in ends]


def test_trimmers_are_drawn_between_what_carries_them() -> None:
    """J2 is doubled away from the opening, J3 towards it: between 1073.5 and 1679.5 lie 604 and 2.

    At 1:20 each millimetre of paper is 20 of the loft.
    """
    as_built = loft(rectangle("opening", 1080, 1000, 1650, 1600))
    plan_ = plan(as_built, Choices(seconds=0.05))
    (opening,) = plan_["decks"][0]["openings"]
    assert [t["side"] for t in opening["trimming"]] == ["left", "left"]
    page = _sheet(Source(as_built, plan_), "opening").pages[0]
    paths = [i for i in page.items if isinstance(i, Path) and i.closed and i.fill is not None]
    xs = [[x for ring in path.rings for x, _ in ring] for path in paths]
    middles = {
        wide: [
            (max(row) + min(row)) / 2 for row in xs if abs(max(row) - min(row) - wide / 20) < 0.05
        ]
        for wide in (570, 604)
    }
    ((hole,), trimmers) = middles[570], middles[604]
    assert len(trimmers) == 2
    # The trimmers' middle lies at 1376.5, the opening's at 1365.
    assert trimmers == [pytest.approx(hole + (1376.5 - 1365) / 20, abs=0.02)] * 2
    assert "J2a cut" in [w.text for w in page.items if isinstance(w, Words)]
