"""Notches, holes, ends cut away."""

from __future__ import annotations

import pytest

from tests.unit.capacity.loft import by_name, checked, loft, one


def cut(**fields: object) -> list[dict[str, object]]:
    return [{"id": "c", "feature": "notch", "joist": 3, "edge": "top", **fields}]


def test_within_the_limits_nothing_more() -> None:
    """0.15 of the depth, at 0.15 of the span."""
    found = one(loft(features=cut(depth=22, length=40, from_near_support=450)))
    assert found["checks"] == one(loft())["checks"]
    assert not any("notch" in caution for caution in found["cautions"])


def test_beyond_them_what_is_left() -> None:
    """47 x 97 is left at 1.5 m: its own moment there against its own modulus."""
    found = one(loft(features=cut(depth=50, length=0, from_near_support=1500)), dead=0.5)
    check = by_name(found)["bending at notch 1"]
    whole = by_name(found)["bending"]
    assert check["demand"] == pytest.approx(whole["demand"], rel=1e-6)
    assert check["capacity"] == pytest.approx(whole["capacity"] * (97 / 147) ** 2, rel=1e-5)
    shear = by_name(found)["shear at notch 1"]
    assert shear["capacity"] == pytest.approx(by_name(found)["shear"]["capacity"] * 97 / 147, 1e-5)
    assert any("outside the published limits" in caution for caution in found["cautions"])


def test_a_moment_at_its_own_place() -> None:
    """wx(L-x)/2 at 400 mm in from the face, 450 from the bearing's middle."""
    found = one(loft(features=cut(depth=40, length=0, from_near_support=400)), dead=0.5)
    line = 0.4 * (1.35 * 0.5 + 1.5 * 0.25)
    check = by_name(found)["bending at notch 1"]
    assert check["demand"] == pytest.approx(line * 450 * (3100 - 450) / 2 * 1e-6, rel=1e-5)


def test_a_hole_leaves_both_edges() -> None:
    found = one(loft(features=cut(feature="hole", edge="centre", depth=60, from_near_support=1500)))
    check, whole = by_name(found)["bending at hole 1"], by_name(found)["bending"]
    assert check["capacity"] == pytest.approx(whole["capacity"] * (1 - (60 / 147) ** 3), rel=1e-5)


def test_a_notch_in_the_underside_is_refused() -> None:
    found = one(loft(span=1200.0, features=cut(edge="bottom", depth=5, from_near_support=600)))
    assert found["verdict"] == "refused"
    assert "There is no rule for that" in found["cautions"][0]
    assert "structural engineer" in found["say"]


def test_an_end_notched_over_its_support_has_its_own_rule() -> None:
    """EN 1995-1-1 6.5.2, from memory: k_v by 6.62 with k_n 5 and no taper."""
    notch = cut(edge="bottom", depth=30, length=100, from_near_support=-40)
    found = one(loft(features=notch), dead=0.5)
    check = by_name(found)["shear at notch 1"]
    h, left, run = 147.0, 117.0, 10 + 50
    alpha = left / h
    k_v = 5 / (
        h**0.5 * ((alpha * (1 - alpha)) ** 0.5 + 0.8 * run / h * (1 / alpha - alpha**2) ** 0.5)
    )
    assert check["rule"] == "ec5.notch.formula"
    assert check["numbers"]["k_v"] == pytest.approx(min(1, k_v), abs=1e-6)
    strength = 3.2 * 0.7 / 1.3
    expected = 2 / 3 * 0.67 * 47 * left * min(1, k_v) * strength
    assert check["capacity"] == pytest.approx(expected * 1e-3, rel=1e-5)


def test_a_cut_through_leaves_nothing() -> None:
    found = one(loft(features=cut(depth=147, from_near_support=1500)))
    check = by_name(found)["bending at notch 1"]
    assert (check["capacity"], check["utilisation"], check["holds"]) == (0, None, False)
    assert found["verdict"] == "does_not_hold"


@pytest.mark.parametrize(("field", "value"), [("depth", None), ("edge", "side"), ("edge", None)])
def test_a_cut_nobody_measured_leaves_its_joist_unchecked(field: str, value: object) -> None:
    found = one(loft(span=1000.0, features=cut(**{"depth": 9, field: value})))
    assert found["verdict"] == "not_checked"
    assert f"the {field} of its notch must be measured" in found["cautions"][0]


def test_what_has_no_joist_is_told_of() -> None:
    features = [*cut(joist=None, depth=9), *cut(joist=77, depth=9), {"feature": "support"}]
    run = checked(loft(features=features))["runs"][0]
    text = " ".join(run["cautions"])
    for words in ("without its joist", "J77", "without its place"):
        assert words in text


def test_a_cut_without_a_place_is_taken_at_the_worst() -> None:
    found = by_name(one(loft(features=cut(depth=20))))
    assert found["bending at notch 1"]["demand"] == found["bending"]["demand"]


def two_at(place: float, **second: object) -> list[dict[str, object]]:
    notch = cut(depth=40, length=100, from_near_support=1500)[0]
    return [notch, {**notch, "id": "d", "from_near_support": place, **second}]


HOLE = {"feature": "hole", "edge": "centre", "depth": 40, "length": 40}


