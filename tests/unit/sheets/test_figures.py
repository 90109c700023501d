"""The figures on the sheets are those of the as-built and the plan, each rounded from the exact."""

from __future__ import annotations

import csv
import io
import math
import re
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from baywalk.sheets import KINDS, cutting, lengths, make, possible
from baywalk.sheets.cutting import placed, sawn
from baywalk.sheets.ink import Path, Words
from tests import sheet_sources

if TYPE_CHECKING:
    from baywalk.sheets import Sheet, Source
    from baywalk.sheets.ink import Page

LOFTS = {
    "demo": sheet_sources.demo,
    "cut round": lambda: sheet_sources.loft(2, opening=True),
    "laid from far": lambda: sheet_sources.loft(5, 9),
}


def sheet(source: Source, name: str, units: str = "mm") -> Sheet:
    return make(name, source, sheet_sources.head(source, units=units))


def texts(made: Sheet) -> list[str]:
    return [w.text for page in made.pages for w in page.items if isinstance(w, Words)]


def rows(made: Sheet, table: int = 0) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(made.tables[table].csv())))


@pytest.mark.parametrize("loft", LOFTS)
def test_running_dimensions_are_those_of_the_as_built(loft: str) -> None:
    source = LOFTS[loft]()
    said = texts(sheet(source, "as-built"))
    for run in source.as_built["runs"]:
        for joist in run["joists"]:
            for place in joist["at"].values():
                assert f"J{joist['index']}: {round(place['x'])}" in said
        for place in run["walls"]["end"]["at"].values():
            assert f"wall: {round(place['x'])}" in said


@pytest.mark.parametrize("loft", LOFTS)
def test_gaps_add_up_to_the_running_dimensions(loft: str) -> None:
    """From the file of the schedules: gap after gap and breadth after breadth, to 0.1 mm each."""
    made = sheet(LOFTS[loft](), "bays")
    joists, bays = rows(made, 0), rows(made, 1)
    for line in {row["line"] for row in joists}:
        gaps = [float(r["gap"]) for r in bays if r["line"] == line]
        own = [r for r in joists if r["line"] == line]
        at = 0.0
        for gap, joist in zip(gaps, own, strict=False):
            at += gap
            # Every term is rounded to 0.1 in the file: half of that each, and no more, may gather.
            slack = 0.05 * (2 * int(joist["joist"]) + 1)
            assert float(joist["left_face"]) == pytest.approx(at, abs=slack)
            at += float(joist["breadth"])


@pytest.mark.parametrize("loft", LOFTS)
def test_every_noggin_is_cut_as_the_plan_says(loft: str) -> None:
    source = LOFTS[loft]()
    assert source.plan is not None
    made = sheet(source, "set-out")
    filed = {row["noggin"]: row for row in rows(made)}
    said = texts(made)
    for deck in source.plan["decks"]:
        assert len(filed) == len(deck["noggins"])
        for noggin in deck["noggins"]:
            row = filed[noggin["id"]]
            assert float(row["length"]) == pytest.approx(noggin["length"], abs=0.051)
            assert f"{noggin['id']}: {round(noggin['length'])}" in said


def marks(source: Source) -> list[dict[str, Any]]:
    assert source.plan is not None
    return [m for d in source.plan["decks"] for step in d["sequence"] for m in step["marks"]]


@pytest.mark.parametrize("loft", LOFTS)
def test_noggin_marks_are_those_of_the_steps(loft: str) -> None:
    """The plan reckons its marks apart from the sheet; both must name one place."""
    source = LOFTS[loft]()
    filed = {row["noggin"]: row for row in rows(sheet(source, "set-out"))}
    compared = 0
    for mark in marks(source):
        named = re.fullmatch(r"(\S+), centre", mark["to"])
        row = filed.get(named[1]) if named else None
        if row is None or mark["hook"] != "the near wall" or row["mark_left"] == "":
            continue
        joist = mark["along"].removeprefix("along ")
        left, right = row["between"].split("–")
        side = {left: "mark_left", right: "mark_right"}[joist]
        assert float(row[side]) == pytest.approx(mark["value"], abs=0.2)
        compared += 1
    assert compared > 10


