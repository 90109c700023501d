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


@pytest.mark.parametrize(("field", "value"), [("depth", None), ("edge", "side")])
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
