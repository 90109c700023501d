"""Planning on from what is laid: kept as it lies, the rest anew, and what changes is told."""

from __future__ import annotations

import copy
import json
import random
from functools import cache
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest

from baywalk import places
from baywalk.cli import main
from baywalk.planning import (
    BadAsLaid,
    BadChoice,
    BadEarlier,
    Choices,
    Refused,
    failed,
    plan,
    plan_again,
)
from baywalk.planning.check import check
from baywalk.rules import load
from baywalk.sheets.cut_list import board_list
from baywalk.sheets.plan_parts import Deck
from tests.accidents import accident, span, strayed
from tests.planned import compact, random_plan
from tests.planning_lofts import Run, as_built, plain
from tests.unit.planning.loft import rectangle, regular

if TYPE_CHECKING:
    from pathlib import Path

Json = dict[str, Any]
QUICK = {"time": ["0.2"]}
SCHEMAS = {
    name: jsonschema.Draft202012Validator(
        json.loads((places.shared() / "schemas" / f"{name}.schema.json").read_text())
    )
    for name in ("plan", "as-laid")
}


@cache
def _wide() -> tuple[Json, Json]:
    """Return as-built and plan of a loft of several courses with several joints each."""
    as_built = plain(12, 450, 2000, first=130, last=310)
    return as_built, plan(as_built, Choices(seconds=0.3))


def wide() -> tuple[Json, Json]:
    as_built, made = _wide()
    return as_built, copy.deepcopy(made)


def told(made: Json, names: list[str], **more: Any) -> Json:
    """Return the file that says that pieces of the first deck are laid."""
    deck = {"id": "D1", "pieces": [{"id": name} for name in names], **more}
    return {
        "format": "baywalk.as-laid",
        "version": 1,
        "survey": made["survey"],
        "decks": [deck],
    }


def of_courses(made: Json, count: int) -> list[str]:
    return [p["id"] for p in made["decks"][0]["pieces"] if p["course"] < count]


def piece(made: Json, name: str) -> Json:
    return next(p for p in made["decks"][0]["pieces"] if p["id"] == name)


def sound(as_built: Json, made: Json, laid: Json) -> Json:
    """Return the plan that goes on, having seen that it keeps every rule and every laid piece."""
    SCHEMAS["as-laid"].validate(laid)
    again = plan_again(as_built, made, laid, QUICK)
    SCHEMAS["plan"].validate(again)
    assert failed(again) == []
    assert strayed(made, again, laid) == []
    return again


@pytest.mark.parametrize("number", range(8))
def test_laid_pieces_are_kept_and_every_rule_holds(number: int) -> None:
    """Random accidents; the bench has two hundred of them."""
    as_built, made = random_plan(14) if number % 2 else compact()
    laid = accident(number, made)
    try:
        again = plan_again(as_built, made, laid, QUICK)
    except Refused as why:
        # A refusal says what to do about it.
        words = ("ake up", "Read", "Saw", "Draw")
        assert any(word in reason.say for reason in why.reasons for word in words)  # noqa: PT017
        return
    assert failed(again) == []
    assert strayed(made, again, laid) == []


def test_what_holds_a_timber_along_an_edge_stays_while_that_does() -> None:
    """Beside an obstacle N4-3 stands between N4-2 and N4-4, which carry nothing else."""
    as_built, made = random_plan(89)
    again = sound(as_built, made, accident(89, made))
    noggins = {noggin["id"]: noggin for noggin in again["decks"][0]["noggins"]}
    assert noggins["N4-3"]["between"] == ["N4-2", "N4-4"]
    assert {"N4-2", "N4-4"} <= set(noggins)


def test_where_all_landed_as_planned_nothing_changes() -> None:
    as_built, made = wide()
    again = sound(as_built, made, told(made, of_courses(made, 2)))
    changes = again["decks"][0]["changes"]
    assert changes["pieces"] == {"added": [], "gone": [], "changed": []}
    assert changes["timber"]["added"] == changes["timber"]["left"] == []
    assert again["changes"]["buy_more"] == 0
    kept = {p["id"]: p["polygon"] for p in made["decks"][0]["pieces"]}
    assert all(p["polygon"] == kept[p["id"]] for p in again["decks"][0]["pieces"])


