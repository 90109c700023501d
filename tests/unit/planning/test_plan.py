"""Whole plans of small lofts: what a carpenter would check with a tape."""

from __future__ import annotations

import json
from itertools import pairwise
from typing import Any

import jsonschema
import pytest

from baywalk import places, rules
from baywalk.planning import Choices, Refused, failed, plan
from tests.planned import random_plan
from tests.unit.planning.loft import as_built, rectangle, regular

SCHEMA = json.loads((places.shared() / "schemas" / "plan.schema.json").read_text())
VALID = jsonschema.Draft202012Validator(SCHEMA)
PACK = rules.load()


def deck(document: dict[str, Any], **choices: Any) -> dict[str, Any]:
    """Return the plan of the only deck of a loft; it must be of the format and keep all rules."""
    made = plan(document, Choices(**{"seconds": 3, **choices}))
    assert [error.message for error in VALID.iter_errors(made)] == []
    assert failed(made) == []
    (only,) = made["decks"]
    return only


@pytest.fixture(scope="module")
def plain() -> dict[str, Any]:
    """Give the plan of 12 bays of 400, 3 m deep."""
    return deck(regular(12))


def test_a_plain_loft_is_proven_best(plain: dict[str, Any]) -> None:
    """4800 less 2 × 10 is 4780: one whole board and 2380 more in every course, five courses."""
    proof = plain["proof"]
    assert proof["optimal"]
    assert proof["gap"] == 0
    assert proof["boards"] == len(plain["boards"])
    assert proof["boards_lower_bound"] <= proof["boards"]
    assert len(plain["courses"]) == 5


def test_every_board_is_used_once_and_holds_its_pieces(plain: dict[str, Any]) -> None:
    """Pieces, saw cuts and places within the board."""
    pieces = {piece["id"]: piece for piece in plain["pieces"]}
    seen = [name for board in plain["boards"] for name in board["cuts"]]
    assert sorted(seen) == sorted(pieces)
    for board in plain["boards"]:
        mine = [pieces[name] for name in board["cuts"]]
        assert mine[0]["at"] >= 0
        assert mine[-1]["at"] + mine[-1]["length"] <= 2400 + 1e-6
        for one, other in pairwise(mine):
            assert other["at"] - one["at"] - one["length"] >= PACK["board.kerf"] - 1e-6


def test_offcuts_keep_their_hand(plain: dict[str, Any]) -> None:
    """What has lost its left end starts a course, what has lost its right end finishes one."""
    for course in plain["courses"]:
        mine = [p for p in plain["pieces"] if p["course"] == course["index"]]
        for one, other in pairwise(mine):
            assert (one["right"], other["left"]) == ("tongue", "groove")


def test_joints_are_staggered(plain: dict[str, Any]) -> None:
    """At least 300 between end joints of neighbouring courses."""
    for one in plain["joints"]:
        for other in plain["joints"]:
            if abs(one["course"] - other["course"]) == 1:
                assert abs(one["x"] - other["x"]) >= PACK["joint.stagger"] - 1e-6


def test_joints_settle_in_the_middle_of_their_joists(plain: dict[str, Any]) -> None:
    """Where nothing is lost by it, both boards bear alike."""
    on_joists = [j for j in plain["joints"] if "joist" in j["support"]]
    assert on_joists
    assert all(min(j["bearing"].values()) >= PACK["joint.bearing"] for j in on_joists)
    assert any(abs(j["bearing"]["left"] - j["bearing"]["right"]) < 0.1 for j in on_joists)


def test_the_far_edge_first_turns_the_boards(plain: dict[str, Any]) -> None:
    """Laid from the far edge, tongue and groove change hands, and the cost stays."""
    turned = deck(regular(12), start_wall="far")
    assert turned["laid_from"] == "far"
    assert turned["proof"]["cost"] == plain["proof"]["cost"]
    whole = next(p for p in turned["pieces"] if p["left"] != "cut")
    assert whole["left"] == "tongue"
    assert {p["near"] for p in turned["pieces"] if p["course"] == 0} == {"tongue"}


def test_skewed_joists_narrow_the_place_for_a_joint() -> None:
    """A lean of 60 in 3 m is 12 over a course of 600: nothing is left of 47 less twice 18."""
    leaning = deck(regular(12, skew=60))
    assert not [j for j in leaning["joints"] if "joist" in j["support"]]
    upright = deck(regular(12, skew=30))
    assert [j for j in upright["joints"] if "joist" in j["support"]]


