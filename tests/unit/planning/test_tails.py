"""Joists to be added that meet an opening: cut to hang from its trimmers, as joists there are.

Worked out by hand; the lofts are invented.
"""

from __future__ import annotations

import random
from typing import Any

import pytest

from baywalk.planning import Choices, Refused, plan
from baywalk.planning.asbuilt import sound
from baywalk.planning.ground import ground
from baywalk.planning.openings import opened
from baywalk.planning.support.builder import Builder
from baywalk.planning.support.noggins import Section, across
from baywalk.rules import load
from tests.hung import BETWEEN, DEPTH, loft, made
from tests.mutations import places, spoils
from tests.planned import broken
from tests.unit.planning.loft import as_built, rectangle
from tests.unit.planning.test_plan import VALID

Json = dict[str, Any]
FIT = 2.0


def _deck(*, cutting: bool) -> Json:
    given, plan_ = made(cutting=cutting)
    assert broken(plan_, given) == {}
    assert not list(VALID.iter_errors(plan_))
    (deck,) = plan_["decks"]
    return dict(deck)


def _parts(joist: Json) -> list[tuple[float, float, float, list[str]]]:
    return [(t["near"][1], t["far"][1], t["length"], t["hangs"]) for t in joist["tails"]]


def test_a_joist_that_would_stand_in_an_opening_becomes_two_tails() -> None:
    """Trimmers of 94 lie outside 1000 and 1600: what is left goes to 906, and on from 1694."""
    deck = _deck(cutting=False)
    (opening,) = deck["openings"]
    near, far = (trimmer["id"] for trimmer in opening["trimmers"])
    joist = next(j for j in deck["added_joists"] if j["id"] == "J2a")
    assert joist["near"][0] == pytest.approx(1400)
    assert _parts(joist) == [(0, 906, 906 - FIT, [near]), (1694, DEPTH, DEPTH - 1694 - FIT, [far])]
    assert joist["lengths"] == [904, 1304]
    assert all("tails" not in j for j in deck["added_joists"] if j is not joist)


def test_what_carries_the_tails_is_there_to_buy_and_told() -> None:
    """J2 and J3 are doubled away from the opening, for towards it 6.5 mm are left."""
    deck = _deck(cutting=False)
    (opening,) = deck["openings"]
    assert opening["joists_cut"] == []
    assert [(t["joist"], t["side"]) for t in opening["trimming"]] == [(2, "left"), (3, "right")]
    assert [t["length"] for t in opening["trimmers"]] == [1726.5 - 1073.5 - FIT] * 2
    assert {(h["breadth"], h["depth"], h["count"]) for h in opening["hangers"]} == {
        (47, 147, 2),
        (94, 147, 4),
    }
    hangers = {q["size"]: q["net"] for q in deck["quantities"] if q["kind"] == "hanger"}
    assert hangers == {"47 × 147": 2, "94 × 147": 4}
    cut = {c["item"]: c["length"] for t in deck["timbers"] for c in t["cuts"]}
    assert (cut["J2a.1"], cut["J2a.2"]) == (904, 1304)
    assert "J2a" not in cut
    assert "engineer" in opening["say"]
    (caution,) = (c for c in deck["cautions"] if c["code"] == "joist.trimmed")
    assert "engineer" in caution["say"]
    assert "J2a" in caution["say"]
    (whole,) = (c for c in deck["cautions"] if c["code"] == "joist.added")
    assert whole["say"].startswith("J1a, J3a:")


def test_the_tails_have_their_step_after_their_trimmers() -> None:
    deck = _deck(cutting=False)
    kinds = [step["kind"] for step in deck["sequence"]]
    assert kinds.index("opening") < kinds.index("joist")
    step = next(step for step in deck["sequence"] if step["kind"] == "joist")
    near, far = (trimmer["id"] for trimmer in deck["openings"][0]["trimmers"])
    said = f"J2a.1 from the near edge to {near}, J2a.2 from {far} to the far edge"
    assert said in step["say"]
    places = [mark["along"] for mark in step["marks"] if mark["item"] == "J2a"]
    meets = [f"where it meets {name}" for name in (near, far)]
    assert places == ["at the near edge", *meets, "at the far edge"]
    # J2 reaches to 1073.5, and the centre of J2a lies at 1400.
    values = {mark["value"] for mark in step["marks"] if mark["item"] == "J2a"}
    assert values == {1400 - 1073.5}


