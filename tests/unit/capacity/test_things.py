"""Things put on the floor, carried over it, and lifted to it."""

from __future__ import annotations

import math

import pytest

from tests.unit.capacity.loft import by_name, checked, loft, one

BATH = "bath,mass=300,width=700,length=1700"


def test_a_thing_between_two_joists_goes_to_each_by_nearness() -> None:
    """A safe on one spot at 100 mm from J3 of 400: three quarters there, a quarter on J4."""
    run = checked(loft(), dead=0.5, imposed=0, thing="safe,mass=100,x=1300,y=1500")["runs"][0]
    demands = [by_name(j)["shear, things put on the floor"]["demand"] for j in run["joists"][1:5]
               if "shear, things put on the floor" in by_name(j)]  # fmt: skip
    own = 1.35 * 0.2 * 3100 / 2e3
    point = 1.5 * 0.981
    assert demands == pytest.approx([own + point * 0.75 / 2, own + point * 0.25 / 2], rel=1e-5)


def test_all_of_it_lands_somewhere() -> None:
    """The shares of the joists come to the whole thing."""
    x, y, mass = 1333.0, 1500.0, 120.0
    run = checked(
        loft(), dead=0, imposed=0, point=0, thing=f"{BATH},x={x},y={y}".replace("300", "120")
    )
    shears = [
        by_name(j).get("shear, things put on the floor", {"demand": 0})["demand"]
        for j in run["runs"][0]["joists"]
    ]
    assert 2 * sum(shears) == pytest.approx(1.5 * mass * 9.81e-3, rel=1e-4)


def test_feet_and_moving_and_several_at_once() -> None:
    one_thing = by_name(one(loft(), dead=0.5, thing=[f"{BATH},feet=4,x=1200,y=1500"]))
    two = by_name(one(loft(), dead=0.5, thing=[f"{BATH},feet=4,x=1200,y=1500"] * 2))
    moving = by_name(one(loft(), dead=0.5, thing=[f"{BATH},feet=4,moving=jumped_on,x=1200,y=1500"]))
    name = "bending, things put on the floor"
    base = by_name(one(loft(), dead=0.5))["bending"]["demand"]
    assert two[name]["demand"] - base == pytest.approx(
        2 * (one_thing[name]["demand"] - base), rel=1e-4
    )
    assert moving[name]["demand"] - base == pytest.approx(
        3 * (one_thing[name]["demand"] - base), rel=1e-4
    )


def test_what_stays_is_a_long_load() -> None:
    """A bath on a dwelling's floor: the worse of long without the room, medium with it."""
    found = by_name(one(loft(), use="domestic", dead=0.5, imposed=0, thing=f"{BATH},x=1200,y=1500"))
    assert found["bending, things put on the floor"]["numbers"]["k_mod"] == 0.7


def test_a_thing_without_a_place_stands_on_every_joist_and_says_so() -> None:
    run = checked(loft(), dead=0.5, imposed=0, thing="safe,mass=100")["runs"][0]
    for joist in run["joists"]:
        own = 1.35 * 0.5e-3 * joist["width_carried"] * 3100**2 / 8
        whole = by_name(joist)["bending, things put on the floor"]["demand"]
        assert whole == pytest.approx((own + 1.5 * 981 * 3100 / 4) * 1e-6, rel=1e-5)
        assert any("safe would stand" in caution for caution in joist["cautions"])


def test_it_is_carried_over_the_joists_on_its_way() -> None:
    """A porter of 0.9 kN with half the thing, on one joist, short."""
    hatch = {
        "id": "h",
        "feature": "opening",
        "polygon": [[100, 100], [300, 100], [300, 700], [100, 700]],
    }
    run = checked(loft(count=9, features=[hatch]), dead=0.5, thing="safe,mass=60,x=1200,y=1500")
    joists = run["runs"][0]["joists"]
    crossed = [
        j["index"] for j in joists if "bending, a thing carried over the floor" in by_name(j)
    ]
    assert crossed == [1, 2, 3, 4]
    check = by_name(joists[2])["shear, a thing carried over the floor"]
    assert check["demand"] == pytest.approx(
        1.35 * 0.2 * 3.1 / 2 + 1.5 * (0.9 + 60 * 9.81e-3 / 2), rel=1e-5
    )
    assert check["numbers"]["k_mod"] == 0.9


@pytest.mark.parametrize(
    ("mass", "best", "overhead"),
    [
        (9, (1, 1), (1, 2)),
        (20, (1, 2), (None, None)),
        (30, (2, None), (None, None)),
        (24, (1, 3), (None, None)),
    ],
)
def test_lifting_filters(
    mass: float, best: tuple[object, ...], overhead: tuple[object, ...]
) -> None:
    """25 and 16 kg, 10 and 7 kg overhead; two people lift two thirds of their sum, three half."""
    (thing,) = checked(loft(), thing=f"box,mass={mass}")["lifting"]["things"]
    assert tuple(thing["people"].values()) == best
    assert (thing["overhead"]["men"], thing["overhead"]["women"]) == overhead


def test_through_the_hatch() -> None:
    """550 x 650 mm clear, 25 mm left for the hands on each side."""
    hatch = {"id": "h", "feature": "opening", "polygon": [[0, 0], [550, 0], [550, 650], [0, 650]]}

    def passes(size: str) -> dict[str, object]:
        lifting = checked(loft(features=[hatch]), thing=f"box,mass=5,{size}")["lifting"]
        found: dict[str, object] = lifting["things"][0]["hatches"][0]
        return found

    upright = passes("width=500,length=600,height=1500")
    assert (upright["passes"], upright["up"]) == (True, "height")
    assert passes("width=501,length=600,height=1500")["passes"] is False
    assert passes("width=1500,length=300,height=300")["up"] == "width"
    assert passes("width=500,length=600")["passes"] is None


def test_no_hoist() -> None:
    lifting = checked(loft())["lifting"]
    assert "No hoist" in lifting["cautions"][0]
    assert "none may hang from a roof" in lifting["cautions"][0]
    assert math.isclose(lifting["board"]["mass"], 19.4)


def test_partitions() -> None:
    """Across: 0.5 kN/m² more for up to 1 kN/m; too heavy counts in full. Along: in no check."""
    plain, across = (
        by_name(one(loft(), dead=0.5, **more)) for more in ({}, {"partition": "across,1"})
    )
    more = 1.5 * 0.5 * 0.4 * 3100**2 / 8e6
    assert across["bending"]["demand"] - plain["bending"]["demand"] == pytest.approx(more, rel=1e-4)
    heavy = by_name(one(loft(), dead=0.5, partition="across,4"))
    assert heavy["bending"]["demand"] - plain["bending"]["demand"] == pytest.approx(
        8 * more, rel=1e-4
    )
    told = checked(loft(), partition="along,0.9")
    assert any("in none of the joists' checks" in caution for caution in told["cautions"])