@pytest.mark.parametrize("place", [1500, 1600, None])
def test_cuts_in_one_place_are_taken_together(place: float | None) -> None:
    """A notch over a hole, or near it: 13.5 and 53.5 mm are left, by hand about their own axis."""
    found = by_name(one(loft(features=two_at(place, **HOLE)), dead=0.5))  # type: ignore[arg-type]
    for name in ("notch 1", "hole 2"):
        bending, shear = found[f"bending at {name}"], found[f"shear at {name}"]
        assert bending["numbers"]["left"] == shear["numbers"]["left"] == 67
        axis = (13.5 * 6.75 + 53.5 * 80.25) / 67
        inertia = 13.5**3 / 12 + 53.5**3 / 12
        inertia += 13.5 * (axis - 6.75) ** 2 + 53.5 * (80.25 - axis) ** 2
        modulus = 47 * max(inertia / axis, 53.5**2 / 6)
        whole = found["bending"]["capacity"] / (47 * 147**2 / 6)
        assert bending["capacity"] == pytest.approx(whole * modulus, rel=1e-5)
        assert shear["capacity"] == pytest.approx(found["shear"]["capacity"] * 67 / 147, rel=1e-5)


def test_cuts_apart_are_taken_one_by_one() -> None:
    found = by_name(one(loft(features=two_at(1800, **HOLE)), dead=0.5))
    assert found["bending at notch 1"]["numbers"]["left"] == 107


def test_of_two_notches_from_one_edge_the_deeper_counts() -> None:
    found = by_name(one(loft(features=two_at(1550, depth=50)), dead=0.5))
    assert found["bending at notch 1"]["numbers"]["left"] == 97


@pytest.mark.parametrize(("deep", "left"), [(40, 67), (60, 53.5), (90, 53.5), (100, 47), (147, 0)])
def test_a_notch_may_reach_into_a_hole_and_past_it(deep: int, left: float) -> None:
    """A hole of 40 mm about the middle of 147 mm, from 53.5 to 93.5 mm below the top."""
    found = one(loft(count=1, features=[{**cut(**HOLE, from_near_support=1500)[0], "joist": 1},
                {**cut(depth=deep, from_near_support=1500)[0], "joist": 1}]), 1)  # fmt: skip
    check = by_name(found)["bending at notch 2"]
    assert check["numbers"]["left"] == left
    assert check["numbers"]["W"] <= 47 * (147 - deep) ** 2 / 6 + 1e-6


def test_a_hole_off_the_centre_line_is_taken_where_it_harms_most() -> None:
    """Wherever it lies, what is left is at least what is counted on."""
    hole = cut(feature="hole", edge="top", depth=40, from_near_support=1500)
    found = by_name(one(loft(features=hole)))
    counted = found["bending at hole 1"]["numbers"]["W"]
    rest, worst = 147.0 - 40, 1e9
    for upper in range(1, 54):
        lower = rest - upper
        axis = (upper**2 / 2 + lower * (upper + 40 + lower / 2)) / rest
        inertia = (upper**3 + lower**3) / 12 + upper * (axis - upper / 2) ** 2
        inertia += lower * (upper + 40 + lower / 2 - axis) ** 2
        worst = min(worst, 47 * max(inertia / max(axis, 147 - axis), lower**2 / 6))
    assert counted == pytest.approx(worst, rel=0.01)
    assert counted < 47 * rest**2 / 6


def test_the_published_zones_are_those_of_each_span() -> None:
    """A notch over the spine of a joist that runs on is where it is bent most; it is checked."""
    spine = {"id": "s", "feature": "support", "length": 100, "through": True}
    over = [*cut(depth=20, from_near_support=1000), {**spine, "from_near_support": 1000}]
    assert "bending at notch 1" in by_name(one(loft(count=4, span=6000.0, features=over)))
    # 0.15 of the span beside the far end, which ends there, is as published.
    beside = [*cut(depth=20, from_near_support=5262), {**spine, "from_near_support": 1000}]
    assert "bending at notch 1" not in by_name(one(loft(count=4, span=6000.0, features=beside)))


def test_what_is_left_carries_every_line() -> None:
    """Permanent load alone, and a thing over a notch that would pass without it."""
    deep = by_name(one(loft(features=cut(depth=50, from_near_support=1500)), dead=2, imposed=0))
    alone = deep["bending at notch 1, permanent load alone"]
    assert alone["utilisation"] == pytest.approx(
        deep["bending at notch 1"]["utilisation"] * 0.7 / 0.6, rel=1e-5
    )
    small = cut(depth=20, from_near_support=450)
    found = by_name(one(loft(features=small), thing="safe,mass=300,x=1200,y=1500"))
    whole = found["bending, things put on the floor"]
    assert found["bending at notch 1, things put on the floor"]["utilisation"] == pytest.approx(
        whole["utilisation"] * (147 / 127) ** 2, rel=1e-5
    )


def test_a_cut_shows_what_went_into_it() -> None:
    """The formula can be followed with the numbers shown, and each has its rule."""
    check = by_name(one(loft(features=cut(depth=50, from_near_support=1500))))["bending at notch 1"]
    n = check["numbers"]
    worked = n["W"] * n["k_h"] * n["k_sys"] * n["k_mod"] * n["f_m,k"] / n["γ_M"]
    assert worked * 1e-6 == pytest.approx(check["capacity"], rel=1e-5)
    assert {"timber.class.C16", "ec5.k_mod", "ec5.k_h", "notch.limits"} <= set(check["rules"])