def test_a_bay_too_wide_gets_a_joist() -> None:
    """A bay of 800 carries no board; a joist in its middle leaves 400 on both sides."""
    wide = deck(as_built([400, 800, 1600, 2000, 2400], 2800, 2000))
    (added,) = wide["added_joists"]
    assert (added["id"], added["bay"]) == ("J2a", 2)
    assert added["near"][0] == pytest.approx(1200)
    assert wide["thickness"]["as_found"] == pytest.approx(800)
    assert wide["thickness"]["centres"] == pytest.approx(400)
    assert wide["thickness"]["others"]


def test_thickness_follows_the_widest_bay() -> None:
    """One bay of 500 among bays of 400 calls for 22; asked for 18, a joist is added."""
    loft = as_built([400, 800, 1300, 1700], 2100, 2000)
    assert deck(loft)["deck"]["board"]["thickness"] == 22
    thin = deck(loft, deck=18)
    assert thin["deck"]["board"]["thickness"] == 18
    assert [j["bay"] for j in thin["added_joists"]] == [2]


def test_an_opening_is_trimmed() -> None:
    """One joist cut: two doubled trimmers, two doubled joists, hangers for every end."""
    hatch = rectangle("opening", 1280, 1000, 1920, 1800)
    made = deck(regular(8, features=[hatch]))
    (opening,) = made["openings"]
    assert opening["joists_cut"] == [4]
    assert [t["joist"] for t in opening["trimming"]] == [3, 5]
    assert [t["side"] for t in opening["trimming"]] == ["right", "left"]
    # 800 between centres, less 47 of joist and 2 × 47 of doubling, less the fit.
    assert {t["length"] for t in opening["trimmers"]} == {800 - 47 - 94 - PACK["noggin.fit"]}
    assert sum(h["count"] for h in opening["hangers"]) == 2 + 4
    assert "engineer" in opening["say"]


def test_an_opening_from_joist_to_joist_has_them_doubled_on_the_other_side() -> None:
    """Towards it the doubling would stand in the opening."""
    hatch = rectangle("opening", 1230, 1000, 1970, 1800)
    loft = regular(8, features=[hatch])
    made = deck(loft)
    (opening,) = made["openings"]
    assert [t["side"] for t in opening["trimming"]] == ["left", "right"]
    # 800 between centres, less 47 of joist, less the fit.
    assert {t["length"] for t in opening["trimmers"]} == {800 - 47 - PACK["noggin.fit"]}
    # 400 between centres, less 47 of joist and 47 of doubling, less the fit.
    assert {n["length"] for n in made["noggins"] if n["bay"] == 2} == {306 - PACK["noggin.fit"]}
    # Whoever reads no further than the first line has read what may stop the whole of it.
    assert opening["say"].startswith("If the joists tie the rafters, do not cut them.")
    assert "on the side away from the opening" in opening["say"]


def test_a_hanger_is_as_broad_as_the_joist_that_hangs_in_it() -> None:
    loft = regular(8, features=[rectangle("opening", 1280, 1000, 2320, 1800)])
    joists = loft["runs"][0]["joists"]
    joists[2]["breadth"]["value"], joists[4]["breadth"]["value"] = 63, 38
    (opening,) = deck(loft)["openings"]
    hung = {h["breadth"]: h["count"] for h in opening["hangers"] if "cut" in h["for"]}
    assert hung == {38: 2, 47: 2}


def test_what_doubles_a_joist_is_as_deep() -> None:
    """Nobody buys a timber of no depth: it must be read."""
    loft = regular(8, features=[rectangle("opening", 1280, 1000, 1920, 1800)])
    loft["runs"][0]["member"] = {}
    loft["runs"][0]["joists"][2]["depth"] = None
    with pytest.raises(Refused, match="nothing says the depth of J3"):
        plan(loft)


WIDE = {"centres": [350 + 700 * k for k in range(6)], "width": 4200.0, "depth": 3000.0}
"""Joists every 700 mm: the thickest board calls for one more in every bay."""


def test_an_added_joist_stands_beside_an_opening() -> None:
    loft = as_built(**WIDE, features=[rectangle("opening", 1135, 1000, 1665, 1600)])
    added = [j for j in deck(loft)["added_joists"] if j["bay"] == 2]
    # 530 and a breadth are the most between the two of them; 600 is allowed.
    half = 47 / 2
    assert [j["near"][0] for j in added] == [pytest.approx(x) for x in (1135 - half, 1665 + half)]


def test_an_added_joist_is_as_deep_as_its_neighbours() -> None:
    loft = as_built(**WIDE)
    loft["runs"][0]["member"] = {}
    for joist in loft["runs"][0]["joists"]:
        joist["depth"] = None
    with pytest.raises(Refused, match="Read the depth of J1 or J2"):
        plan(loft)


