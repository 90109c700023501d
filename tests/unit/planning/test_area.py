"""The deck's area and its courses, on shapes worked out by hand."""

from __future__ import annotations

from itertools import pairwise
from math import dist
from typing import Any

import pytest

from baywalk import rules
from baywalk.planning import Choices
from baywalk.planning.area import Area, areas
from baywalk.planning.asbuilt import sound
from baywalk.planning.courses import courses
from baywalk.planning.ground import Ground, ground
from baywalk.planning.shapes import rings
from tests.planning_lofts import random_as_built
from tests.unit.planning.loft import rectangle, regular

PACK = rules.load()


def area(document: dict[str, Any], **choices: Any) -> tuple[Area, Ground]:
    """Return the only deck of a loft and its joists."""
    run = sound(document)["runs"][0]
    there = ground(run)
    (only,) = areas(run, there, Choices(**choices), PACK, 600)
    return only, there


def rows(document: dict[str, Any], **choices: Any) -> list[tuple[float, float, float]]:
    """Return near and far edge and least width of each course."""
    only, there = area(document, **choices)
    laid = courses(only, there, Choices(**choices), PACK, 600)
    return [(*course.reach, course.narrowest) for course in laid]


def test_the_gap_is_taken_off_all_round() -> None:
    """4800 × 3000 less 10 on each side."""
    only, _ = area(regular(12))
    assert only.gap == 10
    assert only.polygon.bounds == pytest.approx((10, 10, 4790, 2990))


def test_an_obstacle_has_its_gap_too() -> None:
    """A chimney of 400 × 400 takes 420 × 420."""
    only, _ = area(regular(12, features=[rectangle("obstacle", 1000, 1000, 1400, 1400)]))
    assert only.polygon.area == pytest.approx(4780 * 2980 - 420 * 420)


def test_an_opening_has_none() -> None:
    """Its edge is the trimmer's."""
    only, _ = area(regular(12, features=[rectangle("opening", 1000, 1000, 1600, 1800)]))
    assert only.polygon.area == pytest.approx(4780 * 2980 - 600 * 800)


def test_a_strip_too_narrow_is_left_open() -> None:
    """60 between a chimney's gap and the wall's gap is no deck."""
    chimney = rectangle("obstacle", 1000, 80, 1400, 480)
    only, _ = area(regular(12, features=[chimney]))
    assert only.polygon.bounds[1] == pytest.approx(10)
    assert only.left_open == pytest.approx(420 * 60, rel=0.01)


def test_full_first_where_the_last_is_wide_enough() -> None:
    """2980: four of 600 and one of 580."""
    assert [round(n) for _, _, n in rows(regular(12))] == [600, 600, 600, 600, 580]


def test_both_edges_ripped_where_the_last_would_be_a_strip() -> None:
    """2430: four of 600 leave 30, so the first and the last share it."""
    widths = [round(n) for _, _, n in rows(regular(12, depth=2450))]
    assert widths[0] == widths[-1] == 315
    assert widths[1:-1] == [600, 600, 600]


def test_equal_when_asked() -> None:
    """2980: 590 and 590 with three whole courses between."""
    widths = [round(n) for _, _, n in rows(regular(12), first="equal")]
    assert widths == [590, 600, 600, 600, 590]


def test_from_the_far_edge() -> None:
    """The first course lies at the far edge, whole; the last is ripped at the near one."""
    laid = rows(regular(12), start_wall="far")
    assert laid[0][:2] == pytest.approx((2390, 2990))
    assert laid[-1][:2] == pytest.approx((10, 590))


def test_a_tapered_edge_is_scribed() -> None:
    """The near edge runs in by 80: the first course is 600 at one end and 520 at the other."""
    loft = regular(12)
    loft["runs"][0]["outline"][1] = [4800, 80]
    laid = rows(loft)
    assert laid[0][2] == pytest.approx(520, abs=1)


def test_a_nearly_straight_edge_is_laid_straight() -> None:
    """2 mm over the loft: the gap takes it, the boards keep their edge."""
    loft = regular(12)
    loft["runs"][0]["outline"][1] = [4800, 2]
    only, _ = area(loft)
    assert only.polygon.bounds[1] == pytest.approx(12, abs=0.01)
    assert rows(loft)[0][2] == pytest.approx(600)


def test_a_wedge_too_narrow_at_the_end_is_left_open() -> None:
    """Beside a deck already laid the start is given: what is left under 100 stays open."""
    laid = rectangle("laid", 10, 0, 4790, 560)
    loft = regular(12, features=[laid])
    assert [round(n) for _, _, n in rows(loft)] == [600, 600, 600, 600]
    only, there = area(loft)
    courses(only, there, Choices(), PACK, 600)
    assert only.left_open == pytest.approx(4780 * 30, rel=0.01)


def test_members_reach_and_bays() -> None:
    """A joist of 47 that leans by 30 over 3000: over 600 of y its faces wander by 6."""
    _, there = area(regular(8, skew=30))
    joist = there.joists[0]
    reach = joist.reach(0, 600)
    assert reach.right - reach.left == pytest.approx(47 - 6)
    assert reach.most - reach.least == pytest.approx(47 + 6)
    assert there.bays[1].gap(1500) == pytest.approx(353)
    assert there.sd(1, 0) == pytest.approx(1)
    assert there.sd(1, 1500) == pytest.approx(0.5**0.5)


@pytest.mark.parametrize("seed", [31, 108])
def test_no_corner_of_a_deck_is_given_twice(seed: int) -> None:
    """Strips left open once left round crumbs of corners behind, thousandths of a mm apart."""
    for run in sound(random_as_built(seed))["runs"]:
        there = ground(run)
        for part in areas(run, there, Choices(), PACK, 600):
            courses(part, there, Choices(), PACK, 600)
            ring, _ = rings(part.polygon)
            assert min(dist(a, b) for a, b in pairwise([*ring, ring[0]])) > 0.01