def test_a_first_piece_cut_long_takes_its_whole_course_along() -> None:
    as_built, made = wide()
    laid = told(made, ["1.1", "1.2"])
    joint = span(piece(made, "1.1"))[1] + 4
    laid["decks"][0]["pieces"][0]["right"] = joint
    again = sound(as_built, made, laid)
    second = span(piece(again, "1.2"))
    assert second == pytest.approx((joint, joint + 2400), abs=0.01)
    assert piece(again, "1.1")["length"] == pytest.approx(piece(made, "1.1")["length"] + 4)
    # What is left for the last piece is shorter by as much.
    last = [p for p in made["decks"][0]["pieces"] if p["course"] == 0][-1]["id"]
    changed = {row["id"]: row for row in again["decks"][0]["changes"]["pieces"]["changed"]}
    assert changed[last]["length"] == pytest.approx(changed[last]["was"] - 4, abs=0.01)


def test_a_course_that_stands_off_moves_all_that_follow() -> None:
    as_built, made = wide()
    edge = made["decks"][0]["courses"][0]["y1"] + 4
    laid = told(made, of_courses(made, 1), courses=[{"course": 1, "edge": edge}])
    again = sound(as_built, made, laid)
    courses = again["decks"][0]["courses"]
    assert [c["y1"] for c in courses[:2]] == pytest.approx([edge, edge + 600])
    # The gap behind it is wider by as much, and the last course takes up the rest.
    near = min(y for _, y in again["decks"][0]["deck"]["outline"])
    was = min(y for _, y in made["decks"][0]["deck"]["outline"])
    assert near == pytest.approx(was + 4, abs=0.05)
    assert courses[-1]["y1"] == pytest.approx(made["decks"][0]["courses"][-1]["y1"])


def test_going_on_twice_keeps_what_landed_off_at_first() -> None:
    as_built, made = wide()
    edge = made["decks"][0]["courses"][0]["y1"] + 4
    laid = told(made, of_courses(made, 1), courses=[{"course": 1, "edge": edge}])
    laid["decks"][0]["pieces"][0] |= {"left": 13.0}
    again = sound(as_built, made, laid)
    more = told(again, of_courses(again, 2))
    third = sound(as_built, again, more)
    for name in of_courses(made, 1):
        was, now = piece(again, name)["polygon"], piece(third, name)["polygon"]
        assert span({"polygon": now}) == pytest.approx(span({"polygon": was}), abs=0.01)
    assert third["decks"][0]["changes"]["pieces"]["changed"] == []


def test_a_joint_off_its_joist_gets_a_cleat() -> None:
    as_built, made = wide()
    deck = made["decks"][0]
    # The first joint of its course: those after it go along, and may lose their frames.
    joint = next(
        j
        for k in range(len(deck["courses"]))
        for j in [next(j for j in deck["joints"] if j["course"] == k)]
        if "joist" in j["support"]
    )
    off = joint["bearing"]["right"] - 12
    names = [*of_courses(made, joint["course"]), joint["left"], joint["right"]]
    laid = told(made, names)
    row = next(p for p in laid["decks"][0]["pieces"] if p["id"] == joint["left"])
    row["right"] = joint["x"] + off
    again = sound(as_built, made, laid)
    cures = again["decks"][0]["changes"]["cures"]
    assert any(joint["left"] in cure["say"] and "Fix cleat" in cure["say"] for cure in cures)
    step = next(s for s in again["decks"][0]["sequence"] if cures[0]["cleat"] in s["noggins"])
    laid_at = next(s for s in again["decks"][0]["sequence"] if joint["left"] in s["pieces"])
    assert step["step"] == laid_at["step"] + 1
    assert "done" not in step


