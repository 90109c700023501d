"""No two timbers in one place, none on a joist that is cut away: checker and planner."""

from __future__ import annotations

import copy
from collections import Counter
from typing import Any

import pytest

from baywalk.planning import Choices, failed, plan
from baywalk.planning.asbuilt import sound
from baywalk.planning.check.clash import check_clash
from baywalk.planning.check.given import given
from baywalk.planning.check.ground import ground
from baywalk.planning.check.openings import check_openings
from baywalk.planning.check.scene import Scene
from baywalk.planning.check.verdicts import Verdicts
from baywalk.planning.ground import ground as members
from baywalk.planning.support.builder import Builder
from baywalk.planning.support.noggins import Noggin, Section, across
from baywalk.rules import load
from tests.planned import broken, compact, small
from tests.planning_lofts import random_as_built
from tests.unit.planning.loft import rectangle, regular

Json = dict[str, Any]
PACK = load()


def said(check: Any, made: Json, as_built: Json, rule: str) -> str:
    """Return what one step of the checker says of the first deck by one rule."""
    known = ground(given(as_built)["runs"][0])
    assert known is not None
    out = Verdicts("D1")
    check(Scene(made["decks"][0], made, known, PACK), out)
    return next((row["say"] for row in out.rows() if row["rule"] == rule), "Holds.")


def move(noggin: Json, by: float) -> None:
    """Move a noggin along the joists [mm]."""
    noggin["y"] += by
    for end in noggin["ends"]:
        end[1] += by


def test_timbers_side_by_side_touch_and_are_well() -> None:
    as_built, made = small()
    assert said(check_clash, made, as_built, "noggin.list") == "Holds."
    one = made["decks"][0]["noggins"][0]
    other = copy.deepcopy(one) | {"id": "N9-9"}
    move(other, one["section"]["breadth"])
    made["decks"][0]["noggins"].append(other)
    assert said(check_clash, made, as_built, "noggin.list") == "Holds."


@pytest.mark.parametrize("by", [0.0, 20.0, 44.0])
def test_a_noggin_on_a_noggin_is_seen(by: float) -> None:
    # 47 broad: at 44 they stand 3 in each other, and 1.5 is what cutting to the millimetre allows.
    as_built, made = small()
    other = copy.deepcopy(made["decks"][0]["noggins"][0]) | {"id": "N9-9"}
    move(other, by)
    made["decks"][0]["noggins"].append(other)
    assert "N9-9: they stand in one place" in said(check_clash, made, as_built, "noggin.list")


def test_a_noggin_through_a_cleat_is_seen() -> None:
    as_built, made = compact()
    cleat = made["decks"][0]["cleats"][0]
    bay = cleat["joist"] - (cleat["side"] == "left")
    noggin = next(n for n in made["decks"][0]["noggins"] if n["bay"] == bay)
    move(noggin, cleat["y"] - noggin["y"])
    assert cleat["id"] in said(check_clash, made, as_built, "noggin.list")


@pytest.fixture(scope="module")
def hatch() -> tuple[Json, Json]:
    """Give a loft with a joist cut, and its plan."""
    as_built = regular(8, features=[rectangle("opening", 1230, 1000, 1970, 1800)])
    return as_built, plan(as_built, Choices(seconds=0.5))


def test_a_noggin_in_a_trimmer_is_seen(hatch: tuple[Json, Json]) -> None:
    as_built, made = hatch[0], copy.deepcopy(hatch[1])
    trimmer = made["decks"][0]["openings"][0]["trimmers"][0]
    noggin = next(n for n in made["decks"][0]["noggins"] if n["bay"] == 4 and not n.get("along"))
    move(noggin, trimmer["y"] + 60 - noggin["y"])
    assert trimmer["id"] in said(check_clash, made, as_built, "noggin.list")


def test_a_noggin_and_a_joint_on_a_joist_cut_away_are_seen(hatch: tuple[Json, Json]) -> None:
    # J4 is cut from y 1000 to 1800.
    as_built, made = hatch[0], copy.deepcopy(hatch[1])
    noggin = next(n for n in made["decks"][0]["noggins"] if n["bay"] == 4 and not n.get("along"))
    move(noggin, 1400 - noggin["y"])
    told = said(check_openings, made, as_built, "opening.trim")
    assert told == f"{noggin['id']}: J4 is cut away where it ends. 1 more like it."
    made = copy.deepcopy(hatch[1])
    joint = made["decks"][0]["joints"][0]
    joint.update(support={"joist": 4}, y0=1200.0, y1=1800.0)
    told = said(check_openings, made, as_built, "opening.trim")
    assert told == f"{joint['id']}: J4 is cut away under it."