def test_a_joist_beside_an_opening_is_cut_where_its_trimmers_pass() -> None:
    """Three parts: to the near trimmer, between both, and on from the far one."""
    deck = _deck(cutting=True)
    (opening,) = deck["openings"]
    near, far = (trimmer["id"] for trimmer in opening["trimmers"])
    for name in ("J2a", "J3a"):
        joist = next(j for j in deck["added_joists"] if j["id"] == name)
        assert _parts(joist) == [
            (0, 906, 904, [near]),
            (1000, 1600, 598, [near, far]),
            (1694, DEPTH, 1304, [far]),
        ]
    # Two ends of J3, which is cut, and four of each that is added.
    hung = {h["for"]: h["count"] for h in opening["hangers"] if h["breadth"] == 47}
    assert sorted(hung.values()) == [2, 8]


def test_no_end_joint_lies_on_a_joist_where_it_is_cut_away() -> None:
    given, wrong = made(cutting=False)
    joint = wrong["decks"][0]["joints"][0]
    joint |= {"x": 1400.0, "y0": 1100.0, "y1": 1500.0, "support": {"joist": 2, "added": 1}}
    assert "J2a is cut away under it" in broken(wrong, given)["opening.trim"]
    joint |= {"y0": 300.0, "y1": 800.0}
    assert "opening.trim" not in broken(wrong, given)


# --- what cannot be -------------------------------------------------------------------------------


def test_nothing_is_hung_on_a_truss() -> None:
    with pytest.raises(Refused, match="truss designer") as caught:
        plan(loft(BETWEEN), Choices(roof="trussed"))
    assert [reason.code for reason in caught.value.reasons] == ["joist.in_opening"]
    given, wrong = made(cutting=False)
    wrong["choices"]["roof"] = "trussed"
    assert "opening.trim" in broken(wrong, given)


@pytest.mark.parametrize(
    "thing",
    [
        rectangle("obstacle", 1100, 1630, 1250, 1700),
        rectangle("opening", 1080, 1660, 1720, 1900),
    ],
)
def test_where_no_trimmer_has_room_it_is_refused_in_words(thing: Json) -> None:
    with pytest.raises(Refused, match="no room for trimmers") as caught:
        plan(loft(BETWEEN, thing))
    assert [reason.code for reason in caught.value.reasons] == ["joist.in_opening"]


def test_no_trimmer_stands_in_the_wall() -> None:
    """Twenty millimetres from the limit; trimmers are ninety-four."""
    with pytest.raises(Refused, match="no room for trimmers"):
        plan(loft(rectangle("opening", 1080, 20, 1720, 600)))


def test_no_tail_too_short_to_be_cut_is_planned() -> None:
    """Just room for the trimmer: the boards bear on it, and one tail is left."""
    given = loft(rectangle("opening", 1080, 100, 1720, 700))
    plan_ = plan(given, Choices(seconds=0.05))
    assert broken(plan_, given) == {}
    joist = next(j for j in plan_["decks"][0]["added_joists"] if j["id"] == "J2a")
    assert [(t["near"][1], t["far"][1]) for t in joist["tails"]] == [(794, DEPTH)]


# --- what the checker must see --------------------------------------------------------------------


def _joist(plan: Json) -> Json:
    found = next(j for j in plan["decks"][0]["added_joists"] if j["id"] == "J2a")
    assert isinstance(found, dict)
    return found


def _whole(plan: Json) -> None:
    joist = _joist(plan)
    del joist["tails"], joist["lengths"]


def _short(plan: Json) -> None:
    _joist(plan)["tails"][0]["far"][1] -= 60


def _long(plan: Json) -> None:
    _joist(plan)["tails"][0]["length"] += 3


def _lost(plan: Json) -> None:
    _joist(plan)["tails"].pop()
    _joist(plan)["lengths"].pop()


def _elsewhere(plan: Json) -> None:
    tails = _joist(plan)["tails"]
    tails[0]["hangs"], tails[1]["hangs"] = tails[1]["hangs"], tails[0]["hangs"]


def _into(plan: Json) -> None:
    _joist(plan)["tails"][0]["far"][1] += 150


def _begun(plan: Json) -> None:
    _joist(plan)["tails"][0]["near"][1] += 40
    _joist(plan)["near"][1] += 40


def _aside(plan: Json) -> None:
    _joist(plan)["tails"][0]["far"][0] += 20


def _hanger(plan: Json) -> None:
    rows = plan["decks"][0]["openings"][0]["hangers"]
    next(h for h in rows if h["breadth"] == 47)["count"] -= 1


def _untrimmed(plan: Json) -> None:
    plan["decks"][0]["openings"][0]["trimming"] = []


def _one_trimmer(plan: Json) -> None:
    plan["decks"][0]["openings"][0]["trimmers"].pop()


def _thin(plan: Json) -> None:
    plan["decks"][0]["openings"][0]["trimmers"][0]["plies"] = 1