def test_a_spoilt_board_is_bought_again_once_the_spare_ones_are_gone() -> None:
    as_built, made = wide()
    deck = made["decks"][0]
    row = next(row for row in deck["quantities"] if row["kind"] == "board")
    unlaid = [b["id"] for b in deck["boards"]][-(int(row["spare"]) + 2) :]
    again = sound(as_built, made, told(made, ["1.1"], spoilt=unlaid))
    assert again["changes"]["buy_more"] == 2
    bought = next(r for r in again["decks"][0]["quantities"] if r["kind"] == "board")
    assert bought["buy"] == row["buy"] + 2
    assert not {b["id"] for b in again["decks"][0]["boards"]} & set(unlaid)


def test_of_a_spoilt_board_with_a_piece_laid_nothing_more_is_cut() -> None:
    as_built, made = wide()
    deck = made["decks"][0]
    shared = next(b for b in deck["boards"] if len(b["cuts"]) == 2)
    first = min(shared["cuts"], key=lambda name: piece(made, name)["course"])
    names = of_courses(made, piece(made, first)["course"] + 1)
    other = next(name for name in shared["cuts"] if name != first)
    if other in names:
        names = [n for n in names if n != other]
    again = sound(as_built, made, told(made, names, spoilt=[shared["id"]]))
    board = next(b for b in again["decks"][0]["boards"] if b["id"] == shared["id"])
    assert board["cuts"] == [first]


def test_an_opening_that_moves_before_anything_is_cut() -> None:
    as_built, made = random_plan(3, "opening")
    moved = copy.deepcopy(as_built)
    hatch = next(f for r in moved["runs"] for f in r["features"] if f["feature"] == "opening")
    hatch["polygon"] = [[x, y + 60] for x, y in hatch["polygon"]]
    again = plan_again(moved, made, None, QUICK)
    assert failed(again) == []
    pieces = [deck["changes"]["pieces"] for deck in again["decks"]]
    assert any(p["changed"] or p["added"] or p["gone"] for p in pieces)
    assert again["changes"]["laid"] == 0
    assert again["changes"]["say"]


def test_an_opening_that_moves_into_a_laid_piece_is_refused_in_words() -> None:
    as_built, made = wide()
    laid = told(made, ["1.1"])
    low, high = span(piece(made, "1.1"))
    y = made["decks"][0]["courses"][0]["y1"]
    moved = copy.deepcopy(as_built)
    square = [[low + 300, y - 400], [low + 700, y - 400], [low + 700, y], [low + 300, y]]
    moved["runs"][0]["features"].append(
        {"id": "11111111-1111-4111-8111-111111111111", "feature": "obstacle", "polygon": square}
    )
    assert high > low + 700
    with pytest.raises(Refused, match=r"Piece 1\.1 as laid does not fit"):
        plan_again(moved, made, laid)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"left": 4.0}, "laid.too_near"),
        ({"right": 5000.0}, "laid.stretched"),
    ],
)
def test_what_nothing_cures_is_refused_with_what_to_do(change: Json, code: str) -> None:
    as_built, made = wide()
    laid = told(made, ["1.1"])
    laid["decks"][0]["pieces"][0] |= change
    with pytest.raises(Refused) as refused:
        plan_again(as_built, made, laid)
    assert refused.value.reasons[0].code == code
    assert "ake" in str(refused.value)


def test_a_seam_that_stands_open_is_refused() -> None:
    as_built, made = wide()
    edge = made["decks"][0]["courses"][1]["y1"] + 9
    first = made["decks"][0]["courses"][0]["y1"]
    edges = [{"course": 1, "edge": first}, {"course": 2, "edge": edge}]
    with pytest.raises(Refused, match="stands open by 9"):
        plan_again(as_built, made, told(made, of_courses(made, 2), courses=edges))


