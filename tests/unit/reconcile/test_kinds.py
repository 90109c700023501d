"""Every kind of reading does in the as-built what it says."""

from __future__ import annotations

import math

import pytest

from baywalk.fieldbook.entry import READINGS
from baywalk.reconcile.network import READING_KINDS
from tests.unit.reconcile.book import Book


def _at(run: dict, joist: int, line: str = "near") -> float:
    if joist == len(run["joists"]) + 1:
        return run["walls"]["end"]["at"][line]["x"]
    return run["joists"][joist - 1]["at"][line]["x"]


def _reading(run: dict, name: str) -> dict:
    return next(r for r in run["readings"] if r["id"] == name)


def _gaps(book: Book) -> None:
    """Three joists of 50 with gaps of 350, the first and last 200."""
    for bay, value in enumerate((200, 350, 350, 200)):
        book.gap(bay, value)
    for joist in (1, 2, 3):
        book.breadth(joist, 50)


def test_every_kind_of_reading_is_reconciled() -> None:
    """What the field book takes for a reading has its equation."""
    assert set(READING_KINDS) == READINGS


def test_gaps_and_breadths() -> None:
    """Gaps and breadths alone place every joist; nothing checks them, and that is said."""
    book = Book(joists=3)
    _gaps(book)
    run = book.only_run()
    assert [_at(run, j) for j in (1, 2, 3, 4)] == pytest.approx([225, 625, 1025, 1250])
    assert [b["at"]["near"]["gap"] for b in run["bays"]] == pytest.approx([200, 350, 350, 200])
    assert [b["at"]["near"]["centres"] for b in run["bays"]] == [None, 400, 400, None]
    assert {r["verdict"] for r in run["readings"]} == {"unchecked"}
    assert run["fit"] == {"dof": 0, "sigma0": None, "chi2_p": None, "limit": run["fit"]["limit"]}


def test_uncertainty_grows_along_the_walk() -> None:
    """Each gap and breadth on the way adds its own; the tape's scale adds in proportion."""
    book = Book(joists=3)
    _gaps(book)
    run = book.only_run()
    # Class II, hooked, read to a millimetre by hand: from the rule pack by hand.
    one = math.sqrt(0.5**2 / 3 + 1 / 12 + 1)
    scale = 0.2 / math.sqrt(3)
    wall = run["walls"]["end"]["at"]["near"]["sd"]
    # Of the 1250 only the four gaps were taped across; breadths are not scaled.
    assert wall == pytest.approx(math.hypot(one * math.sqrt(7), scale * 1.1), abs=2e-3)


def test_overall_checks_the_gaps() -> None:
    """A sum and its overall share one test; three gaps of 350 against 1100 carry it evenly."""
    book = Book(joists=3)
    _gaps(book)
    overall = book.across((0, "face"), (4, "face"), 1254)
    run = book.only_run()
    assert run["fit"]["dof"] == 1
    assert 1250 < _at(run, 4) < 1254
    # Eight readings of equal weight share one degree of freedom, less a little for the scale.
    assert _reading(run, overall)["redundancy"] == pytest.approx(1 / 8, abs=2e-3)


def test_running_readings_and_a_second_hook() -> None:
    """Faces from one zero, then from a face further on, with the tape hooked there."""
    book = Book(joists=4)
    for joist, left in ((1, 200), (2, 600)):
        book.across((0, "face"), (joist, "left"), left, hook="first")
        book.across((0, "face"), (joist, "right"), left + 50, hook="first")
    for joist, left in ((3, 350), (4, 750)):
        book.across((2, "right"), (joist, "left"), left, hook="second")
        book.across((2, "right"), (joist, "right"), left + 50, hook="second")
    book.across((2, "right"), (5, "face"), 1000, hook="second")
    run = book.only_run()
    wanted = [225, 625, 1025, 1425, 1650]
    assert [_at(run, j) for j in range(1, 6)] == pytest.approx(wanted, abs=1e-3)
    assert [j["breadth"]["value"] for j in run["joists"]] == pytest.approx([50] * 4, abs=1e-3)


def test_centre_to_centre_and_either_direction() -> None:
    """A reading from right to left is the same length."""
    forth, back = Book(joists=2), Book(joists=2)
    forth.across((1, "centre"), (2, "centre"), 400)
    back.across((2, "centre"), (1, "centre"), 400)
    for book in (forth, back):
        book.gap(0, 200)
        book.breadth(1, 50)
        run = book.only_run()
        assert _at(run, 2) == pytest.approx(625)
        assert run["bays"][1]["at"]["near"]["centres"] == pytest.approx(400)


@pytest.mark.parametrize("face", ["left", "right", "centre", "face"])
def test_a_wall_has_one_face(face: str) -> None:
    """Whatever a wall's face is called, it is the wall's face."""
    book = Book(joists=1)
    book.across((0, face), (1, "left"), 200)
    book.across((1, "right"), (2, face), 300)
    book.breadth(1, 50)
    assert _at(book.only_run(), 2) == pytest.approx(550)


