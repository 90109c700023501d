"""Decks over joists that lap on a beam: hand-worked, then plans and what is done to them."""

from __future__ import annotations

import copy
import json
from functools import cache
from typing import Any

import jsonschema
import pytest

from baywalk import places
from baywalk.capacity import capacity, read_setting
from baywalk.fieldbook import load_survey
from baywalk.planning import Choices, Refused, plan
from baywalk.planning.asbuilt import sound
from baywalk.planning.check.ground import Line
from baywalk.planning.check.joints import bearing
from baywalk.planning.ground import Member, ground
from baywalk.planning.refused import BadAsBuilt
from baywalk.reconcile import reconcile
from baywalk.rules import load
from baywalk.sheets import Source, drawing
from baywalk.sheets.shape import timbers
from tests.lapped import survey
from tests.planned import broken
from tests.planning_lofts import lapped, plain, random_lapped

Json = dict[str, Any]

LAP = (2500.0, 2700.0)
POINTS = ((400.0, 0.0), (400.0, 2500.0), (447.0, 2700.0), (447.0, 5000.0))


@cache
def _made(seed: int | None = None) -> tuple[Json, Json]:
    as_built = lapped() if seed is None else random_lapped(seed)
    return as_built, plan(as_built, Choices(seconds=0.5))


def _deck(seed: int | None = None) -> Json:
    deck: Json = _made(seed)[1]["decks"][0]
    return deck


# --- by hand: 47 broad at x 400 to the lap, at 447 beyond it --------------------------------------


def test_what_a_lapped_joist_takes_up_is_what_both_timbers_would() -> None:
    joist = Member("J1", 1, POINTS, 47.0, 147.0, laps=(LAP,))
    assert [joist.left(y) for y in (2499, 2600, 2701)] == [376.5, 376.5, 423.5]
    assert [joist.right(y) for y in (2499, 2600, 2701)] == [423.5, 470.5, 470.5]


def test_what_it_bears_is_what_either_would() -> None:
    """Side by side the two share no more than a face; 10 out of line they share 37."""
    joist = Member("J1", 1, POINTS, 47.0, 147.0, laps=(LAP,))
    assert (joist.reach(2400, 2900).left, joist.reach(2400, 2900).right) == (423.5, 423.5)
    assert (joist.reach(1900, 2490).left, joist.reach(1900, 2490).right) == (376.5, 423.5)
    near = tuple((x if x == 400 else 410.0, y) for x, y in POINTS)
    near_by = Member("J1", 1, near, 47.0, 147.0, laps=(LAP,))
    assert (near_by.reach(2400, 2900).left, near_by.reach(2400, 2900).right) == (386.5, 423.5)


@pytest.mark.parametrize(
    ("joint", "own"),
    [
        # Short of the lap it lies on the near timber, beyond it on the far one.
        ({"x": 400.0, "y0": 1900.0, "y1": 2499.0}, (23.5, 23.5)),
        ({"x": 447.0, "y0": 2701.0, "y1": 3300.0}, (23.5, 23.5)),
        # Over any of the lap only what both have is sure: nothing right of 423.5 or left of it.
        ({"x": 400.0, "y0": 1901.0, "y1": 2501.0}, (-23.5, 23.5)),
        ({"x": 423.5, "y0": 2300.0, "y1": 2900.0}, (0.0, 0.0)),
    ],
)
def test_the_checker_finds_the_same_by_its_own_code(joint: Json, own: tuple[float, float]) -> None:
    line = Line("J1", POINTS, 47.0, (LAP,))
    assert bearing(line, joint) == pytest.approx(own, abs=1e-6)


def test_a_bay_is_as_narrow_as_both_timbers_make_it() -> None:
    """400 less 47 is 353; where J2's near and J1's far timber may face each other, 306."""
    bay = ground(sound(lapped())["runs"][0]).bays[2]
    assert [round(bay.gap(y), 6) for y in (2499, 2600, 2701)] == [353, 306, 353]


# --- plans ----------------------------------------------------------------------------------------


def test_one_deck_lies_across_both_sides() -> None:
    as_built, made = _made()
    assert broken(made, as_built) == {}
    (deck,) = made["decks"]
    _, low, *_ = (y for _, y in deck["deck"]["outline"])
    assert low < 0
    assert max(y for _, y in deck["deck"]["outline"]) > 4700
    for course in deck["courses"]:
        # A course is whole from wall to wall, over the beam as elsewhere.
        assert len(course["segments"]) == 1
    assert "lap.taken" in {caution["code"] for caution in deck["cautions"]}


def test_over_the_lap_every_joint_is_on_a_frame_and_elsewhere_on_its_own_timber() -> None:
    deck = _deck()
    over = [j for j in deck["joints"] if j["y0"] < 2700 and j["y1"] > 2500]
    assert over
    assert all("frame" in joint["support"] for joint in over)
    for joint in deck["joints"]:
        if "joist" in joint["support"]:
            x = 200 + (joint["support"]["joist"] - 1) * 400 + (47 if joint["y0"] > 2600 else 0)
            assert abs(joint["x"] - x) <= 5.5


