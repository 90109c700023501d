"""Joists that lap over a beam: two spans, and nothing carried from the one into the other."""

from __future__ import annotations

from typing import Any

import pytest

from baywalk.capacity.beam import Point, Spread
from baywalk.capacity.effects import Bar, effects
from tests.unit.capacity.loft import by_name, loft, one

LINES = {"near": 0.0, "beam near": 2900.0, "beam far": 3100.0, "far": 5900.0}
SPINE = {"id": "s", "feature": "support", "from_near_support": 3000, "length": 100}


def lapped(**more: Any) -> dict[str, Any]:
    """Return joists of 6000 from support to support that lap between 2900 and 3100 [mm]."""
    whole = {"near_support": {"value": 0.0}, "far_support": {"value": 6000.0}}
    document = loft(span=6000.0, ends=whole, **more)
    run = document["runs"][0]
    run["lines"], run["laps"] = list(LINES), [["beam near", "beam far"]]
    for joist in run["joists"]:
        x = joist["at"]["near"]["x"]
        past = 47.0
        joist["at"] = {
            line: {"x": x + past * (y > 3000), "sd": 0.0, "point": [x + past * (y > 3000), y]}
            for line, y in LINES.items()
        }
    return document


def test_each_timber_has_its_own_span() -> None:
    """Half a bearing outside; inside, the middle of what they lap over."""
    found = one(lapped(features=[SPINE]))
    assert found["spans"] == [3050, 3050]
    assert any("lap over its inner support" in caution for caution in found["cautions"])
    assert not any("in one piece" in caution for caution in found["cautions"])
    assert not any("midway" in caution for caution in found["cautions"])


def test_bending_and_shear_are_those_of_one_simple_span() -> None:
    """wL²/8 and wL/2 of 3050 (a handbook table of simple beams, from memory)."""
    both = by_name(one(lapped(features=[SPINE]), dead=0.5))
    w = 1.35 * 0.2
    bending, shear = (both[f"{what}, permanent load alone"] for what in ("bending", "shear"))
    assert bending["demand"] == pytest.approx(w * 3050**2 / 8 * 1e-6, rel=1e-5)
    assert shear["demand"] == pytest.approx(w * 3050 / 2 * 1e-3, rel=1e-5)
    # A joist of one span with the same bearings between the same middles.
    alone = by_name(one(loft(span=2950.0), dead=0.5))
    for name, check in alone.items():
        assert both[name]["demand"] == pytest.approx(check["demand"], rel=1e-6), name


def test_a_lap_is_never_taken_to_be_in_one_piece() -> None:
    """Even where the support is marked so: the lap was seen."""
    through = {**SPINE, "through": True}
    lap, plain = (by_name(one(lapped(features=[s]))) for s in (through, SPINE))
    assert {n: c["demand"] for n, c in lap.items()} == {n: c["demand"] for n, c in plain.items()}
    whole = by_name(one(loft(span=6000.0, features=[through])))
    floor = "deflection, final"
    names = [name for name in lap if name.startswith(floor)]
    assert names
    assert all(lap[name]["demand"] > whole[name]["demand"] for name in names)


def test_without_a_support_written_down_the_middle_of_the_lap_stands_in() -> None:
    found = one(lapped())
    assert found["spans"] == [3050, 3050]
    assert any("midway between" in caution for caution in found["cautions"])


def test_without_its_place_it_is_one_long_joist_and_that_is_said() -> None:
    document = lapped()
    for joist in document["runs"][0]["joists"]:
        joist["ends"] = None
    found = one(document)
    assert found["spans"] == [6100]
    assert any("one long joist" in caution for caution in found["cautions"])


def test_a_load_on_one_side_does_nothing_on_the_other() -> None:
    """By hand: 2 kN in the middle of 4 m is 2 kNm, and 1 kN at either of its two supports."""
    bar = Bar((4000.0, 3000.0), through=True, flexural=1e12, shear=0.0, laps=(1,))
    found = effects(bar, 0.0, extra=(Point(2000.0, 2000.0),))
    assert found.m == pytest.approx(2e6)
    assert found.reactions == pytest.approx((1000.0, 1000.0, 0.0))


def test_of_two_timbers_side_by_side_each_bears_alone() -> None:
    """By hand: 1 N/mm over 4 m and 3 m is 2000 and 1500 N where they lap, not 3500."""
    bar = Bar((4000.0, 3000.0), through=True, flexural=1e12, shear=0.0, laps=(1,))
    found = effects(bar, 1.0)
    assert found.reactions == pytest.approx((2000.0, 2000.0, 1500.0))


def test_one_that_runs_over_two_supports_and_laps_over_the_next() -> None:
    """Two spans of 3 m in one piece, -wL²/8 between them, and a third of its own."""
    bar = Bar((3e3, 3e3, 2e3), through=True, flexural=1e12, shear=0.0, laps=(2,))
    found = effects(bar, 0.0, extra=(Spread(0.0, 6000.0, 1.0),))
    assert found.m == pytest.approx(3000**2 / 8, rel=1e-6)
    assert found.reactions == pytest.approx((0.375 * 3e3, 1.25 * 3e3, 0.375 * 3e3, 0.0), rel=1e-6)
