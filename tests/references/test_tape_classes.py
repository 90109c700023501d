"""Published greatest errors of tape classes, through the rule pack and the weights.

EU Directive 2014/32/EU Annex X (MI-008) chapter 1, as in UK SI 2016/1153 Schedule 1I: a + b L, L in
metres rounded up, c more where an end is a hook or tip. READ: legislation.gov.uk. Worked values
READ elsewhere: 3, 5 and 8 m from a tape maker's page; 10 m from organametrisis.gr; class II 5 and
10 m from productwise.co.uk.
"""

from __future__ import annotations

import math

import pytest

from baywalk import rules
from baywalk.reconcile.weights import Tape, scale_sigma, sigma, tape_of
from tests.unit.reconcile.book import Book

PACK = rules.load()

PUBLISHED = {
    "I": {3: 0.4, 5: 0.6, 8: 0.9, 10: 1.1},
    "II": {3: 0.9, 5: 1.3, 8: 1.9, 10: 2.3},
    "III": {3: 1.8, 5: 2.6, 8: 3.8, 10: 4.6},
}
"""Greatest error between two marks [mm], by class and length [m]."""

FROM_TIP = {1: 0.7, 2: 0.9, 3: 1.1, 4: 1.3, 5: 1.5, 6: 1.7, 8: 2.1}
"""Class II from the tip [mm] by length [m]: derived from the same formula."""


def _limit(grade: str, metres: float, *, tip: bool = False) -> float:
    """Return the greatest error [mm] that the pack gives a length [m]."""
    limits = PACK[f"tape.class.{grade}"]
    return limits["a"] + limits["b"] * math.ceil(metres) + (limits["c"] if tip else 0.0)


@pytest.mark.parametrize("grade", PUBLISHED)
def test_published_limits(grade: str) -> None:
    """Every printed figure comes out of the pack's a and b."""
    for metres, limit in PUBLISHED[grade].items():
        assert _limit(grade, metres) == pytest.approx(limit)


def test_length_counts_in_whole_metres_upwards() -> None:
    """4.2 m counts as 5 m."""
    assert _limit("II", 4.2) == _limit("II", 5)


def test_from_the_tip() -> None:
    """c is added once where one end is a surface."""
    for metres, limit in FROM_TIP.items():
        assert _limit("II", metres, tip=True) == pytest.approx(limit)


@pytest.mark.parametrize(
    ("grade", "a", "c"), [("I", 0.1, 0.1), ("II", 0.3, 0.2), ("III", 0.6, 0.3)]
)
def test_what_a_reading_is_given(grade: str, a: float, c: float) -> None:
    """A limit of a uniform error is a standard deviation of limit / root 3 (adjustment texts).

    The part that grows with length is common to all lengths of a tape: it stands in the scale.
    Resolution 1 mm: 0.289 mm. The hand, 1 mm: common practice, no source.
    """
    tape = Tape("", grade)
    for hooked, limit in ((False, a), (True, a + c)):
        wanted = math.sqrt(limit**2 / 3 + 0.288675**2 + 1.0)
        assert sigma({}, tape, PACK, hooked=hooked) == pytest.approx(wanted, abs=1e-5)
    assert scale_sigma(tape, PACK) == pytest.approx(
        {"I": 0.1, "II": 0.2, "III": 0.4}[grade] / 3**0.5
    )


@pytest.mark.parametrize(("step", "scatter"), [(1, 0.289), (5, 1.44), (25.4 / 16, 0.458)])
def test_rounding_scatter(step: float, scatter: float) -> None:
    """Graduation 1 mm, 5 mm, 1/16 in: derived figures .289, 1.44, .458 mm."""
    fine = sigma({"resolution": 1e-6}, Tape("", "I"), PACK, hooked=False)
    coarse = sigma({"resolution": step}, Tape("", "I"), PACK, hooked=False)
    assert math.sqrt(coarse**2 - fine**2) == pytest.approx(scatter, abs=0.005)


def test_which_tape_a_reading_was_taken_with() -> None:
    """A class named by the reading, a device by its name, and the usual one without either."""
    usual = {"class": "II"}
    assert tape_of({}, usual, PACK) == Tape("", "II")
    assert tape_of({"tape": "III"}, usual, PACK) == Tape("III", "III")
    assert tape_of({"tape": "II"}, usual, PACK) == Tape("", "II")
    assert tape_of({"tape": "the blue one"}, usual, PACK) == Tape("the blue one", "II")
    assert tape_of({"tape": {"class": "I", "id": "x"}}, usual, PACK) == Tape("x", "I")
    assert tape_of({}, {}, PACK).grade == PACK["tape.class.default"]


def test_a_tapes_scale_is_common_to_its_lengths() -> None:
    """Repeating a long reading shrinks the hand's part, never the tape's own scale."""
    lone = None
    for repeats in (1, 400):
        book = Book(joists=0)
        for _ in range(repeats):
            book.across((0, "face"), (1, "face"), 10_000)
        spread = book.only_run()["walls"]["end"]["at"]["near"]["sd"]
        lone = lone or spread
    # 10 m of class II: 0.2 mm a metre, uniform, is 1.155 mm; the rest has all but gone.
    assert spread == pytest.approx(10 * 0.2 / math.sqrt(3), abs=0.01)
    assert lone > spread + 0.3
