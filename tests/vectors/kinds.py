"""Vectors of every kind of reading, and of how it may be written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.vectors.rig import APART, Rig, even, rig

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.vectors.cases import Case

TWO = ("near", "far")


def cases() -> Iterator[Case]:
    """Yield the cases."""
    yield from _across()
    yield from _sizes()
    yield from _plane()
    yield from _ends()
    yield from _tapes()
    yield from _several()


def _across() -> Iterator[Case]:
    book = rig()
    book.bays()
    yield "gaps", "Clear gaps alone, the usual breadth stands in.", book
    book = rig()
    book.bays()
    book.breadths()
    book.whole()
    yield "gaps-overall", "Gaps, breadths and the overall.", book
    book = rig(5)
    book.running()
    book.whole()
    yield "running", "Running readings from one zero to both faces.", book
    book = rig(6)
    for joist in (1, 2, 3):
        book.read("near", (0, "face"), (joist, "left"), hook="first")
    for joist in (4, 5, 6):
        book.read("near", (3, "left"), (joist, "left"), hook="second")
    book.breadths()
    book.whole()
    yield "hooks", "Running readings with the tape hooked anew at J3.", book
    book = rig(5)
    book.bay("near", 0)
    book.bay("near", 5)
    for joist in range(1, 5):
        book.read("near", (joist, "centre"), (joist + 1, "centre"))
    book.breadths()
    book.whole()
    yield "centres", "Centre to centre, which needs no breadth.", book
    book = rig(4)
    book.running()
    for joist in (3, 1):
        book.read("near", (joist + 1, "left"), (joist, "right"))
    book.read("near", (5, "left"), (0, "right"))
    yield (
        "backwards",
        "Read towards the start wall; a wall has one face whatever it is called.",
        book,
    )
    book = rig(3)
    for value in (353, 354, 352, 353.5):
        book.bay("near", 1, value=value)
    book.bay("near", 0)
    yield "again", "One gap read four times, never averaged before testing.", book
    book = rig(3)
    book.bays()
    book.whole(value=1200.5, resolution=0.5, note="read with a lens")
    book.bay("near", 1, value=355, resolution=5)
    yield "resolution", "Readings to half a millimetre and to five.", book


def _sizes() -> Iterator[Case]:
    book = rig()
    book.bays()
    for joist in (1, 2, 3, 4):
        book.breadth(joist, 46 + joist % 2)
        book.add("depth", joist=joist, value=146 + joist)
    yield "sizes", "Breadths and depths of every joist.", book
    book = rig()
    for joist, value in ((1, 212), (2, 213), (3, 214), (4, 215)):
        book.add("level", joist=joist, line="near", value=value)
    book.bays()
    yield "levels", "Joist tops from a level line, nearly level.", book
    book = rig()
    book.bays()
    book.add("bearing", joist=1, end="near", value=98)
    book.add("bearing", joist=1, end="far", value=104)
    book.add("bearing", joist=3, end="near", value=61)
    yield "bearings", "How far joists bear at their ends.", book


def _plane() -> Iterator[Case]:
    book = rig(4, TWO)
    book.bays()
    book.breadths()
    book.ties()
    yield "two-lines", "Two lines tied by lengths along joists and both diagonals.", book
    book = rig(4, TWO)
    book.bays()
    book.ties()
    book.diagonal((0, "near"), (5, "far"), 2193)
    book.diagonal((5, "near"), (0, "far"), 2193)
    book.along(0, "near", "far", APART)
    book.along(5, "far", "near", APART)
    yield "walls-tied", "Diagonals from wall to wall and lengths along the walls.", book
    book = Rig(even(4), 1600, ("near", "middle", "far"), lean={2: 14.0, 5: 9.0})
    book.bays()
    book.breadths()
    book.ties()
    yield "three-lines", "Three lines, one joist askew.", book
    book = rig(3, ("near", "middle", "far"))
    book.bays("near", "far")
    book.ties()
    yield "middle-unread", "Three lines, the middle one only tied.", book


def _ends() -> Iterator[Case]:
    book = rig(3, TWO)
    book.bays()
    book.ties()
    for joist in (1, 2, 3):
        book.along(joist, "near_support", "far_support", 1900 + joist)
    yield "spans", "Spans read from support to support, with no place along the joist.", book
    book = rig(3, TWO)
    book.bays()
    book.ties()
    book.along(2, "near_support", "near", 190)
    book.along(2, "far", "far_support", 210)
    book.along(2, "near_support", "far_support", 1901)
    book.along(2, "far", "near_edge", 1790)
    book.along(2, "near", "far_edge", 1812)
    yield "supports", "Supports and edges from either line, both ways round.", book
    book = rig(4, TWO, lean={5: 30.0})
    book.bays()
    book.ties()
    book.edges()
    book.along(2, "near", "near_edge", 310)
    yield "outline", "Edges on three joists: the limit of the deck.", book


def _tapes() -> Iterator[Case]:
    for name in ("I", "III"):
        book = rig(3)
        book.tape = {"class": name}
        book.bays()
        book.whole()
        yield f"tape-{name}", f"A tape of class {name}.", book
    book = rig(4)
    book.tape = {}
    book.bays()
    book.whole(tape="I")
    book.read("near", (0, "face"), (3, "left"), tape="laser")
    book.read("near", (0, "face"), (4, "left"), tape={"id": "steel", "class": "III"})
    book.read("near", (0, "face"), (2, "left"), tape={"name": "cloth"})
    book.bay("near", 2, tape="II")
    yield "tapes", "Several tapes and devices, the usual one of no stated class.", book


def _several() -> Iterator[Case]:
    book = rig(3)
    book.bays()
    book.whole()
    book.run("B", 2, ("only",), breadth=44, depth=97)
    for a, b, value in (((0, "face"), (1, "left"), 300), ((1, "right"), (2, "left"), 406)):
        book.across(a, b, value, run="B", line="only")
    book.across((2, "right"), (3, "face"), 280, run="B", line="only")
    book.across((0, "face"), (3, "face"), 1075, run="B", line="only")
    yield "two-runs", "Two runs, the limit of the tests shared.", book
    book = rig(3)
    gap = book.bays()[1]
    book.strike(gap)
    book.bay("near", 1, value=351)
    overall = book.whole(value=1300)
    book.strike(overall)
    book.add("restore", target=book.strike(book.breadth(1, 48)))
    book.strike(book.strike(book.breadth(2, 47)))
    yield "struck", "Struck readings, one taken back in, and a strike of a strike.", book
    book = rig(3)
    book.bays()
    book.add("set", path="/runs/A/joists", value=4)
    book.add("set", path="/runs/A/member/breadth", value=50)
    book.add("set", path="/title", value="Another title (invented)")
    book.add("set", path="/nowhere/at/all", value=1)
    book.across((3, "right"), (4, "left"), 350)
    yield "head-set", "The head changed while walking: a joist more, another timber.", book
    book = rig(75, TWO)
    book.bays()
    book.whole("near")
    book.whole("far")
    book.ties()
    for joist in range(1, 76, 3):
        book.breadth(joist, 47)
    book.read("near", (0, "face"), (40, "left"), value=15683)
    yield "long", "A run long enough to be cut into blocks, with one slip.", book