@pytest.mark.parametrize(
    ("names", "say"),
    [(["1.1", "1.3"], r"Piece 1\.2 is not laid"), (["2.1"], "course 1 has none")],
)
def test_a_gap_in_what_is_laid_is_refused(names: list[str], say: str) -> None:
    as_built, made = wide()
    with pytest.raises(Refused, match=say):
        plan_again(as_built, made, told(made, names))


@pytest.mark.parametrize(
    ("spoil", "say"),
    [
        (lambda f: f.update(version=2), "version"),
        (lambda f: f.update(format="other"), "format"),
        (lambda f: f.update(survey="another"), "survey"),
        (lambda f: f.pop("decks"), "decks: is missing"),
        (lambda f: f["decks"][0].update(id="D9"), "has no deck D9"),
        (lambda f: f["decks"].append(f["decks"][0]), "deck D1 comes twice"),
        (lambda f: f["decks"][0]["pieces"][0].update(id="9.9"), "has no piece 9.9"),
        (lambda f: f["decks"][0]["pieces"][0].update(left="far"), "must be a number"),
        (lambda f: f["decks"][0]["pieces"][0].update(left=9, right=8), "right of its left"),
        (lambda f: f["decks"][0].update(spoilt=["B99"]), "has no board B99"),
        (lambda f: f["decks"][0].update(courses=[{"course": 3, "edge": 1}]), "no piece laid"),
        (lambda f: f["decks"][0].update(fixed=["N9-99"]), "has no noggin or cleat"),
    ],
)
def test_a_file_that_is_none_is_refused_naming_the_field(spoil: Any, say: str) -> None:
    as_built, made = wide()
    laid = told(made, ["1.1"])
    spoil(laid)
    with pytest.raises(BadAsLaid, match=say):
        plan_again(as_built, made, laid)


def test_an_earlier_plan_that_is_none_or_of_another_survey_is_refused() -> None:
    as_built, made = wide()
    with pytest.raises(BadEarlier, match=r"plan\.decks is missing"):
        plan_again(as_built, {k: v for k, v in made.items() if k != "decks"})
    with pytest.raises(Refused, match="another survey"):
        plan_again(as_built, made | {"survey": "another"})


def test_another_board_than_is_laid_is_refused() -> None:
    as_built, made = wide()
    with pytest.raises(BadChoice, match="are laid already"):
        plan_again(as_built, made, told(made, ["1.1"]), {"board": ["1800x600"]})


def test_the_checker_sees_a_laid_piece_that_is_not_kept() -> None:
    as_built, made = wide()
    laid = told(made, of_courses(made, 1))
    again = sound(as_built, made, laid)

    def rows(spoilt: Json, file: Json = laid) -> set[str]:
        found = check(spoilt, as_built, load(), (made, file))
        return {row["rule"] for row in found if not row["holds"]}

    assert rows(again) == set()
    elsewhere = copy.deepcopy(laid)
    elsewhere["decks"][0]["pieces"][0]["right"] = span(piece(made, "1.1"))[1] + 2
    assert "laid.kept" in rows(again, elsewhere)
    unmarked = copy.deepcopy(again)
    piece(unmarked, "1.1").pop("laid")
    assert "laid.kept" in rows(unmarked)
    called = copy.deepcopy(again)
    piece(called, "2.1")["laid"] = True
    assert "laid.kept" in rows(called)
    swapped = copy.deepcopy(again)
    piece(swapped, "1.1")["board"] = "B77"
    assert "laid.kept" in rows(swapped)
    cheap = copy.deepcopy(again)
    cheap["decks"][0]["changes"]["boards"]["buy_more"] = 3
    assert "laid.kept" in rows(cheap)


