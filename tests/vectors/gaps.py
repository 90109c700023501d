"""Vectors of what readings leave open or cannot place, and of features and other entries."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.vectors.rig import APART, Rig, even, rig

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.vectors.cases import Case

TWO = ("near", "far")


def cases() -> Iterator[Case]:
    """Yield the cases."""
    yield from _nothing()
    yield from _line()
    yield from _figure()
    yield from _no_place()
    yield from _features()


def _nothing() -> Iterator[Case]:
    yield "empty", "A run with nothing read.", rig(2, TWO)
    book = rig(3, ())
    book.breadth(2, 46)
    book.across((0, "face"), (1, "left"), 200)
    yield "no-line", "A run without a tape line.", book
    book = Rig([], 900)
    book.whole()
    yield "no-joist", "A run without joists: one bay from wall to wall.", book
    book = Rig([410], 800, TWO)
    book.bays()
    yield "one-joist", "One joist, two lines, nothing else.", book
    book = Rig(even(3), 1200)
    book.runs = []
    yield "no-run", "A survey without a run.", book


def _line() -> Iterator[Case]:
    book = rig()
    book.whole()
    yield "overall-only", "The overall alone says nothing of the joists.", book
    book = rig(5)
    for bay in (0, 1, 3, 4):
        book.bay("near", bay)
    yield "bay-missing", "One gap was never read.", book
    book = rig(5)
    book.bays()
    book.breadths()
    yield "unchecked", "Nothing checks anything.", book
    book = rig(4)
    book.runs[0].pop("member")
    book.bays()
    book.breadth(2, 46)
    yield "no-breadth", "No breadth is known but one.", book
    book = rig(4)
    book.runs[0].pop("member")
    book.running("near", ("left",))
    book.whole()
    yield "left-faces", "Left faces alone, of timber of no known size.", book
    book = rig(5)
    book.bays()
    book.breadth(1, 45)
    book.breadth(2, 45)
    yield "usual-steered", "The breadths read steer those that were not.", book


def _figure() -> Iterator[Case]:
    book = rig(4, TWO)
    book.bays()
    yield "untied", "Two lines that nothing ties together.", book
    book = rig(4, TWO)
    book.bays()
    book.along(1, "near", "far", APART)
    yield "one-along", "One length along a joist, and no more.", book
    book = rig(4, TWO)
    book.bays()
    book.along(1, "near", "far", APART)
    book.along(4, "near", "far", APART)
    yield "no-diagonal", "Lengths along two joists: square or not cannot be told.", book
    book = rig(4, TWO)
    book.bays()
    book.along(1, "near", "far", APART)
    book.diagonal((1, "near"), (4, "far"), 1921)
    yield "one-diagonal", "One length along and one diagonal.", book
    book = rig(4, TWO)
    book.bays()
    book.diagonal((1, "near"), (4, "far"), 1921)
    book.diagonal((4, "near"), (1, "far"), 1921)
    yield "diagonals-only", "Two diagonals and no length along a joist.", book
    book = rig(3, TWO)
    book.diagonal((1, "near"), (3, "far"), 1700)
    book.along(2, "near", "far_edge", 1800)
    yield "plane-without-lines", "A diagonal and an edge, and not one gap.", book


def _no_place() -> Iterator[Case]:
    book = rig(3, TWO)
    book.bays()
    book.breadth(9, 47)
    book.breadth(0, 100)
    book.add("level", joist=4, line="near", value=200)
    book.add("level", joist=1, line="middle", value=200)
    book.across((1, "right"), (8, "left"), 350.25)
    book.across((1, "right"), (2, "left"), 353, line="hall")
    book.across((2, "left"), (2, "left"), 12)
    book.across((0, "left"), (0, "right"), 100)
    book.along(1, "near", "near", 0)
    book.along(2, "near", "attic", 900)
    book.diagonal((1, "near"), (1, "near"), 30)
    book.diagonal((1, "near"), (2, "hall"), 1500)
    where = {"from": [1, "right"], "line": "near", "across": 0, "along": 0, "width": 300}
    book.add("feature", feature="opening", **where)
    book.add("feature", feature="opening", **where | {"line": "hall", "length": 300})
    book.add("feature", feature="obstacle", **where | {"from": [9, "left"], "length": 300})
    book.add("feature", feature="notch", joist=0)
    book.add("feature", feature="cable", bay=4)
    book.add("feature", feature="cable", bay=3)
    yield (
        "misplaced",
        "Readings and features without a place in the run, each for its own reason.",
        book,
    )
    book = rig(2)
    book.bays()
    book.across((0, "face"), (1, "left"), 176, run="C")
    book.strike(book.breadth(1, 47, run="D"))
    yield "stray", "Readings of runs that the survey does not have.", book
    book = rig(3)
    book.bays()
    book.whole()
    book.add("across", line="near", value=0, **{"from": [1, "left"], "to": [1, "right"]})
    book.bay("near", 1, value=1000000)
    yield "absurd", "A length of nothing and a length of a kilometre.", book


def _features() -> Iterator[Case]:
    yield "lines-turned", "The far tape line named before the near one.", _turned()
    yield from _drawn()


def _turned() -> Rig:
    book = rig(4, TWO, lean={2: 20.0})
    book.bays()
    book.ties()
    book.runs[0]["lines"] = ["far", "near"]
    return book


def _drawn() -> Iterator[Case]:
    book = rig(4, TWO, lean={2: 20.0})
    book.bays()
    book.ties()
    place = {"line": "near", "across": 20, "along": 300, "width": 560, "length": 800}
    book.add("feature", feature="opening", **{"from": [2, "right"]}, **place)
    book.add("feature", feature="obstacle", **{"from": [0, "face"]}, **{**place, "line": "far"})
    book.add("feature", feature="laid", **{"from": [5, "face"]}, **{**place, "across": -500})
    book.strike(book.add("feature", feature="opening", **{"from": [3, "left"]}, **place))
    book.add("feature", feature="notch", joist=2, edge="top", depth=20, length=60)
    book.add("feature", feature="cable", bay=1, note="lighting")
    yield "features", "Rectangles set out on the survey, a notch and a cable.", book
    book = rig(3, TWO)
    book.bays("near")
    book.add("feature", feature="opening", **{"from": [1, "left"]}, **place)
    book.add("feature", feature="opening", **{"from": [1, "left"]}, **{**place, "line": "far"})
    book.add("feature", feature="obstacle", **{"from": [2, "left"]}, line="near")
    book.add("remark", bay=1, text="a water tank stood here")
    book.add(
        "unreached", line="near", reason="a chimney", **{"from": [1, "right"], "to": [2, "left"]}
    )
    book.add("weather", text="a kind of entry of a later version")
    yield (
        "features-open",
        "Features that cannot be drawn yet, and entries that are no readings.",
        book,
    )
