"""Joists over several supports: in one piece, in two, or nobody knows."""

from __future__ import annotations

from itertools import product

import pytest

from baywalk.capacity.beam import Point, Spread, solve
from baywalk.capacity.effects import Bar, effects
from tests.unit.capacity.loft import by_name, checked, loft, one

SPINE = {"id": "s", "feature": "support", "from_near_support": 3000, "length": 100}


def test_two_spans_from_bearing_to_bearing() -> None:
    """Half a bearing outside, the support's middle inside."""
    found = one(loft(span=6000.0, features=[{**SPINE, "through": True}]))
    assert found["spans"] == [3050, 3050]
    assert found["span"] == 6100


def test_in_one_piece_as_the_handbook_has_it() -> None:
    """Permanent load alone over two equal spans: wL²/8 over the spine, 5/8 wL beside it."""
    found = by_name(one(loft(span=6000.0, features=[{**SPINE, "through": True}]), dead=0.5))
    w = 1.35 * 0.2
    bending = found["bending, permanent load alone"]
    assert bending["numbers"]["k_mod"] == 0.6
    # A little less over the support than wL²/8, for the joist gives by shear as well.
    slip = 3 * 8000 * 47 * 147**3 / 12 / (500 * 47 * 147 / 1.2 * 3050**2)
    assert bending["demand"] == pytest.approx(w * 3050**2 / 8 / (1 + slip) * 1e-6, rel=1e-5)
    assert found["bearing, permanent load alone"]["demand"] > w * 3050 / 2 * 1e-3


def test_the_worse_of_both_where_nobody_knows() -> None:
    """As strong as the weaker of one long joist and two that meet; and it is said."""
    known = one(loft(span=6000.0, features=[{**SPINE, "through": True}]), dead=0.5)
    unknown = one(loft(span=6000.0, features=[SPINE]), dead=0.5)
    short = by_name(one(loft(span=2950.0), dead=0.5))
    for name, check in by_name(unknown).items():
        assert check["utilisation"] >= by_name(known)[name]["utilisation"] - 1e-6
        if name in short:
            assert check["demand"] >= short[name]["demand"] - 1e-5, name
    assert any("in one piece" in caution for caution in unknown["cautions"])
    assert not any("in one piece" in caution for caution in known["cautions"])


def test_imposed_load_on_the_worst_spans() -> None:
    """One span loaded: w_g L²/16-ish plus more than both loaded would give."""
    bar = Bar((3000.0, 3000.0), through=True, flexural=1e12, shear=0.0)
    both, either = effects(bar, 1.0), effects(bar, 0.0, 1.0)
    assert either.m == pytest.approx(both.m)
    assert either.sag > both.sag
    # Loaded on one span only: 0.0093 wL⁴/EI against 0.0054, as in the handbooks.
    assert either.sag == pytest.approx(0.00915 * 3000**4 / 1e12, rel=0.01)


@pytest.mark.parametrize(
    "spans", [(3000.0, 2000.0), (2500.0, 4000.0, 1500.0), (2e3, 3e3, 3e3, 1e3)]
)
def test_no_pattern_of_loaded_spans_is_worse(spans: tuple[float, ...]) -> None:
    """Against every one of the patterns there are, one by one."""
    bar = Bar(spans, through=True, flexural=1e12, shear=2e6)
    found = effects(bar, 0.3, 1.1)
    places = bar.supports
    for pattern in product((0.0, 1.1), repeat=len(spans)):
        zones = zip(places, places[1:], pattern, strict=False)
        loads = tuple(Spread(a, b, 0.3 + q) for a, b, q in zones)
        one_by_one = solve(places, loads, bar.flexural, bar.shear)
        assert max(abs(m) for m in one_by_one.moments()) <= found.m * (1 + 1e-9)
        assert one_by_one.most_force() <= found.v * (1 + 1e-9)
        assert one_by_one.most_sag() <= found.sag * (1 + 1e-9)
        for got, most in zip(one_by_one.reactions, found.reactions, strict=True):
            assert got <= most * (1 + 1e-9)


def test_a_point_load_finds_its_worst_place() -> None:
    """0.2074 PL at 0.432 L of two equal spans (from memory of the handbooks)."""
    bar = Bar((3000.0, 3000.0), through=True, flexural=1e12, shear=0.0)
    assert effects(bar, 0.0, point=1000.0).m == pytest.approx(0.2074 * 1000 * 3000, rel=1e-3)


