"""The planner's rules against published figures; each source beside its case.

READ: seen in the named source. MEMORY: from memory. Without either: common practice, no source.
"""

from __future__ import annotations

import pytest
from shapely import box

from baywalk import rules
from baywalk.planning.area import expansion_gap
from baywalk.planning.asbuilt import sound
from baywalk.planning.board import needed
from baywalk.planning.choices import Board, Choices, Weights
from baywalk.planning.ground import Ground, ground
from baywalk.planning.layout.cutting import LEFT, RIGHT, Need, cut
from baywalk.planning.layout.patterns import Limits, ways
from baywalk.planning.layout.zones import JOIST, Zone
from baywalk.planning.plan import plan
from baywalk.planning.quantities import fixings
from baywalk.planning.support.noggins import Section
from baywalk.planning.support.strutting import rows
from baywalk.planning.support.timber import Item, Saw, cut_stock
from tests.unit.planning.loft import as_built, regular

PACK = rules.load()
FREE = Weights(1.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("centres", "thickness"), [(400, 18), (450, 18), (451, 22), (600, 22), (633, 22)]
)
def test_thickness_by_centres(centres: float, thickness: float) -> None:
    """NHBC Standards 6.4.19 Table 7 (2022), P5: 18 to 450, 22 to 600; beyond it no row. READ."""
    assert needed(centres, PACK) == thickness


@pytest.mark.parametrize(("span", "count"), [(2400, 0), (3000, 1), (4500, 1), (4600, 2)])
def test_rows_of_strutting(span: float, count: int) -> None:
    """NHBC Standards 6.4.15 Table 4 (2022). READ."""
    assert rows(span, PACK) == count


@pytest.mark.parametrize(("run", "gap"), [(8000, 16), (4000, 10), (6000, 12), (5100, 11)])
def test_expansion_gap_is_the_greatest_form(run: float, gap: float) -> None:
    """NBS K11 325 max(10, 1.5 mm/m); warranty guidance 2 mm/m; a maker's 10 or 2 mm/m. READ.

    For 8 m they give 12, 16 and 16. Rounded up to the whole millimetre.
    """
    assert expansion_gap(box(0, 0, run, 2000), Choices(), PACK) == gap


@pytest.mark.parametrize(("thickness", "length"), [(18, 50), (22, 55)])
def test_screw_length(thickness: float, length: float) -> None:
    """NBS K11 325: 50 mm × No. 8 for 22 mm; NHBC 6.4.19: 2.5 times the thickness. READ.

    The longer of the two: 45 and 55 by the second.
    """
    rows_ = fixings([], plan_ground(), [], [], Board(2400, 600, thickness), PACK)
    assert rows_[0]["length"] == length
    assert rows_[0]["gauge"] == "No. 8"


def plan_ground() -> Ground:
    """Return the joists of a plain loft."""
    return ground(sound(regular(8))["runs"][0])


def _ways(spacing: float, bays: int) -> list[int]:
    """Return on which joists a course's first joint may lie when all are to lie on joists."""
    spots = [Zone(k * spacing - 5.5, k * spacing + 5.5, JOIST, 0.0) for k in range(1, bays)]
    width = spacing * bays
    found = ways(
        Limits(0, width, spacing, width - spacing, 300, (True, True)),
        spots,
        2400,
        FREE,
        short=False,
    )
    middles = (found.low + found.high) / 2
    return sorted({round(float(x) / spacing) for x in middles})


def test_2400_divides_by_400_and_600_not_by_450() -> None:
    """A board covers 6 bays of 400 and 4 of 600, all joints on joists; of 450 no joint in line.

    Arithmetic on the published sizes (2400 × 600; centres 400, 450, 600).
    """
    assert len(_ways(400, 13)) == 6
    assert len(_ways(600, 9)) == 4
    # 450 k + 2400 is never near a multiple of 450: two joints in a course never both lie on joists.
    assert _ways(450, 12) == []


def test_joints_on_joists_need_18_for_each_board() -> None:
    """A joist of 47 leaves 47 − 2 × 18 = 11 for the joint; of 38 only 2. MEMORY for the 18."""
    for breadth, room in ((47, 11.0), (38, 2.0)):
        made = plan(regular(12, breadth=breadth), Choices(seconds=2))
        joints = [j for j in made["decks"][0]["joints"] if "joist" in j["support"]]
        assert joints
        assert all(
            abs(j["bearing"]["left"] + j["bearing"]["right"] - breadth) < 0.1 for j in joints
        )
        assert all(min(j["bearing"].values()) >= breadth / 2 - room / 2 - 0.1 for j in joints)


def test_a_saw_cut_decides() -> None:
    """Two halves of a board are no board: 1200 + 1200 + a saw cut of 3 is more than 2400.

    Common practice, no source, for the 3.
    """
    both = [Need("a", 1200, LEFT), Need("b", 1200, RIGHT)]
    assert len(cut(both, 2400, PACK["board.kerf"])) == 2
    less = [Need("a", 1198, LEFT), Need("b", 1199, RIGHT)]
    assert len(cut(less, 2400, PACK["board.kerf"])) == 1


def test_hands_do_not_mix() -> None:
    """Two pieces that both need the left-hand end of a board take two boards, however short."""
    assert len(cut([Need("a", 600, LEFT), Need("b", 600, LEFT)], 2400, 3)) == 2


def test_stock_cutting_of_a_textbook() -> None:
    """Pieces of 81, 70 and 68 from rods of 218: 44, 3 and 48 of them take 32 rods.

    A small case after Gilmore and Gomory's method; the bound is worked out by hand: 44·81 + 3·70
    + 48·68 = 7038 and 7038 / 218 = 32.3, so no fewer than 33.
    """
    sizes = [81] * 44 + [70] * 3 + [68] * 48
    items = [Item(str(k), float(size)) for k, size in enumerate(sizes)]
    made = cut_stock(Section(47, 97), items, [218.0], Saw(0.0))
    assert made.bound >= 33 * 218
    assert made.bought == made.bound
    assert sorted(i.id for s in made.stock for i in s.cuts) == sorted(i.id for i in items)
    assert all(sum(i.length for i in s.cuts) <= s.length for s in made.stock)


def test_a_noggin_is_its_own_bay_less_the_fit() -> None:
    """Bays of 400 and joists of 47: 353 clear, less 2 for the fit. Common practice, no source."""
    made = plan(as_built([400, 800, 1200, 1600], 2000, 2000), Choices(seconds=1))
    inner = [n for n in made["decks"][0]["noggins"] if n["bay"] in (1, 2, 3) and "x" not in n]
    assert inner
    assert {n["length"] for n in inner} == {351.0}