@pytest.mark.parametrize("loft", LOFTS)
def test_saw_marks_are_those_of_the_steps(loft: str) -> None:
    source = LOFTS[loft]()
    by_piece = {
        one.piece["id"]: (one, float(deck.board["length"]))
        for deck in source.decks
        for board in deck.data["boards"]
        for one in placed(deck, board)
    }
    compared = 0
    for mark in marks(source):
        named = re.fullmatch(r"(\S+), .*cut at its (near|far) edge", mark["to"])
        hook = re.match(r"the (left|right)-hand end", mark["hook"])
        if not named or not hook:
            continue
        one, length = by_piece[named[1]]
        values = [m.value for m in sawn(one, length, far=named[2] == "far") if m.end == hook[1]]
        assert any(v == pytest.approx(mark["value"], abs=0.6) for v in values)
        compared += 1
    assert compared > 3


@pytest.mark.parametrize("loft", LOFTS)
def test_every_piece_lies_within_its_board_and_apart(loft: str) -> None:
    from shapely import Polygon

    for deck in LOFTS[loft]().decks:
        wide, deep = float(deck.board["length"]), float(deck.board["width"])
        for board in deck.data["boards"]:
            shapes = [Polygon(one.corners) for one in placed(deck, board)]
            for one in shapes:
                left, low, right, high = one.bounds
                assert min(left, low) >= -0.01
                assert right <= wide + 0.01
                assert high <= deep + 0.01
            for a, one in enumerate(shapes):
                assert all(one.intersection(other).area < 1 for other in shapes[a + 1 :])


@pytest.mark.parametrize("loft", LOFTS)
def test_end_joints_re_add_to_the_plan(loft: str) -> None:
    source = LOFTS[loft]()
    assert source.plan is not None
    filed = rows(sheet(source, "courses"))
    joints = [j for d in source.plan["decks"] for j in d["joints"]]
    assert len(filed) == len(joints)
    for row, joint in zip(filed, joints, strict=True):
        assert float(row["x"]) == pytest.approx(joint["x"], abs=0.051)
        deck = source.decks[0]
        y = joint["y1"] if deck.data["laid_from"] == "near" else joint["y0"]
        zero = deck.wall_x(y)
        assert zero is not None
        assert float(row["from_start_wall"]) + zero == pytest.approx(joint["x"], abs=0.051)


def test_every_cut_of_timber_is_listed() -> None:
    source = sheet_sources.demo()
    assert source.plan is not None
    table = rows(sheet(source, "cutting"), 2)
    cuts = [c for d in source.plan["decks"] for t in d["timbers"] for c in t["cuts"]]
    assert [(r["item"], float(r["length"])) for r in table] == [
        (c["item"], pytest.approx(c["length"], abs=0.051)) for c in cuts
    ]


def test_what_to_buy_is_what_the_plan_says() -> None:
    source = sheet_sources.demo()
    assert source.plan is not None
    table = rows(sheet(source, "shopping"))
    assert [(r["what"], float(r["buy"])) for r in table] == [
        (q["what"], q["buy"]) for q in source.plan["quantities"]
    ]


def test_the_load_check_keeps_its_cautions_beside_its_figures() -> None:
    source = sheet_sources.demo()
    assert source.capacity is not None
    made = sheet(source, "load-check")
    said = " ".join(texts(made))
    by_joist = {row["joist"]: row for row in rows(made)}
    for run in source.capacity["runs"]:
        for joist in run["joists"]:
            row = by_joist[str(joist["index"])]
            assert row["verdict"] == joist["verdict"]
            assert all(caution in row["cautions"] for caution in joist["cautions"])
    for caution in source.capacity["cautions"]:
        assert caution in said
    assert "is no approval" in said
    # A doubt is told beside what the joist needs to hold at all, never instead of it.
    joists = [joist for run in source.capacity["runs"] for joist in run["joists"]]
    both = [j for j in joists if j["verdict"] == "holds_if_deck_fixed" and j["sure"] is False]
    assert both
    assert said.count("glued and screwed as planned; NOT SURE") == len(both)


def test_no_sheet_reads_as_an_approval() -> None:
    """A word that grants may stand only where it is denied in the same breath."""
    source = sheet_sources.demo()
    for name in KINDS:
        for page in sheet(source, name).pages:
            said = " ".join(w.text for w in page.items if isinstance(w, Words)).lower()
            for word in ("approv", "certif", "guarant", "is safe", "permitted", "compliant"):
                for found in re.finditer(word, said):
                    around = said[max(0, found.start() - 40) : found.end() + 12]
                    assert re.search(r"\b(not|no|nothing|never)\b", around), (name, around)