def test_breadths_are_found_from_faces() -> None:
    """Two running readings across a joist give its breadth without a reading of it."""
    book = Book(joists=1)
    book.across((0, "face"), (1, "left"), 200)
    book.across((0, "face"), (1, "right"), 246)
    joist = book.only_run()["joists"][0]
    assert joist["breadth"]["value"] == pytest.approx(46)
    assert "usual" not in joist["breadth"]


def test_usual_breadth_stands_in_and_is_told() -> None:
    """Gaps alone need the usual timber; it never touches a breadth that was read."""
    book = Book(joists=3, breadth=47, depth=147)
    for bay, value in enumerate((200, 353, 353, 200)):
        book.gap(bay, value)
    book.breadth(2, 52)
    run = book.only_run()
    assert run["joists"][1]["breadth"]["value"] == pytest.approx(52)
    assert [j["breadth"].get("usual") for j in run["joists"]] == [True, None, True]
    told = next(f for f in run["findings"] if f["code"] == "breadth.usual")
    assert told["where"]["joists"] == [1, 3]
    # One timber read wider than usual makes the others likely to be wider too, a little.
    assert 47 < run["joists"][0]["breadth"]["value"] < 52
    assert run["joists"][0]["depth"] == {"value": 147.0, "sd": 2.0, "usual": True}


def test_sizes_levels_and_bearings() -> None:
    """Depth, level and bearing are what was read, and twice read they check each other."""
    book = Book(joists=2)
    book.add("depth", joist=1, value=146)
    book.add("depth", joist=1, value=148)
    book.add("level", joist=2, line="near", value=212)
    book.add("bearing", joist=2, end="far", value=75)
    first, second = book.only_run()["joists"]
    assert first["depth"]["value"] == pytest.approx(147)
    assert second["level"]["near"]["value"] == pytest.approx(212)
    assert second["bearing"]["far"]["value"] == pytest.approx(75)
    assert first["bearing"] is first["level"] is None


def test_repeats_are_each_tested() -> None:
    """Of n readings of one length each has redundancy 1 - 1/n and its own residual."""
    book = Book(joists=1)
    names = [book.breadth(1, value) for value in (46, 47, 48, 47)]
    run = book.only_run()
    records = [_reading(run, name) for name in names]
    assert [r["redundancy"] for r in records] == pytest.approx([0.75] * 4)
    assert [r["residual"] for r in records] == pytest.approx([1, 0, -1, 0])
    assert run["joists"][0]["breadth"]["value"] == pytest.approx(47)
    assert run["fit"]["dof"] == 3


def test_span_from_support_to_support() -> None:
    """The span is known though neither support is placed from a tape line."""
    book = Book(joists=2)
    book.along(1, "near_support", "far_support", 3400)
    joist = book.only_run()["joists"][0]
    assert joist["span"]["value"] == pytest.approx(3400, abs=1e-3)
    assert joist["ends"] is None


def test_ends_are_measured_from_the_first_line() -> None:
    """An edge before the line is negative; further places count on, in either direction."""
    book = Book(joists=1)
    book.along(1, "near_edge", "near", 300)
    book.along(1, "near", "near_support", 240)
    book.along(1, "far_edge", "near", 3000)
    book.along(1, "near", "far_support", 2950)
    ends = book.only_run()["joists"][0]["ends"]
    values = {name: end["value"] for name, end in ends.items()}
    wanted = {"near_edge": -300, "near_support": -240, "far_edge": 3000, "far_support": 2950}
    assert values == pytest.approx(wanted, abs=1e-3)


def _rectangle(*, more: bool = True) -> Book:
    """Two lines 3000 apart and square, two joists, both walls; tied by alongs and a diagonal."""
    book = Book(joists=2, lines=("near", "far"))
    for line in ("near", "far"):
        for bay, value in enumerate((200, 350, 200)):
            book.gap(bay, value, line=line)
    for joist in (1, 2):
        book.breadth(joist, 50)
        book.along(joist, "near", "far", 3000)
    if more:
        book.diagonal((1, "near"), (2, "far"), math.hypot(400, 3000))
    return book


def test_a_square_loft_is_square() -> None:
    """Points fall on the rectangle and every angle is nought."""
    run = _rectangle().only_run()
    assert run["joists"][0]["at"]["far"]["point"] == pytest.approx([225, 3000], abs=1e-2)
    assert run["walls"]["end"]["at"]["far"]["point"] == pytest.approx([850, 3000], abs=1e-2)
    assert [j["angle"] for j in run["joists"]] == pytest.approx([0, 0], abs=1e-3)
    assert run["fit"]["sigma0"] is None