def test_no_course_ends_over_the_lap_and_no_noggin_stands_in_it() -> None:
    deck = _deck()
    edges = [y for course in deck["courses"] for y in (course["y0"], course["y1"])]
    assert not [y for y in edges if 2500 - 47 < y < 2700 + 47]
    for noggin in deck["noggins"]:
        if not noggin.get("along"):
            assert noggin["y"] + 23.5 <= 2500 or noggin["y"] - 23.5 >= 2700


def test_strutting_goes_by_the_span_on_each_side() -> None:
    """Supports at -320 and 5000, the lap's middle at 2600: 2920 and 2400, so one row and none."""
    as_built = lapped()
    for joist in as_built["runs"][0]["joists"]:
        joist["ends"] = {"near_support": {"value": -320.0}, "far_support": {"value": 5000.0}}
        joist["span"] = {"value": 5320.0}
    made = plan(as_built, Choices(seconds=0.5))
    assert broken(made, as_built) == {}
    rows = {round(n["y"], -2) for n in made["decks"][0]["noggins"] if n["use"] == "strutting"}
    assert rows <= {1100, 1200}
    assert rows


@pytest.mark.parametrize("seed", [34])
def test_a_random_lapped_loft_holds_every_rule(seed: int) -> None:
    as_built, made = _made(seed)
    assert broken(made, as_built) == {}


@cache
def _wide() -> tuple[Json, Json]:
    """Return a loft 6600 long at centres of 620, which call for a joist in every bay."""
    as_built = lapped(5, 620.0, beam=(2900.0, 3150.0), length=6600.0)
    return as_built, plan(as_built, Choices(seconds=0.5))


def test_an_added_joist_laps_as_its_neighbours_do() -> None:
    """By hand: from -300 to 3150 and from 2900 to 6300, so 3450 and 3400, from stock to 5400."""
    as_built, made = _wide()
    assert broken(made, as_built) == {}
    (deck,) = made["decks"]
    assert [joist["id"] for joist in deck["added_joists"]] == ["J1a", "J2a", "J3a", "J4a"]
    for joist in deck["added_joists"]:
        assert joist["lengths"] == [3450.0, 3400.0]
        x = 200 + (joist["bay"] - 0.5) * 620
        assert joist["laps"] == [[[x, 2900.0], [x + 47, 3150.0]]]
    cut = {cut["item"] for timber in deck["timbers"] for cut in timber["cuts"]}
    assert {"J1a.1", "J1a.2"} <= cut
    assert "J1a" not in cut


@pytest.mark.parametrize(
    "spoil",
    [
        lambda joist: joist["lengths"].__setitem__(0, 3300.0),
        lambda joist: joist["lengths"].pop(),
        lambda joist: joist.pop("laps"),
        lambda joist: joist["laps"][0][0].__setitem__(1, 2700.0),
        lambda joist: joist["laps"][0][1].__setitem__(1, 3000.0),
    ],
)
def test_an_added_joist_that_does_not_lap_so_is_caught(spoil: Any) -> None:
    as_built, made = _wide()
    wrong = copy.deepcopy(made)
    spoil(wrong["decks"][0]["added_joists"][0])
    assert {"plan.joists", "plan.form"} & broken(wrong, as_built).keys()


# --- what the checker must see --------------------------------------------------------------------


def test_a_plan_made_without_the_lap_is_caught() -> None:
    """The lap lies over the edge of two courses; a plan that knows nothing of it builds on it."""
    as_built = lapped(beam=(2640.0, 2780.0), jog=5.0)
    blind = copy.deepcopy(as_built)
    del blind["runs"][0]["laps"]
    made = plan(blind, Choices(seconds=0.5))
    assert broken(made, blind) == {}
    assert "noggin.lap" in broken(made, as_built)


def test_a_joint_moved_into_the_lap_is_caught() -> None:
    """Courses are pushed along until the joints that lay on joists lie over the lap."""
    as_built, made = _made()
    beside = [j for j in _deck()["joints"] if "joist" in j["support"] and j["y1"] < 2500]
    assert beside
    moved = copy.deepcopy(as_built)
    shift = 2600 - beside[-1]["y1"]
    for joist in moved["runs"][0]["joists"]:
        for line in ("middle 1", "middle 2"):
            joist["at"][line]["point"][1] -= shift + 200
    found = broken(made, moved)
    assert "joint.bearing" in found