def test_imperial_is_rounded_from_the_exact() -> None:
    source = sheet_sources.demo()
    said = texts(sheet(source, "as-built", "imperial"))
    for joist in source.as_built["runs"][0]["joists"]:
        x = joist["at"]["near"]["x"]
        assert f"J{joist['index']}: {lengths.say(x, 'imperial')}" in said


def on_edge(page: Page, y: float) -> list[float]:
    """Return the places of the ticks that cross a height of the page: upright, 2 mm long [mm]."""
    found = []
    for item in page.items:
        if isinstance(item, Path) and len(item.rings[0]) == 2:
            (xa, ya), (xb, yb) = item.rings[0]
            if xa == xb and abs(ya - (y - 1)) < 0.01 and abs(yb - (y + 1)) < 0.01:
                found.append(xa)
    return found


@pytest.mark.parametrize("loft", LOFTS)
def test_end_joints_are_ticked_on_the_edge_that_is_named(loft: str) -> None:
    """The edge laid last is the one away from the edge that laying begins at, on paper too."""
    source = LOFTS[loft]()
    (deck,) = source.decks
    edge = {"near": "far", "far": "near"}[deck.data["laid_from"]]
    made = sheet(source, "courses")
    assert {row["along_edge"] for row in rows(made)} == {edge}
    drawn = 0
    for page in (p for p in made.pages if p.heading.endswith("course by course")):
        said = " ".join(w.text for w in page.items if isinstance(w, Words))
        assert f"marked along the {edge} edge" in said
        shapes = [i.rings[0] for i in page.items if isinstance(i, Path) and i.closed]
        strips = [r for r in shapes if len(r) == 4 and abs(r[0][1] - r[3][1]) > 9]
        for high in {round(r[0][1], 2) for r in strips}:
            low = next(r[3][1] for r in strips if round(r[0][1], 2) == high)
            ticks = [len(on_edge(page, y)) for y in (high, low)]
            # Far is up: the marks of a deck laid from near stand on the upper edge.
            assert ticks[edge == "far"] == 0
            drawn += ticks[edge == "near"]
    assert drawn == len(deck.data["joints"])


@pytest.mark.parametrize("loft", LOFTS)
def test_the_lengths_in_a_course_are_those_of_the_plan_at_either_edge(loft: str) -> None:
    source = LOFTS[loft]()
    said = Counter(texts(sheet(source, "courses")))
    wanted: Counter[str] = Counter()
    for deck in source.decks:
        for piece in deck.data["pieces"]:
            if len(piece["polygon"]) != 4 or piece["length"] < 400:
                continue
            ys = sorted({p[1] for p in piece["polygon"]})
            if len(ys) != 2:
                continue
            for y in ys:
                xs = [p[0] for p in piece["polygon"] if p[1] == y]
                wanted[lengths.say(max(xs) - min(xs))] += 1
    assert wanted.total() > 10
    assert not wanted - said


@pytest.mark.parametrize("loft", LOFTS)
def test_every_frame_names_its_noggins_and_its_joint(loft: str) -> None:
    source = LOFTS[loft]()
    filed = {row["frame"]: row for row in rows(sheet(source, "set-out"), 2)}
    listed = {row["noggin"]: row["frames"].split() for row in rows(sheet(source, "set-out"))}
    for deck in source.decks:
        assert set(filed) == {f["id"] for f in deck.data["frames"]}
        joints = {j["id"]: j for j in deck.data["joints"]}
        along = {n["id"] for n in deck.noggins if n.get("along")}
        for frame in deck.data["frames"]:
            row, joint = filed[frame["id"]], joints[frame["joint"]]
            assert joint["support"] == {"frame": frame["id"]}
            assert (row["left"], row["right"]) == (joint["left"], joint["right"])
            assert set(row["along"].split(" and ")) == set(frame["noggins"]) & along
            assert set(row["across"].split(" and ")) == set(frame["noggins"]) - along
            assert all(frame["id"] in listed[name] for name in frame["noggins"])


def test_a_noggin_along_the_joists_is_set_out_as_the_steps_say() -> None:
    """What the table says off a joist's face is what the plan's own step measures."""
    source = sheet_sources.demo()
    said = " ".join(texts(sheet(source, "set-out")))
    compared = 0
    for mark in marks(source):
        found = re.fullmatch(r"(J\w+), the face towards the end wall", mark["hook"])
        if found and mark["to"].startswith("N"):
            text = f"its centre line {lengths.say(mark['value'])} off {found[1]}, the face"
            assert text in said
            compared += 1
    assert compared == len(source.decks[0].data["frames"])