@pytest.mark.parametrize(
    ("spans", "q"),
    [((3000.0, 2000.0), 0.4), ((2500.0, 4000.0, 600.0), 0.0), ((500.0, 400.0, 900.0), 0.7)],
)
def test_a_point_load_tried_everywhere_is_no_worse(spans: tuple[float, ...], q: float) -> None:
    """Every pattern and many places, solved one by one; the last bar is so stubby that shear rules.

    Moments to the last digit of the grid; sag to a thousandth, for its places lie 2 % apart.
    """
    bar = Bar(spans, through=True, flexural=1e12, shear=4e6)
    found, places = effects(bar, 0.3, q, 900.0), bar.supports
    moments, sags = [], []
    for pattern in product((0.0, q), repeat=len(spans)):
        zones = zip(places, places[1:], pattern, strict=False)
        even = tuple(Spread(a, b, 0.3 + more) for a, b, more in zones)
        for start, span in zip(places, spans, strict=False):
            for step in range(1, 25):
                load = Point(start + span * step / 25, 900.0)
                tried = solve(places, (*even, load), bar.flexural, bar.shear)
                moments.append(max(map(abs, tried.moments())))
                sags.append(tried.most_sag())
    assert max(moments) <= found.m * (1 + 1e-9)
    assert max(moments) >= found.m * (1 - 2e-3)
    assert max(sags) <= found.sag * (1 + 1e-3)
    assert max(sags) >= found.sag * (1 - 2e-3)


def test_supports_may_stand_on_the_joist_itself() -> None:
    document = loft(span=6000.0)
    document["runs"][0]["joists"][2]["supports"] = [
        {"from_near_support": 2000, "length": 100, "through": True}
    ]
    assert one(document)["spans"] == [2050, 4050]
    assert one(document, 2)["spans"] == [6100]


def test_a_wall_written_down_twice_is_one_wall() -> None:
    """Under all joists, and again under one; the shorter bearing and the worse of both count."""
    twice = loft(span=6000.0, features=[{**SPINE, "through": True}, {**SPINE, "joist": 3}])
    assert one(twice)["spans"] == [3050, 3050]
    assert one(twice)["checks"] == one(loft(span=6000.0, features=[SPINE]))["checks"]
    near = {**SPINE, "from_near_support": 3070, "length": 40, "through": True}
    assert one(loft(span=6000.0, features=[SPINE, near]))["spans"] == [3050, 3050]
    apart = {**near, "from_near_support": 3071}
    assert len(one(loft(span=6000.0, features=[SPINE, apart]))["spans"]) == 3


def test_a_support_beyond_the_joist_with_a_thing_on_it() -> None:
    """It is no support, and nothing goes round in a circle over it."""
    beyond = {**SPINE, "from_near_support": 9000}
    thing = "safe,mass=100,x=1200,y=1500"
    assert one(loft(features=[beyond]), thing=thing)["checks"] == one(loft(), thing=thing)["checks"]


@pytest.mark.parametrize("spans", [(500.0, 3500.0), (300.0, 3000.0), (600.0, 3000.0, 3000.0)])
def test_a_point_load_may_press_harder_than_its_weight(spans: tuple[float, ...]) -> None:
    """Beside a short span it prises the far end up: against every place, one by one."""
    bar = Bar(spans, through=True, flexural=1e11, shear=3e6)
    found = effects(bar, 0.1, point=1000.0)
    even = Spread(0.0, sum(spans), 0.1)
    force, most = 0.0, [0.0] * (len(spans) + 1)
    for k in range(1, 400):
        point = Point(sum(spans) * k / 400, 1000.0)
        solved = solve(bar.supports, (even, point), bar.flexural, bar.shear)
        force = max(force, solved.most_force())
        most = [max(pair) for pair in zip(most, solved.reactions, strict=True)]
    assert force <= found.v * (1 + 1e-4)
    assert all(a <= b * (1 + 1e-4) for a, b in zip(most, found.reactions, strict=True))
    still = solve(bar.supports, (even,), bar.flexural, bar.shear).reactions
    assert found.reactions[1] > still[1] + 1000


def test_an_end_that_may_lift_is_told_of() -> None:
    """1.5 m beside 3.5 m lifts under a person on the long span; 2.5 beside 3 does not."""
    long, even = (
        one(loft(span=span, features=[{**SPINE, "from_near_support": place, "through": True}]),
            dead=0.6)
        for span, place in ((5000.0, 1500), (5500.0, 2500))
    )  # fmt: skip
    assert any("may lift J3 at its near end" in caution for caution in long["cautions"])
    assert not any("may lift" in caution for caution in even["cautions"])


def test_strutting_goes_by_each_span() -> None:
    found = checked(loft(span=6000.0, features=[SPINE]))["runs"][0]["strutting"]
    assert (found["rows"], found["say"][:20]) == (1, "Spans up to 2950 mm:")


def test_a_table_is_for_one_clear_span() -> None:
    """Over a spine the longer of its spans is held to the table, and not both together."""
    spine = {**SPINE, "from_near_support": 1500}
    (row,) = one(loft(span=5000.0, features=[spine]))["evidence"]
    assert "spans 3450 mm" in row["say"]


def test_centres_that_read_alike_are_no_difference() -> None:
    (row,) = one(loft(centres=400.2))["evidence"]
    assert "these are" not in row["say"]