def test_without_a_diagonal_square_is_not_told() -> None:
    """Two alongs and no diagonal: no point on the far line, a finding, and advice that ties it."""
    run = _rectangle(more=False).only_run()
    assert run["joists"][0]["at"]["far"]["x"] == pytest.approx(225)
    assert run["joists"][0]["at"]["far"]["point"] is None
    assert "line.undetermined" in {f["code"] for f in run["findings"]}
    assert "diagonal" in {r["take"]["kind"] for r in run["next_readings"]}


@pytest.mark.parametrize("lean", [-40.0, 25.0])
def test_a_leaning_far_line(lean: float) -> None:
    """A parallelogram: both diagonals carry the lean, and the far end of an edge follows it."""
    book = _rectangle(more=False)
    depth = math.sqrt(3000**2 - lean**2)
    book.diagonal((1, "near"), (2, "far"), math.hypot(400 + lean, depth))
    book.diagonal((1, "far"), (2, "near"), math.hypot(400 - lean, depth))
    book.along(1, "far", "far_edge", 300)
    book.along(2, "far", "far_edge", 300)
    run = book.only_run()
    first = run["joists"][0]
    assert first["at"]["far"]["point"] == pytest.approx([225 + lean, depth], abs=0.1)
    assert first["angle"] == pytest.approx(math.degrees(math.asin(lean / 3000)), abs=0.005)
    assert first["ends"]["far_edge"]["value"] == pytest.approx(3300, abs=0.1)


def test_three_lines() -> None:
    """A line between the others is placed by its own readings and bends nothing."""
    book = Book(joists=2, lines=("near", "mid", "far"))
    for line, y in (("near", 0), ("mid", 1200), ("far", 3000)):
        for bay, value in enumerate((200, 350, 200)):
            book.gap(bay, value, line=line)
        if y:
            for joist in (1, 2):
                book.along(joist, "near", line, y)
            book.diagonal((1, "near"), (2, line), math.hypot(400, y))
    book.along(1, "mid", "far", 1800)
    for joist in (1, 2):
        book.breadth(joist, 50)
    run = book.only_run()
    assert run["joists"][1]["at"]["mid"]["point"] == pytest.approx([625, 1200], abs=0.05)
    assert run["joists"][1]["at"]["far"]["point"] == pytest.approx([625, 3000], abs=0.05)
    assert run["fit"]["dof"] == 1


def test_runs_do_not_touch_each_other() -> None:
    """A second run with its own walls is adjusted by itself."""
    book = Book(joists=1)
    book.run("B", 1, ("near",))
    for run, first in (("A", 200), ("B", 300)):
        book.across((0, "face"), (1, "left"), first, run=run)
        book.across((1, "right"), (2, "face"), 100, run=run)
        book.breadth(1, 50, run=run)
    a, b = book.as_built()["runs"]
    assert (_at(a, 2), _at(b, 2)) == pytest.approx((350, 450))


def test_a_finer_tape_weighs_more() -> None:
    """A class I reading to half a millimetre outweighs a class III one to five."""
    book = Book(joists=1)
    book.breadth(1, 46, tape="I", resolution=0.5)
    book.breadth(1, 50, tape="III", resolution=5)
    breadth = book.only_run()["joists"][0]["breadth"]["value"]
    assert 46 < breadth < 48


def test_outline_follows_walls_and_edges() -> None:
    """With both edges on two joists and both walls tied, the deck's limit is a polygon."""
    book = _rectangle()
    for joist in (1, 2):
        book.along(joist, "near_edge", "near", 100)
        book.along(joist, "far", "far_edge", 150)
    outline = book.only_run()["outline"]
    assert outline[0] == pytest.approx([0, -100], abs=0.1)
    assert [850, 3150] in [[round(c) for c in point] for point in outline]


def test_outline_follows_edges_read_along_the_walls() -> None:
    """Edges read along both walls bound the deck as well, and nothing more is asked of them."""
    book = _rectangle()
    for wall in (0, 3):
        book.along(wall, "near_edge", "near", 100)
        book.along(wall, "far", "far_edge", 150)
    run = book.only_run()
    assert run["outline"][0] == pytest.approx([0, -100], abs=0.1)
    assert len(run["outline"]) == 4
    assert not [one for one in run["next_readings"] if "edge" in one["say"]]


def test_features_are_set_out_in_the_plane() -> None:
    """An opening from a joist's right face, its corners in coordinates; a pipe as it was noted."""
    book = _rectangle()
    where = {"line": "near", "from": [1, "right"], "across": 20, "along": 500}
    opening = book.add("feature", feature="opening", **where, width=250, length=700)
    book.add("feature", feature="pipe", bay=1, note="22 mm")
    struck = book.add("feature", feature="cable", bay=1)
    book.strike(struck)
    features = book.only_run()["features"]
    assert [f["feature"] for f in features] == ["opening", "pipe"]
    assert features[0]["id"] == opening
    assert features[0]["polygon"][0] == pytest.approx([270, 500], abs=0.05)
    assert features[0]["polygon"][2] == pytest.approx([520, 1200], abs=0.05)