def test_an_opening_between_two_joists_calls_for_no_doubling() -> None:
    """None is cut: the joists beside it stay as they are, and the bay stays as wide."""
    hatch = rectangle("opening", 1230, 1000, 1570, 1400)
    made = deck(regular(8, features=[hatch]))
    (opening,) = made["openings"]
    assert (opening["joists_cut"], opening["trimming"], opening["trimmers"]) == ([], [], [])
    # 400 between centres, less 47 of joist and the fit.
    assert {n["length"] for n in made["noggins"] if n["bay"] == 3} == {353 - PACK["noggin.fit"]}


def test_no_strutting_stands_in_an_opening() -> None:
    """A hatch between two joists, at mid-span: what frames its side has that place."""
    hatch = rectangle("opening", 1430, 1300, 1570, 1700)
    noggins = deck(regular(8, features=[hatch]))["noggins"]
    rows = [n["bay"] for n in noggins if "row" in n["serves"] and 1300 < n["y"] < 1700]
    assert rows == [0, 1, 2, 4, 5, 6, 7]
    assert [n["bay"] for n in noggins if n.get("along")] == [3]


AT_WALLS = [((150, 700), True), ((100, 700), False), ((0, 700), False), ((430, 770), False)]
"""Openings from x to x: J1 at 400 is cut or not, with 140, 90 or no deck left beside the wall."""


@pytest.mark.parametrize(("across", "hangs"), AT_WALLS)
@pytest.mark.parametrize("far", [False, True])
def test_no_deck_hangs_beside_a_wall(
    across: tuple[float, float], *, far: bool, hangs: bool
) -> None:
    """The gap to the wall is 10; a strip of up to 100 is left open and needs nothing under it."""
    x0, x1 = (3200 - across[1], 3200 - across[0]) if far else across
    loft = regular(8, features=[rectangle("opening", x0, 1000, x1, 1700)])
    if not hangs:
        assert len(deck(loft)["openings"]) == 1
        return
    with pytest.raises(Refused, match="Move the opening") as caught:
        plan(loft)
    (reason,) = caught.value.reasons
    assert reason.code == "opening.at_wall"
    assert f"would cut J{7 if far else 1}" in reason.say
    assert "The 140 mm of deck" in reason.say


def test_a_chimney_in_the_strip_beside_a_wall_leaves_nothing_to_hang() -> None:
    """Between the hatch and the wall the chimney takes all: no deck, so no refusal."""
    features = [
        rectangle("opening", 350, 1000, 700, 1700),
        rectangle("obstacle", 0, 850, 350, 1850),
    ]
    assert len(deck(regular(8, features=features))["openings"]) == 1


BESIDE = [((1280, 1920), (2080, 2720), None), ((1280, 1920), (2030, 2370), None)]
BESIDE += [((1280, 1920), (1990, 2370), "J5"), ((1430, 1920), (830, 1370), "J3")]
"""Two openings from x to x, joists every 400 mm; the joist that carries the one and is cut for the
other. With 2030 or 2080 a whole joist, J5, stands between them."""


@pytest.mark.parametrize(("one", "other", "joist"), BESIDE)
@pytest.mark.parametrize("y", [1000, 200])
def test_no_opening_hangs_on_a_joist_that_another_cuts(
    one: tuple[float, float], other: tuple[float, float], joist: str | None, y: float
) -> None:
    """Beside each other or further along, the joist that carries must be whole."""
    shapes = [(one, 1000.0), (other, y)]
    features = [rectangle("opening", x0, low, x1, low + 700) for (x0, x1), low in shapes]
    loft = regular(8, features=features)
    if joist is None:
        cuts = [cut["item"] for timber in deck(loft)["timbers"] for cut in timber["cuts"]]
        names = ["J3 doubled, right", "J5 doubled, left", "J5 doubled, right", "J7 doubled, left"]
        assert sorted(cut for cut in cuts if "doubled" in cut) == (
            names if other[1] > 2400 else names[:2]
        )
        return
    with pytest.raises(Refused, match=f"would hang on {joist}") as caught:
        plan(loft)
    assert [reason.code for reason in caught.value.reasons] == ["opening.trimming_cut"]