def test_a_cleat_is_parted_by_what_crosses_it() -> None:
    """Boards of 1200: strutting stands in the middle of some cleats; each is one in the cost."""
    as_built = random_as_built(1)
    made = plan(as_built, Choices(seconds=0.3, board=(1200, 600)))
    assert broken(made, as_built) == {}
    parts = [Counter(c["joint"] for c in deck["cleats"]) for deck in made["decks"]]
    assert max(max(count.values(), default=0) for count in parts) > 1
    for deck, count in zip(made["decks"], parts, strict=True):
        assert deck["proof"]["counts"]["cleats"] == len(count)


@pytest.mark.parametrize("seed", [2000, 2002, 2024])
def test_beside_an_opening_noggins_end_on_the_timber_along_it(seed: int) -> None:
    """Under short pieces beside it they would else cross it and hang on the joist cut there."""
    as_built = random_as_built(seed, "opening", "skew")
    made = plan(as_built, Choices(seconds=0.3))
    assert failed(made) == []
    noggins = [n for deck in made["decks"] for n in deck["noggins"]]
    assert any(name.startswith("N") for n in noggins for name in n["between"])


def test_an_edge_over_a_joist_cut_away_has_a_timber_under_it() -> None:
    """J4 reaches from 1576.5 to 1623.5; the hatch ends at 1600, and the deck 380 before J5."""
    as_built = regular(8, features=[rectangle("opening", 1230, 1000, 1600, 1800)])
    made = plan(as_built, Choices(seconds=0.5))
    assert failed(made) == []
    along = [n["x"] for n in made["decks"][0]["noggins"] if n.get("along")]
    assert along == [pytest.approx(1623.5)]


def bay_two(*ys: float) -> tuple[Builder, list[Noggin]]:
    """Return a builder with noggins across the second bay of a plain loft, and those noggins."""
    builder = Builder(members(sound(regular(8))["runs"][0]), PACK, Section(47, 97))
    for y in ys:
        builder.add(noggin_at(builder, y))
    return builder, builder.noggins


def noggin_at(builder: Builder, y: float) -> Noggin:
    """Return a noggin across the second bay at ``y`` [mm]."""
    bay = builder.ground.bays[1]
    found = across(builder.ground, bay, y, "frame", builder.size, PACK)
    assert found is not None
    return found.serving("E1")


# An edge at 1000 that is borne from above it: a noggin serves where 18 of it lie on that side. One
# at 994 has 17.5 there, and one against it would be 41 off, out of reach: that has to do.
@pytest.mark.parametrize(
    ("there", "places"),
    [(1000, [1000]), (1023.5, [1023.5]), (995, [995]), (994, [994]), (1040, [1040, 993])],
)
def test_a_noggin_goes_against_what_stands_there(there: float, places: list[float]) -> None:
    builder, noggins = bay_two(there)
    builder.under(builder.ground.bays[1], 600.0, 1000.0, 1, noggin_at(builder, 1000))
    ys = [n.y for n in noggins]
    assert ys == [pytest.approx(y) for y in places]


def test_where_trimmer_and_strutting_bear_a_joint_no_cleat_is_planned() -> None:
    """A course cut to 122 by a hatch: over the trimmer and the strutting 20 would be left."""
    as_built = random_as_built(4)
    made = plan(as_built, Choices(seconds=0.3))
    assert broken(made, as_built) == {}
    least = PACK["noggin.cut_least"]
    assert all(c["length"] >= least for deck in made["decks"] for c in deck["cleats"])


# An edge at 1000 with the deck beyond it: the noggin's centre may be from 994.5 to 1023.5. Moved to
# 993 it would bear the edge on 16.5, and 18 are needed: so it stays, for the checker to see.
@pytest.mark.parametrize(
    ("there", "places"),
    [(1047, [1047, 1000]), (1040, [1040, 1023.5]), (1062, [1062, 1015]), (1010, [1010])],
)
def test_a_noggin_under_an_edge_gives_way_outwards(there: float, places: list[float]) -> None:
    builder, noggins = bay_two(there)
    builder.at_edge(noggin_at(builder, 1023.5), 1)
    ys = [n.y for n in noggins]
    assert ys == [pytest.approx(y) for y in places]


def test_edges_a_hand_apart_have_noggins_side_by_side() -> None:
    as_built = random_as_built(44)
    for run in as_built["runs"]:
        for feature in run["features"]:
            if feature["feature"] == "opening":
                # Else the joist that 605 mm calls for would stand in it.
                for corner in feature["polygon"][1:3]:
                    corner[0] -= 200
    assert broken(plan(as_built, Choices(seconds=0.3)), as_built) == {}
