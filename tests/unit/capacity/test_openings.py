"""Openings and what the cut joists did for the roof: asked one by one, and stopped."""

from __future__ import annotations

import pytest

from baywalk.capacity.setting import ROOF
from tests.unit.capacity.loft import by_name, checked, loft

HATCH = {
    "id": "h",
    "feature": "opening",
    "polygon": [[900, 1000], [1500, 1000], [1500, 1800], [900, 1800]],
}
FINE = {"trussed": "no", "ties": "no", "fixing": "none", "plate": "fixed", "purlins": "yes",
        "collars": "yes"}  # fmt: skip


def opening(answers: dict[str, str], **more: object) -> dict[str, object]:
    roof = ",".join(f"{key}={value}" for key, value in answers.items())
    asked = {"roof": roof, "dead": 0.5, **more}
    run = checked(loft(features=[HATCH]), **asked)["runs"][0]
    found: dict[str, object] = run["openings"][0]
    return found


def test_the_questions_come_one_by_one() -> None:
    answers: dict[str, str] = {}
    for key in ROOF:
        found = opening(answers)
        assert found["roof"]["ask"]["id"] == key
        assert found["roof"]["stop"] is True
        assert (found["trimmers"], found["trimming"]) == ([], [])
        assert "do not cut" in found["say"]
        answers[key] = FINE[key]
    assert opening(answers)["roof"]["ask"] is None


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("trussed", "yes", "trussed rafter"),
        ("ties", "yes", "ties the rafters"),
        ("fixing", "bolted", "bolted to the rafters"),
        ("fixing", "nailed", "nailed to the rafters"),
        ("plate", "loose", "plate is loose"),
    ],
)
def test_what_is_refused(key: str, value: str, words: str) -> None:
    found = opening({**FINE, key: value})
    assert words in found["roof"]["refused"]
    assert "engineer" in found["roof"]["refused"]
    assert found["trimmers"] == []


def test_nothing_else_holds_the_rafters() -> None:
    assert opening({**FINE, "purlins": "no", "collars": "no"})["roof"]["refused"]
    assert opening({**FINE, "ties": "unknown"})["roof"]["ask"]["id"] == "ties"


def test_answers_may_stand_in_the_survey() -> None:
    document = loft(features=[HATCH, {"id": "r", "feature": "roof", **FINE}])
    assert checked(document)["runs"][0]["openings"][0]["roof"]["stop"] is False


def test_no_joist_of_a_truss_is_passed() -> None:
    run = checked(loft(span=900.0), roof="trussed=yes")["runs"][0]
    assert {joist["verdict"] for joist in run["joists"]} == {"refused"}
    assert "truss designer" in run["joists"][0]["cautions"][0]


def test_what_trimmers_and_trimming_joists_carry() -> None:
    """J3 is cut: its two tails hang on trimmers of 800 mm between J2 and J4."""
    found = opening(FINE)
    assert found["cut"] == [3]
    near, far = found["trimmers"]
    assert near["span"] == far["span"] == 800
    # A tail of 1000 mm, or of 1200, and half a bearing of 100: half of it hangs on the trimmer,
    # with a person at its end.
    tails = [1.35 * 0.2 * length / 2e3 + 1.5 * 0.9 for length in (1050, 1250)]
    assert [near["hangers"], far["hangers"]] == [[pytest.approx(t, abs=1e-3)] for t in tails]
    assert near["end_hangers"] == pytest.approx([tails[0] / 2] * 2, abs=1e-3)
    assert [joist["joist"] for joist in found["trimming"]] == [2, 4]
    for part in (*found["trimmers"], *found["trimming"]):
        uses = [option["utilisation"] for option in part["options"]]
        assert [option["what"] for option in part["options"]] == ["single", "thicker", "doubled"]
        assert uses == sorted(uses, reverse=True)
        for option in part["options"]:
            assert option["holds"] is (option["utilisation"] <= 1)
    assert "not to build from" in found["say"]


def test_a_cut_joist_is_not_passed_as_a_whole_one() -> None:
    joists = checked(loft(span=1900.0, features=[HATCH]), dead=0.3)["runs"][0]["joists"]
    assert joists[2]["verdict"] == "not_checked"
    assert "An opening cuts J3" in joists[2]["cautions"][0]
    assert joists[4]["verdict"] != "not_checked"


def test_an_opening_between_joists_cuts_none() -> None:
    hatch = {**HATCH, "polygon": [[830, 1000], [1170, 1000], [1170, 1800], [830, 1800]]}
    (found,) = checked(loft(features=[hatch]))["runs"][0]["openings"]
    assert (found["cut"], found["roof"]) == ([], None)
    assert found["access"]["holds"] is False


@pytest.mark.parametrize(
    "feature",
    [
        {**HATCH, "polygon": None},
        {**HATCH, "polygon": [[100, 1000], [900, 1000], [900, 1800], [100, 1800]]},
    ],
)
def test_what_cannot_be_worked_out_says_so(feature: dict[str, object]) -> None:
    """An opening with no place, and one with a wall where a trimming joist would be."""
    roof = ",".join(f"{key}={value}" for key, value in FINE.items())
    (found,) = checked(loft(features=[feature]), roof=roof)["runs"][0]["openings"]
    assert found["trimmers"] == []
    assert "engineer" in found["say"]