def test_every_cleat_says_its_joint_side_and_section() -> None:
    source = sheet_sources.demo()
    (deck,) = source.decks
    filed = {row["cleat"]: row for row in rows(sheet(source, "set-out"), 1)}
    for cleat in deck.data["cleats"]:
        row = filed[cleat["id"]]
        joint = next(j for j in deck.data["joints"] if j["id"] == cleat["joint"])
        assert (row["left"], row["right"]) == (joint["left"], joint["right"])
        assert row["side"] == cleat["side"]
        assert float(row["breadth"]) == cleat["section"]["breadth"]
        # The bearing that the plan reckons needs the first figure across, under the boards.
        joist = deck.named(deck.cleat_joist(cleat), left=True)
        assert joist is not None
        carried = joist.breadth + cleat["section"]["breadth"]
        # A joint has the whole of joist and cleat under it, but for the slope of the joist.
        assert sum(joint["bearing"].values()) == pytest.approx(carried, abs=5)


@pytest.mark.parametrize("loft", LOFTS)
def test_every_board_says_its_cuts_and_what_is_kept(loft: str) -> None:
    """As many cuts are told as pieces have sawn ends and edges; the widths are the plan's."""
    source = LOFTS[loft]()
    (deck,) = source.decks
    said = " ".join(texts(sheet(source, "cutting")))
    told = 0
    for board in deck.data["boards"]:
        (text,) = cutting.orders(deck, board, "mm") or [""]
        numbers = [int(n) for n in re.findall(r"(\d+): (?:across|along)", text)]
        assert numbers == list(range(1, len(numbers) + 1))
        pieces = [deck.pieces[name] for name in board["cuts"]]
        for piece in pieces:
            across = text.count(f"across for {piece['id']} at")
            if len(piece["polygon"]) == 4:
                assert across == [piece["left"], piece["right"]].count("cut")
            if across == 1 and piece["width"] < 599:
                along = text.partition(f"along {piece['id']}, ")[2]
                assert lengths.say(piece["width"]) in re.findall(r"\d+", along)[:2]
        told += len(numbers)
        first = min(p["course"] for p in pieces)
        for piece in pieces:
            kept = f"Keep {piece['id']} for course {piece['course'] + 1}." in said
            assert kept == (piece["course"] > first)
    assert told > 10


def test_a_strip_ripped_off_is_less_by_the_saw_cut() -> None:
    source = sheet_sources.demo()
    assert source.plan is not None
    (deck,) = source.decks
    kerf = source.plan["rules"]["board.kerf"]["value"]
    board, piece = float(deck.board["width"]), deck.pieces["6.2"]
    (use,) = (b for b in deck.data["boards"] if "6.2" in b["cuts"])
    (text,) = cutting.orders(deck, use, "mm")
    strip = lengths.say(board - piece["width"] - kerf)
    assert f"from the board's near edge (a strip {strip} × 2400 is over)" in text


def test_what_is_left_of_a_board_is_the_board_less_pieces_and_saw_cuts() -> None:
    source = sheet_sources.demo()
    (deck,) = source.decks
    assert deck.kerf is not None
    for board in deck.data["boards"]:
        pieces = [deck.pieces[name] for name in board["cuts"]]
        ends = sum(p[side] == "cut" for p in pieces for side in ("left", "right"))
        used = sum(p["length"] for p in pieces) + ends * deck.kerf
        assert board["offcut"] == pytest.approx(2400 - used, abs=0.01)


def test_a_cut_of_timber_stands_on_a_line_of_its_own() -> None:
    source = sheet_sources.demo()
    (deck,) = source.decks
    table = sheet(source, "cutting").tables[2]
    cuts = [(t, c) for t in deck.data["timbers"] for c in t["cuts"]]
    printed = [(r[0], r[4], r[5]) for r in table.rows]
    assert printed == [(t["id"], c["item"], lengths.say(c["length"])) for t, c in cuts]
    assert not any(column.wrap for column in table.columns)