def test_the_command_goes_on_and_tells_what_changes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    as_built, made = wide()
    names = {"as-built": as_built, "plan": made, "laid": told(made, ["1.1"])}
    for name, document in names.items():
        (tmp_path / f"{name}.json").write_text(json.dumps(document))
    files = [str(tmp_path / f"{name}.json") for name in ("as-built", "plan", "laid")]
    assert main(["plan", files[0], "--plan", files[1], "--laid", files[2]]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["changes"]["laid"] == 1
    assert "1 piece is laid and stays." in err
    assert main(["plan", files[0], "--laid", files[2]]) == 2
    assert "--plan" in capsys.readouterr().err
    assert main(["plan", files[0], "--plan", files[0], "--laid", files[2]]) == 2
    assert "plan.pack is missing" in capsys.readouterr().err


def test_the_cut_list_marks_nothing_on_what_is_laid() -> None:
    as_built, made = wide()
    again = sound(as_built, made, told(made, ["1.1"]))
    rows = board_list([Deck(again["decks"][0], as_built)], "mm").rows
    marks = {row[1]: row[4:6] for row in rows}
    assert marks["1.1"] == ["laid", "laid"]
    assert all("laid" not in mark for name, mark in marks.items() if name != "1.1")


def test_a_butted_joint_that_is_laid_stays_one() -> None:
    """All laid, and nothing left to plan: the plan says the same of it."""
    xs = [0.0, *(600.0 + 350 * k for k in range(7)), 3300.0]
    run = Run([0.0, 600.0], [[x, x] for x in xs], [0.0, *[47.0] * 7, 0.0], (-300, -300), (900, 900))
    run.nominal = 350
    loft = as_built([run], random.Random(1))
    made = plan(loft, Choices(seconds=10, board=(1000, 600)))
    again = sound(loft, made, told(made, of_courses(made, 2)))
    for one in (made, again):
        assert sum(joint["butted"] for joint in one["decks"][0]["joints"]) == 1


def test_what_is_fixed_and_was_done_before_the_boards_is_ticked() -> None:
    """Packers and added joists are neither noggins nor pieces: they count as done before boards.

    An opening that lies elsewhere since is to be done again, whatever is laid by then.
    """
    hatch = rectangle("opening", 1500, 2000, 1900, 2500)
    loft = regular(6, 650, depth=4000, features=[hatch])
    run = loft["runs"][0]
    for member in (*run["joists"], *run["walls"].values()):
        member["at"]["near"]["point"][1] = 500.0
    for joist, down in zip(run["joists"], [210, 210, 216, 210, 210], strict=True):
        joist["level"] = {"near": {"value": down, "sd": 1.0}}
    made = plan(loft, Choices(deck=22, seconds=1, roof="free"))
    kinds = {step["kind"] for step in made["decks"][0]["sequence"]}
    assert {"opening", "raise", "joist", "noggin"} <= kinds
    again = sound(loft, made, told(made, of_courses(made, 1)))
    steps = again["decks"][0]["sequence"]
    laid = next(k for k, step in enumerate(steps) if step["kind"] == "course")
    assert [step.get("done", False) for step in steps[: laid + 2]] == [True] * (laid + 1) + [False]
    hatch["polygon"] = [[x, y + 60] for x, y in hatch["polygon"]]
    moved = sound(loft, made, told(made, of_courses(made, 1)))
    open_ = [step["kind"] for step in moved["decks"][0]["sequence"][:laid] if "done" not in step]
    assert "opening" in open_
    assert "raise" not in open_
    assert any("An opening lies elsewhere" in say for say in moved["changes"]["say"])
    assert not any("opening" in say for say in again["changes"]["say"])


def test_noggins_that_are_fixed_are_ticked_though_nothing_is_laid() -> None:
    """An opening moves while the noggins go in: those that are in stay, and stay ticked."""
    as_built, made = wide()
    steps = made["decks"][0]["sequence"]
    edge = next(k for k, step in enumerate(steps) if step["kind"] == "noggin")
    fixed = [name for step in steps[: edge + 1] for name in step["noggins"]]
    again = sound(as_built, made, told(made, [], fixed=fixed))
    ticked = [step.get("done", False) for step in again["decks"][0]["sequence"]]
    assert ticked[: edge + 1] == [True] * (edge + 1)
    assert not any(ticked[edge + 1 :])