def test_an_opening_without_a_place_is_told_at_every_joist() -> None:
    joists = checked(loft(features=[{**HATCH, "polygon": None}]))["runs"][0]["joists"]
    assert all("is not known: its place" in joist["cautions"][0] for joist in joists)
    placed = checked(loft(features=[HATCH]))["runs"][0]["joists"]
    assert not any(
        "not tied to the plane" in text for joist in placed for text in joist["cautions"]
    )


def test_an_opening_among_joists_without_spans_says_which_to_read() -> None:
    read = loft(features=[HATCH])
    for joist in read["runs"][0]["joists"][3:]:
        joist |= {"span": None, "ends": None}
    (found,) = checked(read)["runs"][0]["openings"]
    names = ", ".join(f"J{joist['index']}" for joist in read["runs"][0]["joists"][3:])
    assert f"no span was read of {names}." in found["say"]


def test_the_joists_beside_a_hole_carry_its_trimmers() -> None:
    """Whatever is known of the roof: half of each trimmer's load, as a beam on two supports.

    Tails of 1050 and 1250 mm hang at 1000 and 1800 mm of a span of 3000 between bearings of 100.
    """
    run = checked(loft(features=[HATCH]), dead=0.5)["runs"][0]
    side, other = run["joists"][1], run["joists"][4]
    line, span = 1.35 * 0.2 + 1.5 * 0.1, 3100.0
    tails = {1050: 1050.0, 1850: 1250.0}
    pulls = {x: (1.35 * 0.2 * length / 2 + 1.5 * 900) / 2 for x, length in tails.items()}

    def moment(x: float) -> float:
        on = sum(f * min(x, a) * (span - max(x, a)) / span for a, f in pulls.items())
        return line * x * (span - x) / 2 + on

    bending = by_name(side)["bending, an opening's trimmers hung on it"]
    assert bending["demand"] == pytest.approx(max(map(moment, range(3101))) * 1e-6, rel=1e-6)
    reaction = line * span / 2 + sum(f * (span - a) / span for a, f in pulls.items())
    shear = by_name(side)["shear, an opening's trimmers hung on it"]
    assert shear["demand"] == pytest.approx(reaction * 1e-3, rel=1e-6)
    assert not any("trimmers" in name for name in by_name(other))
    said = [any("carries the trimmers" in c for c in j["cautions"]) for j in (side, other)]
    assert said == [True, False]
    # It decides: a span that passes without the hole does not with it.
    asked = {"dead": 0.3, "use": "domestic"}
    short = [
        checked(loft(span=2400.0, features=[HATCH] * holes), **asked)["runs"][0]["joists"]
        for holes in (0, 1)
    ]
    assert short[0][1]["verdict"] == "holds_if_deck_fixed"
    assert short[1][1]["verdict"] == "does_not_hold"
    assert short[1][4] == short[0][4]


def test_trimmers_beyond_a_spine_wall_hang_in_their_own_span() -> None:
    spine = {"feature": "support", "from_near_support": 3000, "length": 100, "through": True}
    far = {**HATCH, "polygon": [[x, y + 3000] for x, y in HATCH["polygon"]]}
    ends = {"near_support": {"value": 0.0, "sd": 0.0}, "far_support": {"value": 6000.0, "sd": 0.0}}
    twice = [
        by_name(checked(loft(span=6000.0, ends=ends, features=[spine, hole]), dead=0.5)
                ["runs"][0]["joists"][1])
        for hole in (HATCH, far)
    ]  # fmt: skip
    name = "bending, an opening's trimmers hung on it"
    assert min(found[name]["demand"] for found in twice) > 0.5


def test_a_hole_by_a_wall_leaves_its_joist_unchecked() -> None:
    """Nobody knows what bears the trimmers there: the joist is not passed, and it says so."""
    hatch = {**HATCH, "polygon": [[100, 1000], [600, 1000], [600, 1800], [100, 1800]]}
    joists = checked(loft(span=1500.0, features=[hatch]), dead=0.3)["runs"][0]["joists"]
    assert joists[1]["verdict"] == "not_checked"
    assert "what hangs on it there is not known" in joists[1]["cautions"][0]
    assert joists[1]["checks"]


def test_a_notch_under_a_trimmers_load_has_no_rule() -> None:
    """NHBC 6.4.18: an engineer for cuts near heavy loads. READ."""
    notch = {"feature": "notch", "joist": 2, "edge": "top", "depth": 10, "from_near_support": 400}
    joists = checked(loft(span=1900.0, features=[HATCH, notch]), dead=0.3)["runs"][0]["joists"]
    assert joists[1]["verdict"] == "refused"
    assert "near heavy loads" in joists[1]["cautions"][0]