def test_two_openings_along_one_joist_share_what_doubles_its_neighbours() -> None:
    """A hatch and a roof window's well over the same joist: one timber beside each neighbour."""
    features = [rectangle("opening", 1280, low, 1920, low + 500) for low in (500, 1900)]
    made = deck(regular(8, features=features))
    assert [opening["joists_cut"] for opening in made["openings"]] == [[4], [4]]
    cuts = [cut["item"] for timber in made["timbers"] for cut in timber["cuts"]]
    assert sorted(c for c in cuts if "doubled" in c) == ["J3 doubled, right", "J5 doubled, left"]
    lengths = {t["length"] for opening in made["openings"] for t in opening["trimmers"]}
    # 800 between centres, less 47 of joist and 2 × 47 of doubling, less the fit.
    assert lengths == {800 - 47 - 94 - PACK["noggin.fit"]}


@pytest.mark.parametrize("roof", ["trussed", "tied"])
def test_some_joists_are_never_cut(roof: str) -> None:
    """The plan stops, says why, and who decides."""
    hatch = rectangle("opening", 1230, 1000, 1970, 1800)
    with pytest.raises(Refused, match=r"designer|engineer"):
        plan(regular(8, features=[hatch]), Choices(roof=roof))


PARTLY = [((10, 2400), 600), ((10, 1600), 600), ((10, 2000), 1200), ((1000, 2400), 600)]
"""From x to x, and how wide across the courses, a deck lies that was begun at the near edge."""


@pytest.mark.parametrize(("across", "wide"), PARTLY)
def test_a_course_that_was_begun_is_gone_on_with(across: tuple[float, float], wide: float) -> None:
    """Boards lie in line with it, and no joint of the next course in line with its end."""
    laid = rectangle("laid", across[0], 10, across[1], 10 + wide)
    made = deck(regular(12, features=[laid]))
    assert made["deck"]["continues"]["y"] == 10 + wide
    assert [c["y0"] for c in made["courses"]] == [10 + 600 * k for k in range(5)]
    last = round(wide / 600)
    beside = [p for p in made["pieces"] if p["course"] < last]
    assert all(p["near"] == "groove" and p["far"] == "tongue" for p in beside)
    joints = [j["x"] for j in made["joints"] if j["course"] == last]
    ends = [x for x in across if x > 10]
    assert joints
    assert all(abs(j - x) >= PACK["joint.stagger"] for j in joints for x in ends)


@pytest.mark.parametrize("slop", [0, 3])
def test_a_deck_laid_in_steps_is_told_from_one_in_the_middle(slop: float) -> None:
    """Two whole courses and half of the third: what to do is said, not that it lies in the way."""
    whole = rectangle("laid", 10, 10, 4790, 1210 - slop)
    begun = rectangle("laid", 10, 1210, 2400, 1810)
    with pytest.raises(Refused, match="ends in steps") as caught:
        plan(regular(12, features=[whole, begun]))
    assert [reason.code for reason in caught.value.reasons] == ["laid.steps"]
    with pytest.raises(Refused, match="neither the near nor the far") as caught:
        plan(regular(12, features=[begun]))
    assert [reason.code for reason in caught.value.reasons] == ["laid.island"]


