"""Openings and what the cut joists did for the roof: asked one by one, and stopped."""

from __future__ import annotations

import pytest

from baywalk.capacity.setting import ROOF
from tests.unit.capacity.loft import checked, loft

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
    # A tail of 1000 mm, or of 1200: half of it hangs on the trimmer, with a person at its end.
    tails = [1.35 * 0.2 * length / 2e3 + 1.5 * 0.9 for length in (1000, 1200)]
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