@pytest.mark.parametrize("use", ["frame", "perimeter"])
def test_a_noggin_moved_into_the_lap_is_caught(use: str) -> None:
    as_built, made = _made()
    wrong = copy.deepcopy(made)
    noggin = next(n for n in wrong["decks"][0]["noggins"] if n["use"] == use and not n.get("along"))
    noggin["y"] = 2600.0
    for end in noggin["ends"]:
        end[1] = 2600.0
    assert "noggin.lap" in broken(wrong, as_built)


def test_a_cleat_in_the_lap_is_caught() -> None:
    as_built, made = _made()
    wrong = copy.deepcopy(made)
    deck = wrong["decks"][0]
    joint = next(j for j in deck["joints"] if "frame" in j["support"])
    section = {"breadth": 47, "depth": 97}
    deck["cleats"].append(
        {"id": "C99", "joint": joint["id"], "joist": 3, "side": "left", "y": 2600.0}
        | {"length": 150.0, "section": section}
    )
    assert "noggin.lap" in broken(wrong, as_built)


# --- what is refused ------------------------------------------------------------------------------


def _reasons(as_built: Json, **choices: Any) -> list[str]:
    with pytest.raises(Refused) as caught:
        plan(as_built, Choices(seconds=0.5, **choices))
    return [reason.code for reason in caught.value.reasons]


def test_a_timber_without_a_direction_of_its_own_is_refused() -> None:
    as_built = lapped()
    as_built["runs"][0]["joists"][2]["at"]["far"]["point"] = None
    assert _reasons(as_built) == ["lap.not_read"]


def test_a_chimney_edge_over_the_lap_is_refused_in_words() -> None:
    as_built = lapped()
    corners = [[450, 2000], [950, 2000], [950, 2600], [450, 2600]]
    chimney = {"id": "c" * 8, "feature": "obstacle", "polygon": corners}
    as_built["runs"][0]["features"] = [chimney]
    assert _reasons(as_built) == ["lap.in_the_way"]


@pytest.mark.parametrize("pair", [["near", "far"], ["middle 2", "middle 1"], ["near", "attic"]])
def test_a_lap_that_is_none_is_bad_input(pair: list[str]) -> None:
    as_built = lapped()
    as_built["runs"][0]["laps"] = [pair]
    with pytest.raises(BadAsBuilt, match=r"runs/0/laps/0.*neighbouring"):
        plan(as_built)


@pytest.mark.parametrize("pair", ["near", ["near"], ["near", "near"], [1, 2]])
def test_a_lap_of_another_shape_is_bad_input(pair: Any) -> None:
    as_built = lapped()
    as_built["runs"][0]["laps"] = [pair]
    with pytest.raises(BadAsBuilt, match="laps"):
        plan(as_built)


# --- runs surveyed each by itself -----------------------------------------------------------------


def test_two_runs_are_told_how_their_decks_meet() -> None:
    """18 mm of bearing and 10 mm between them, both of the rule pack."""
    as_built = plain(4, 400, 1500)
    second = copy.deepcopy(as_built["runs"][0]) | {"id": "B", "title": "beyond the beam"}
    both = as_built | {"runs": [*as_built["runs"], second]}
    made = plan(both, Choices(seconds=0.5))
    assert [deck["run"] for deck in made["decks"]] == ["A", "B"]
    (say,) = [c["say"] for c in made["cautions"] if c["code"] == "runs.apart"]
    assert "18 mm" in say
    assert "10 mm" in say
    assert "runs.apart" not in {c["code"] for c in plan(as_built)["cautions"]}


@pytest.mark.parametrize("seed", range(10))
def test_random_lapped_lofts_are_as_builts(seed: int) -> None:
    path = places.shared() / "schemas" / "as-built.schema.json"
    jsonschema.validate(random_lapped(seed), json.loads(path.read_text(encoding="utf-8")))


# --- from the field book down ---------------------------------------------------------------------


def test_a_lapped_survey_goes_down_the_whole_chain() -> None:
    """Supports at -250 and 5050, the beam's middle at 2600: 2850 and 2450, and half bearings."""
    surveyed = load_survey(json.dumps(survey()))
    as_built = reconcile(surveyed)
    assert as_built["settled"]
    made = plan(as_built, Choices(seconds=0.5))
    assert broken(made, as_built) == {}
    pack = load()
    loads = capacity(as_built, read_setting({}, pack), pack)
    for joist in loads["runs"][0]["joists"]:
        assert joist["spans"] == pytest.approx([2850 + 20, 2450 + 20], abs=1)
    source = Source(as_built, made, loads, survey=surveyed)
    for name in ("as-built", "set-out", "load-check"):
        assert drawing(name, source, "svg")
    # Both timbers are drawn, each past the other from line to line.
    run = as_built["runs"][0]
    for joist in run["joists"]:
        near, far = timbers(run, joist)
        assert [p[1] for p in near][-1] == pytest.approx(2700, abs=2)
        assert far[0][1] == pytest.approx(2500, abs=2)
        assert far[0][0] - near[-1][0] == pytest.approx(47, abs=2)