@pytest.mark.parametrize(
    ("spoil", "rule"),
    [
        (_whole, "opening.trim"),
        (_short, "opening.trim"),
        (_long, "opening.fit"),
        (_lost, "opening.trim"),
        (_elsewhere, "opening.trim"),
        (_into, "opening.trim"),
        (_begun, "opening.trim"),
        (_aside, "opening.trim"),
        (_hanger, "opening.hangers"),
        (_untrimmed, "opening.trim"),
        (_one_trimmer, "opening.trim"),
        (_thin, "opening.trim"),
    ],
)
def test_a_tail_that_is_not_so_is_caught(spoil: Any, rule: str) -> None:
    given, wrong = made(cutting=False)
    spoil(wrong)
    assert rule in broken(wrong, given)


def test_no_field_of_a_tail_can_be_spoilt_unseen() -> None:
    given, plan_ = made(cutting=True)
    draw = random.Random(3)
    found = {k: paths for k, paths in places(plan_).items() if "added_joists.tails" in k}
    assert len(found) > 4
    for kind, paths in found.items():
        for what, wrong in spoils(plan_, draw.choice(paths)):
            assert broken(wrong, given), f"{kind} {what}"


def test_an_opening_trimmed_for_nothing_is_caught() -> None:
    """What carries nothing may not be said to bear an edge."""
    given = loft(rectangle("opening", 1430, 1000, 1720, 1600))
    wrong = plan(given, Choices(seconds=0.05))
    (opening,) = wrong["decks"][0]["openings"]
    assert opening["trimmers"] == []
    section = {"breadth": 47.0, "depth": 147.0}
    trimmer = {"id": "O1", "y": 953.0, "length": 600.0, "sd": 1.0, "plies": 2, "section": section}
    opening["trimmers"] = [trimmer]
    assert "opening.trim" in broken(wrong, given)


def test_the_rules_of_the_cases_are_those_of_the_pack() -> None:
    pack = load()
    assert pack["noggin.fit"] == FIT
    assert pack["opening.trim"]["plies"] * pack["noggin.breadth"] == 94
    assert max(most for most, _ in pack["deck.thickness"]) < 700


# --- edges beside openings ------------------------------------------------------------------------


def test_a_strip_of_edge_that_nothing_can_bear_is_refused_in_words() -> None:
    """The opening runs out past the far limit; J2a is gone there, and the edge goes on to J3."""
    with pytest.raises(Refused, match="cut away") as caught:
        plan(loft(rectangle("opening", 1200, 2000, 1600, 3100)))
    assert [reason.code for reason in caught.value.reasons] == ["opening.at_edge"]


def test_a_noggin_bears_the_edge_beside_a_joist_that_is_doubled_towards_its_wall() -> None:
    """From J4, at 2450, the deck stands 116.5 beyond the face of the joist itself; 100 may."""
    given = as_built(
        [350.0 + 700 * k for k in range(4)],
        2600.0,
        DEPTH,
        features=[rectangle("opening", 1780, 1000, 2420, 1600)],
    )
    plan_ = plan(given, Choices(seconds=0.05))
    assert broken(plan_, given) == {}
    (deck,) = plan_["decks"]
    assert [(t["joist"], t["side"]) for t in deck["openings"][0]["trimming"]] == [
        (3, "left"),
        (4, "right"),
    ]
    edge = [n for n in deck["noggins"] if n["bay"] == 4 and n["use"] == "perimeter"]
    assert len([n for n in edge if not 100 < n["y"] < DEPTH - 100]) == 2


@pytest.mark.parametrize(("over", "may"), [(29, True), (31, False)])
def test_a_noggin_may_stand_out_into_an_opening_by_so_much_over_its_whole_length(
    over: float,
    may: bool,  # noqa: FBT001 - a case
) -> None:
    """A rule of width: 29 by 350 mm is no corner, and is let be by planner and checker alike."""
    run = sound(loft(rectangle("opening", 1080, 1000, 1720, 1600)))["runs"][0]
    there, pack = ground(run), load()
    hole = opened(run["features"][0], "x", run, there, pack)
    builder = Builder(there, pack, Section(47.0, 97.0), [hole])
    noggin = across(there, there.bays[2], 1000 - 47 / 2 + over, "perimeter", builder.size, pack)
    assert noggin
    assert builder.in_opening(noggin) != may


def test_no_noggin_gives_way_into_an_opening() -> None:
    """Beside another, at 1624, it would have to stand at 1577: all of it in the opening."""
    run = sound(loft(rectangle("opening", 1080, 1000, 1720, 1600)))["runs"][0]
    there, pack = ground(run), load()
    hole = opened(run["features"][0], "x", run, there, pack)
    for holes, stands in ([hole], None), ([], 1):
        builder = Builder(there, pack, Section(47.0, 97.0), holes)
        other, wanted = (
            across(there, there.bays[2], y, "perimeter", builder.size, pack) for y in (1624, 1594)
        )
        assert other
        assert wanted
        builder.add(other)
        assert builder.under(there.bays[2], 1400.0, 1594.0, 1, wanted) == stands
