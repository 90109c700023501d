"""What the readings leave open, and what fits nowhere, is told and never thrown."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest

from tests.lofts import full_loft
from tests.unit.reconcile.book import Book, sound


def _codes(run: dict) -> set[str]:
    return {f["code"] for f in run["findings"]}


def _verdict(run: dict, name: str) -> str:
    return next(r["verdict"] for r in run["readings"] if r["id"] == name)


def test_an_empty_run() -> None:
    """Nothing read: every place is null, one finding tells it, and the first gap is advised."""
    run = Book(joists=3, lines=("near", "far")).only_run()
    assert all(at["x"] is None for j in run["joists"] for at in j["at"].values())
    assert {"position.undetermined", "line.undetermined"} <= _codes(run)
    assert run["next_readings"][0]["take"]["from"] == [0, "face"]
    assert run["outline"] is None
    assert run["settled"]


def test_no_joists_yet() -> None:
    """A run that has not been walked has two walls and one bay."""
    book = Book(joists=0)
    book.across((0, "face"), (1, "face"), 900)
    run = book.only_run()
    assert run["joists"] == []
    assert run["walls"]["end"]["at"]["near"]["x"] == pytest.approx(900)
    assert run["bays"][0]["at"]["near"]["gap"] == pytest.approx(900)


def test_a_run_without_lines() -> None:
    """Sizes can be read; that a line is missing is told."""
    book = Book(joists=2, lines=())
    book.breadth(1, 47)
    lost = book.gap(0, 200)
    run = book.only_run()
    assert "run.no_line" in _codes(run)
    assert run["joists"][0]["breadth"]["value"] == pytest.approx(47)
    assert _verdict(run, lost) == "unchecked"


def test_no_runs_at_all() -> None:
    """A survey without runs is an as-built without runs; its readings are told."""
    book = Book()
    book.runs = []
    book.gap_ = book.across((0, "face"), (1, "left"), 200)
    as_built = book.as_built()
    assert as_built["runs"] == []
    assert [f["code"] for f in as_built["findings"]] == ["reading.no_run"]


def test_joists_never_reached() -> None:
    """The walk stopped half way: the rest is null, and the next bay is advised."""
    book = Book(joists=5, breadth=47)
    for bay, value in enumerate((200, 353, 353)):
        book.gap(bay, value)
    run = book.only_run()
    xs = [j["at"]["near"]["x"] for j in run["joists"]]
    assert [x is None for x in xs] == [False, False, False, True, True]
    told = next(f for f in run["findings"] if f["code"] == "position.undetermined")
    assert told["where"]["joists"] == [4, 5, 6]
    assert run["next_readings"][0]["take"]["to"] == [4, "left"]


def test_an_island_of_joists() -> None:
    """Joists tied to one another and to no wall have gaps and no places."""
    book = Book(joists=4, breadth=47)
    book.gap(2, 353)
    run = book.only_run()
    assert all(j["at"]["near"]["x"] is None for j in run["joists"])
    assert run["bays"][2]["at"]["near"]["gap"] == pytest.approx(353, abs=1e-3)
    assert run["bays"][2]["at"]["near"]["centres"] == pytest.approx(400, abs=0.1)


def test_no_breadth_and_no_usual_timber() -> None:
    """Gaps are known, places are not; the breadths are named as missing."""
    book = Book(joists=2)
    for bay, value in enumerate((200, 353, 200)):
        book.gap(bay, value)
    run = book.only_run()
    assert [b["at"]["near"]["gap"] for b in run["bays"]] == pytest.approx([200, 353, 200])
    assert all(j["at"]["near"]["x"] is None for j in run["joists"])
    assert all(j["breadth"] is None for j in run["joists"])
    assert "breadth.undetermined" in _codes(run)


Misfit = Callable[[Book], str]

MISFITS: dict[str, Misfit] = {
    "a line nobody has": lambda b: b.across((0, "face"), (1, "left"), 200, line="middle"),
    "a joist beyond the run": lambda b: b.across((0, "face"), (9, "left"), 200),
    "a face to itself": lambda b: b.across((1, "left"), (1, "left"), 5),
    "a wall to itself": lambda b: b.across((0, "left"), (0, "right"), 5),
    "a wall's breadth": lambda b: b.breadth(0, 100),
    "the end wall's depth": lambda b: b.add("depth", joist=3, value=100),
    "a level on no line": lambda b: b.add("level", joist=1, line="middle", value=200),
    "a place to itself": lambda b: b.along(1, "near", "near", 10),
    "an unknown place": lambda b: b.along(1, "near", "middle", 10),
    "a point to itself": lambda b: b.diagonal((1, "near"), (1, "near"), 10),
    "a diagonal to nowhere": lambda b: b.diagonal((1, "near"), (2, "middle"), 10),
}


@pytest.mark.parametrize("misfit", MISFITS.values(), ids=MISFITS)
def test_a_reading_without_a_place(misfit: Misfit) -> None:
    """It is told with the reason, is unchecked, and moves nothing."""
    book = Book(joists=2, breadth=47)
    for bay, value in enumerate((200, 353, 200)):
        book.gap(bay, value)
    before = book.only_run()
    name = misfit(book)
    run = book.only_run()
    told = [f for f in run["findings"] if f["code"] == "reading.misplaced"]
    assert [f["where"]["reading"] for f in told] == [name]
    record = next(r for r in run["readings"] if r["id"] == name)
    assert record["verdict"] == "unchecked"
    assert record["why"]
    assert run["joists"] == before["joists"]


def test_a_renamed_line_leaves_its_readings_behind() -> None:
    """A ``set`` of the lines makes readings of the old name misplaced, all of them told."""
    book = Book(joists=1)
    names = {book.gap(0, 200), book.gap(1, 200)}
    book.add("set", path="/runs/A/lines", value=["eaves"])
    run = book.only_run()
    told = {f["where"]["reading"] for f in run["findings"] if f["code"] == "reading.misplaced"}
    assert told == names
    assert run["joists"][0]["at"]["eaves"]["x"] is None


def test_a_run_that_shrank() -> None:
    """Fewer joists than were read: readings beyond are told, none is lost."""
    book = Book(joists=4, breadth=47)
    for bay, value in enumerate((200, 353, 353, 353, 200)):
        book.gap(bay, value)
    book.add("set", path="/runs/A/joists", value=2)
    as_built = book.as_built()
    run = as_built["runs"][0]
    assert len(run["joists"]) == 2
    assert len(run["readings"]) == 5


def test_everything_struck_out() -> None:
    """All readings struck: the as-built of an empty run, with every reading listed as struck."""
    survey = full_loft(1).survey()
    book = Book()
    book.runs, book.entries = survey["runs"], survey["entries"]
    for entry in list(book.entries):
        book.strike(entry["id"])
    run = book.only_run()
    assert {r["verdict"] for r in run["readings"]} == {"struck"}
    assert run["fit"]["dof"] == 0
    assert all(at["x"] is None for j in run["joists"] for at in j["at"].values())


def test_a_struck_reading_has_no_say() -> None:
    """Whatever value a struck reading carries, the as-built is the same; restored, it is not."""
    results = []
    for value in (999, 1):
        book = Book(joists=2, breadth=47)
        wrong = book.gap(1, value)
        for bay, right in enumerate((200, 353, 200)):
            book.gap(bay, right)
        mark = book.strike(wrong)
        run = book.only_run()
        assert _verdict(run, wrong) == "struck"
        results.append(run)
        book.add("restore", target=mark)
        assert _verdict(book.only_run(), wrong) != "struck"
    assert results[0] == results[1]


@pytest.mark.parametrize("value", [0, 1e-9, 1, 1_000_000])
@pytest.mark.parametrize("which", ["gap", "running", "breadth", "along", "diagonal"])
def test_absurd_lengths(which: str, value: float) -> None:
    """Nought and a kilometre are lengths: nothing breaks, and that very reading is named."""
    loft = full_loft(2, 4)
    entry = loft.entries[
        {"gap": 1, "running": 8, "breadth": -6, "along": -3, "diagonal": -1}[which]
    ]
    entry["value"] = value
    as_built = sound(loft.survey())
    first = as_built["runs"][0]["suspects"][0]
    assert first["reading"] == entry["id"]
    assert len(as_built["runs"][0]["suspects"]) == 1


def test_two_diagonals_of_one_millimetre() -> None:
    """A plane figure that cannot be: not settled, a diagonal named, figures finite throughout."""
    survey = full_loft(3).survey()
    diagonals = [e for e in survey["entries"] if e["kind"] == "diagonal"]
    for diagonal in diagonals:
        diagonal["value"] = 1
    run = sound(survey)["runs"][0]
    assert {s["reading"] for s in run["suspects"]} & {e["id"] for e in diagonals}


def test_two_readings_that_cannot_both_be() -> None:
    """One length read as 400 and as 500: noticed; which one, nothing can tell."""
    book = Book(joists=1)
    names = {book.gap(0, 400), book.gap(0, 500)}
    book.breadth(1, 47)
    run = book.only_run()
    assert {s["reading"] for s in run["suspects"]} == names
    assert not run["settled"]


@pytest.mark.parametrize("first", range(0, 300, 50))
def test_any_part_of_a_loft(first: int) -> None:
    """Three hundred random parts of full lofts: always a whole, sound as-built."""
    for seed in range(first, first + 50):
        draw = random.Random(seed)
        survey = full_loft(seed, draw.randint(1, 7)).survey()
        share = draw.choice([0.05, 0.2, 0.5, 0.8, 0.95])
        survey["entries"] = [e for e in survey["entries"] if draw.random() < share]
        if draw.random() < 0.5:
            del survey["runs"][0]["member"]
        if draw.random() < 0.3:
            survey["runs"][0]["lines"] = draw.choice([["far", "near"], ["near"], ["far", "x"]])
        if draw.random() < 0.2:
            survey["runs"][0]["joists"] = draw.randint(0, 9)
        sound(survey)