def test_the_opening_sheet_is_made_unasked_only_where_there_is_an_opening() -> None:
    demo, cut = sheet_sources.demo(), sheet_sources.demo()
    assert cut.plan is not None
    opening: dict[str, Any] = {"polygon": [[900, 900], [1500, 900], [1500, 1600], [900, 1600]]}
    deck = {**cut.plan["decks"][0], "openings": [opening]}
    cut = replace(cut, plan={**cut.plan, "decks": [deck]})
    assert "opening" not in possible(demo)
    assert "opening" in possible(cut)
    assert "This plan has no opening to trim." in texts(sheet(demo, "opening"))


def test_a_reading_in_doubt_stands_beside_the_figure_that_is_drawn() -> None:
    source = sheet_sources.demo()
    said = " ".join(texts(sheet(source, "as-built")))
    run = source.as_built["runs"][0]
    (suspect,) = (r for r in run["readings"] if r["verdict"] == "suspect")
    drawn = lengths.say(suspect["computed"])
    assert drawn == lengths.say(run["bays"][4]["at"]["near"]["gap"])
    text = f"The other readings want 583. Digits swapped? Take it again. Drawn here: {drawn}, not"
    assert text in said


def test_every_gap_of_the_demo_loft_is_drawn_the_walls_too() -> None:
    source = sheet_sources.demo()
    said = Counter(texts(sheet(source, "as-built")))
    bays = source.as_built["runs"][0]["bays"]
    assert not Counter(lengths.say(a["gap"]) for b in bays for a in b["at"].values()) - said


def test_the_shopping_list_adds_up_and_says_its_money() -> None:
    source = sheet_sources.demo()
    assert source.plan is not None
    said = " ".join(texts(sheet(source, "shopping")))
    total = sum(q["cost"] or 0 for q in source.plan["quantities"])
    money = source.plan["rules"]["price.currency"]["value"]
    assert f"Total: {total:.2f} {money}, without what has a dash" in said
    (packer,) = (r for d in source.plan["decks"] for r in d["raise"] if r["kind"] == "packer")
    size = f"{packer['length']:.0f} × {packer['breadth']:.0f}"
    assert f"{packer['thickness']} mm thick, {size}" in said


def test_screws_in_plain_words_are_as_many_as_the_plan_counts() -> None:
    """What the sheet says of the boards' screws, counted again piece by piece from the words."""
    source = sheet_sources.demo()
    assert source.plan is not None
    (deck,) = source.decks
    said = " ".join(texts(sheet(source, "shopping")))
    found = re.search(
        r"Along both ends .* further than (\d+) from the next\. On every joist between, .* further"
        r" than (\d+) from the next\. Into every noggin under the deck's edge, .* than (\d+) apart",
        said,
    )
    assert found
    end, field, edge = (int(n) for n in found.groups())
    count = 0
    for piece in deck.data["pieces"]:
        xs = [p[0] for p in piece["polygon"]]
        middle = sum(p[1] for p in piece["polygon"]) / len(piece["polygon"])
        count += 2 * (math.ceil(round(piece["width"], 3) / end - 1e-9) + 1)
        for timber in deck.timbers:
            if min(xs) + timber.breadth < timber.crossing(middle)[0] < max(xs) - timber.breadth:
                count += math.ceil(round(piece["width"], 3) / field - 1e-9) + 1
    count += sum(math.ceil(n["length"] / edge) + 1 for n in deck.noggins if "edge" in n["serves"])
    (row,) = (q for q in source.plan["quantities"] if q["what"] == "screws for boards")
    assert row["net"] == count


@pytest.mark.parametrize("loft", LOFTS)
def test_the_outer_dimensions_are_those_of_the_deck(loft: str) -> None:
    """Read from the outline's corners by hand: widest at each edge, which may slope."""
    source = LOFTS[loft]()
    (deck,) = source.decks
    said = texts(sheet(source, "courses"))
    outline = deck.data["deck"]["outline"]
    middle = sum(p[1] for p in outline) / len(outline)
    for near in (True, False):
        xs = [x for x, y in outline if (y < middle) == near]
        assert lengths.say(max(xs) - min(xs)) in said


@pytest.mark.parametrize("loft", LOFTS)
def test_marks_on_a_wall_are_near_those_on_the_joist_beside_it(loft: str) -> None:
    """A noggin is nearly square to its bay, however a wall leans."""
    compared = 0
    for row in rows(sheet(LOFTS[loft](), "set-out")):
        if "wall" in row["between"] and row["mark_left"] and row["mark_right"]:
            lean = abs(float(row["mark_left"]) - float(row["mark_right"]))
            assert lean < 0.25 * float(row["length"])
            compared += 1
    assert compared > 3