def test_the_checker_sees_a_joint_in_line_with_the_end_of_a_laid_deck(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A planner that knew nothing of that end would lay the next course's joint over it."""
    monkeypatch.setattr("baywalk.planning.deck._laid_ends", lambda _task: [])
    made = plan(regular(12, features=[rectangle("laid", 10, 10, 2400, 610)]))
    assert [j["x"] for j in made["decks"][0]["joints"] if j["course"] == 1] == [2400]
    assert any("the end of the laid deck" in fault for fault in failed(made))


def test_a_laid_deck_is_continued() -> None:
    """The first course takes its groove over the tongue that is there."""
    laid = rectangle("laid", 10, 0, 4790, 650)
    made = deck(regular(12, features=[laid]))
    assert made["deck"]["continues"] == {"feature": laid["id"], "edge": "tongue", "y": 650}
    assert made["courses"][0]["y0"] == pytest.approx(650)
    assert made["courses"][0]["y1"] == pytest.approx(1250)
    assert {p["near"] for p in made["pieces"] if p["course"] == 0} == {"groove"}


def test_two_laid_sides_are_refused() -> None:
    """The last board between them could not be pushed home."""
    both = [rectangle("laid", 10, 0, 4790, 650), rectangle("laid", 10, 2300, 4790, 3000)]
    with pytest.raises(Refused, match="both edges"):
        plan(regular(12, features=both))


def test_a_long_deck_is_parted() -> None:
    """Eleven metres: a movement gap on a joist, and no deck longer than ten."""
    made = plan(regular(28, depth=1500), Choices(seconds=2))
    assert len(made["decks"]) == 2
    assert failed(made) == []
    for part in made["decks"]:
        xs = [x for x, _ in part["deck"]["outline"]]
        assert max(xs) - min(xs) <= PACK["deck.movement.run"]


def test_the_order_of_work(plain: dict[str, Any]) -> None:
    """Strutting and noggins before boards; each course after the one before; then the finish."""
    kinds = [step["kind"] for step in plain["sequence"]]
    assert kinds[0] == "ready"
    assert kinds[-1] == "finish"
    assert kinds.index("strutting") < kinds.index("noggin") < kinds.index("course")
    laid = [piece for step in plain["sequence"] for piece in step["pieces"]]
    assert laid == [piece["id"] for piece in plain["pieces"]]


def test_insulation_above_the_joists_raises_the_deck() -> None:
    """200 of insulation over 147 of joist: battens of 72 carry what 53 calls for."""
    deep = [{"id": "33333333-3333-4333-8333-333333333333", "feature": "insulation", "bay": 2}]
    made = deck(regular(8, features=[{**deep[0], "depth": 200}]))
    assert {b["thickness"] for b in made["raise"] if b["kind"] == "batten"} == {72}
    assert {n["raised"] for n in made["noggins"] if n["use"] != "strutting"} == {72}


def test_low_joists_are_packed() -> None:
    """A level read downwards: the larger is the lower joist."""
    loft = regular(8)
    run = loft["runs"][0]
    for member in (*run["joists"], *run["walls"].values()):
        member["at"]["near"]["point"][1] = 500.0
    for joist, down in zip(run["joists"], [210, 210, 216, 211, 210, 210, 210], strict=True):
        joist["level"] = {"near": {"value": down, "sd": 1.0}}
    made = deck(loft)
    assert [(p["joist"], p["thickness"]) for p in made["raise"]] == [(3, 6)]


def test_alternatives_differ_and_say_so() -> None:
    """Centres of 450 do not divide a board: frames can be saved, at a price."""
    made = deck(regular(11, 450))
    for other in made["alternatives"]:
        assert other["cost"] >= made["proof"]["cost"] - 1e-6
        assert other["boards"] < made["proof"]["boards"] or (
            other["frames"] < made["proof"]["counts"]["frames"]
        )


def test_a_limit_of_time_still_gives_a_plan_and_its_gap() -> None:
    """Stopped at once, there is a plan, a bound and an honest gap."""
    made = plan(regular(20, 450, depth=6000), Choices(seconds=0.001))
    proof = made["decks"][0]["proof"]
    assert proof["cost_lower_bound"] <= proof["cost"]
    assert proof["optimal"] == (proof["gap"] <= 1e-6)


def test_progress_can_stop_it() -> None:
    """Told to stop, it gives the best so far."""
    told: list[tuple[float, float]] = []

    def stop(best: float, bound: float) -> bool:
        told.append((best, bound))
        return False

    assert plan(regular(12, 450), Choices(seconds=30), progress=stop)["decks"]
    assert told


@pytest.mark.parametrize(("x", "size"), [(3400, 1), (3550, 5), (3680, 15), (3680, 80)])
def test_an_edge_shorter_than_a_noggin_is_cut_takes_no_noggin(x: float, size: float) -> None:
    """A pipe beside the wall leaves edges that the board itself carries; the checker agrees."""
    pipe = rectangle("obstacle", x, 2850, x + size, 2850 + size)
    loft = as_built([400.0 * k for k in range(1, 9)], 3700, 3000, features=[pipe])
    assert failed(plan(loft, Choices(seconds=0.2))) == []


@pytest.mark.parametrize(("seed", "kinds"), [(1, ("skew",)), (4, ("skew", "opening")), (7, ())])
def test_noggins_are_numbered_from_the_near_edge(seed: int, kinds: tuple[str, ...]) -> None:
    """However the joists lean: N3-1, N3-2, N3-3 from the near edge, bays from the start wall."""
    made = random_plan(seed, *kinds)[1]
    for deck in made["decks"]:
        names = [n["id"] for n in deck["noggins"]]
        bays: dict[int, list[tuple[int, float]]] = {}
        for noggin in deck["noggins"]:
            bay, number = map(int, noggin["id"][1:].split("-"))
            assert bay == noggin["bay"]
            bays.setdefault(bay, []).append((number, noggin["y"]))
        assert list(bays) == sorted(bays)
        parted = {joist["bay"] for joist in deck["added_joists"]}
        for bay, rows in bays.items():
            assert [number for number, _ in rows] == list(range(1, len(rows) + 1))
            assert bay in parted or [y for _, y in rows] == sorted(y for _, y in rows)
        # Each step names its timbers in that order too, its cleats after them.
        for step in deck["sequence"]:
            named = [names.index(name) for name in step["noggins"] if name in names]
            assert named == sorted(named)
