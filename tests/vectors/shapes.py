"""Vectors of what a loft's shape gives rise to: findings and the spacing that was set out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.vectors.rig import Rig, even, rig

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.vectors.cases import Case

TWO = ("near", "far")


def cases() -> Iterator[Case]:
    """Yield the cases."""
    yield from _spacing()
    yield from _plane()
    yield from _tops()
    yield from _timber()
    yield from _laps()


def _read(book: Rig) -> Rig:
    book.bays()
    book.breadths()
    for line in book.lines:
        book.whole(line)
    return book


def _spacing() -> Iterator[Case]:
    for name, spacing in (("600", 600), ("16-inch", 406.4), ("19.2-inch", 487.68)):
        book = Rig(even(6, spacing), 200 + 6 * spacing)
        yield f"spacing-{name}", f"Joists set out at {name}.", _read(book)
    book = Rig([190, 520, 1010, 1290, 1800], 2000)
    yield "spacing-none", "Joists set out to no spacing at all.", _read(book)
    book = Rig([200, 600, 1011, 1410, 1810], 2000)
    yield (
        "irregular",
        "One bay 11 wider than the spacing, and one exactly at the tolerance.",
        _read(book),
    )
    book = Rig(even(8, 395), 3200)
    yield "drift", "Every bay a little tight: the joists creep.", _read(book)
    book = Rig([200, 600, 1000, 1250, 1650, 2050, 2450], 2700)
    yield "restart", "The spacing starts anew after an odd bay.", _read(book)


def _plane() -> Iterator[Case]:
    book = _read(Rig(even(4), 1600, TWO, lean={2: -25.0, 5: 40.0}))
    book.ties()
    yield "askew", "A joist and the end wall out of square, bays that taper.", book
    book = _read(Rig(even(4), 1600, TWO, lean=dict.fromkeys(range(1, 5), 25.0)))
    book.ties()
    for joist, near, far in ((1, 300, 380), (4, 340, 300)):
        book.along(joist, "near_edge", "near", near)
        book.along(joist, "far", "far_edge", far)
    yield "joists-lean", "All joists lean alike; neither edge is square to them.", book
    book = rig(4, ("near", "middle", "far"))
    book.shift = {(2, "middle"): 12.0, (3, "middle"): -6.0}
    _read(book)
    book.ties()
    yield "bowed", "A joist bowed by 12, and one exactly at the tolerance.", book


def _tops() -> Iterator[Case]:
    book = _read(rig(7))
    for joist, value in enumerate((200, 203, 206, 209, 212, 218, 224), 1):
        book.add("level", joist=joist, line="near", value=value)
    yield "tops-fall", "Joist tops that fall along the line.", book
    book = _read(rig(7))
    for joist, value in enumerate((200, 200, 212, 200, 200, 190, 200), 1):
        book.add("level", joist=joist, line="near", value=value)
    yield "tops-hollow", "A hollow and a hump under the straightedge.", book


def _timber() -> Iterator[Case]:
    book = rig(4)
    book.wide |= {2: 63.0, 3: 38.0}
    _read(book)
    for joist, value in ((1, 147), (2, 172), (3, 140), (4, 150)):
        book.add("depth", joist=joist, value=value)
    yield "odd-timber", "Timbers of another size among the usual.", book
    book = rig(4, breadth=47, depth=147, **{"class": "T2"})
    book.wide |= {2: 50.0}
    _read(book)
    book.breadth(2, 50)
    book.breadth(2, 51)
    yield "planed", "Planed timber, held to the closer class.", book


def _laps() -> Iterator[Case]:
    """Joists that lap over a beam between the second and the third line, by a breadth each."""
    lines = ("near", "beam near", "beam far", "beyond", "far")
    for name, say, laps in (
        (
            "lapped",
            "Joists that lap over a beam: one timber alone is bowed, and none leans.",
            [lines[1:3]],
        ),
        ("lap-elsewhere", "A lap between lines that are no neighbours.", [lines[::4]]),
    ):
        book = rig(5, lines)
        # One laps on the other side; one timber beyond the beam is bowed on its own.
        book.shift = {(j, line): 47.0 for j in range(1, 6) for line in lines[2:]}
        book.shift |= {(4, line): -47.0 for line in lines[2:]} | {(3, "beyond"): 62.0}
        _read(book)
        book.ties()
        book.along(2, "beam near", "beam far", 1500)
        book.edges()
        book.runs[0]["laps"] = [list(pair) for pair in laps]
        yield name, say, book
