"""Vectors of slips of the hand: every cause, groups, several at once, mistakes of a whole pass."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tests.lofts import Loft, full_loft
from tests.vectors.rig import Rig, rig

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tests.vectors.cases import Case

BAY = {"from": [2, "right"], "to": [3, "left"], "line": "near"}
RUNNING = {"from": [0, "face"], "to": [3, "left"], "line": "near"}
CAUSES: dict[str, tuple[int, dict[str, Any], Callable[[int], float]]] = {
    "wrong_digit": (1, BAY, lambda v: v + 60 if v % 100 < 40 else v - 30),
    "digits_swapped": (2, RUNNING, lambda v: int(str(v)[0] + str(v)[2] + str(v)[1] + str(v)[3:])),
    "digit_lost": (3, RUNNING, lambda v: v // 10),
    "digit_added": (4, BAY, lambda v: v * 10 + (v + 3) % 10),
    "digit_doubled": (5, BAY, lambda v: int(str(v) + str(v)[-1])),
    "hundred_misread": (6, BAY, lambda v: v - 100),
    "ten_misread": (7, RUNNING, lambda v: v + 10),
    "hooked_at_100": (8, RUNNING, lambda v: v + 100),
    "centimetres": (9, RUNNING, lambda v: round(v / 10) + 0.3),
    "inches": (10, RUNNING, lambda v: round(v / 25.4, 1)),
    "wrong_face": (11, {**RUNNING, "to": [4, "left"], "line": "far"}, lambda v: v + 47),
    "breadth_forgotten": (12, BAY, lambda v: v - 48),
    "breadth_counted_twice": (13, BAY, lambda v: v + 46),
    "unknown": (15, RUNNING, lambda v: v + 137),
}


def cases() -> Iterator[Case]:
    """Yield the cases."""
    for cause, (seed, where, change) in CAUSES.items():
        yield f"slip-{cause}", f"One slip: {cause.replace('_', ' ')}.", _one(seed, where, change)
    book = Rig([190, 590, 1021, 1367, 1800], 2000)
    book.bays()
    book.bay("near", 2)
    book.running()
    book.whole()
    gap = _find(book.entries, BAY)
    gap["value"] = _find(book.entries, {"from": [3, "right"]})["value"]
    yield "slip-wrong_bay", "One slip: the neighbouring bay measured instead.", book
    yield from _groups()
    yield from _several()
    yield from _whole_passes()
    yield from _decided()


def _find(entries: list[dict[str, Any]], where: dict[str, Any]) -> dict[str, Any]:
    return next(e for e in entries if all(e.get(k) == v for k, v in where.items()))


def _one(seed: int, where: dict[str, Any], change: Callable[[int], float]) -> Loft:
    """Return a loft with one reading changed."""
    loft = full_loft(seed, 5)
    entry = _find(loft.entries, where)
    entry["value"] = change(entry["value"])
    return loft


def _groups() -> Iterator[Case]:
    book = rig(4)
    book.bays()
    book.breadths()
    book.whole(value=1640)
    yield "group-one-line", "Gaps and an overall 40 apart: any of them, and it is said.", book
    book = rig(4, ("near", "far"))
    book.bays("far")
    for bay in (0, 1, 3, 4):
        book.bay("near", bay)
    book.bay("near", 2, value=335)
    for line in ("near", "far"):
        book.whole(line)
    book.breadths()
    yield "group-two-lines", "The other line tells which of the gaps it is likely to be.", book
    book = rig(3, ("near", "far"))
    book.bays()
    book.ties()
    book.diagonal((1, "near"), (3, "far"), 1790)
    yield "diagonal-slip", "A diagonal read anew, 90 too long.", book
    book = rig(3, ("near", "far"))
    book.bays()
    book.along(1, "near", "far", 1500)
    book.diagonal((1, "near"), (3, "far"), 1700)
    book.diagonal((3, "near"), (1, "far"), 4700)
    yield "figure-open", "Three lengths make no figure: without the longest they do.", book


def _several() -> Iterator[Case]:
    for slips, seed in ((2, 21), (3, 22)):
        loft = full_loft(seed, 6)
        changes = ((BAY, 40), (RUNNING, -70), ({"kind": "diagonal"}, 300))
        for where, by in changes[:slips]:
            _find(loft.entries, where)["value"] += by
        yield f"slips-{slips}", f"{slips} slips in one survey.", loft
    loft = full_loft(23, 5)
    for entry in loft.entries:
        entry["value"] += (entry["n"] % 7 - 3) * 2
    yield "scatter", "A careless hand: no slip, and yet too much scatter.", loft


def _pass(loft: Loft, line: str) -> list[dict[str, Any]]:
    """Read a line's joists once more from one set-up of the tape, and return those readings."""
    joists = range(2, loft.n)
    found = [
        loft.across(line, (0, "face"), (j, face)) for j in joists for face in ("left", "right")
    ]
    for entry in found:
        entry["hook"] = "pass"
    return found


def _whole_passes() -> Iterator[Case]:
    loft = full_loft(31, 6)
    for entry in _pass(loft, "near"):
        entry["value"] += 100
    yield "pass-hooked", "A whole pass from a zero at 100.", loft
    loft = full_loft(32, 6)
    for entry in _pass(loft, "far"):
        entry["line"] = "near"
    yield "pass-wrong-line", "Running readings of one line written to the other.", loft
    loft = full_loft(33, 6)
    for entry in _pass(loft, "near"):
        entry["to"] = [entry["to"][0] + 1, entry["to"][1]]
    yield "pass-wrong-numbers", "A pass whose joists were counted one off.", loft
    book = Rig([230, 640, 1050, 1430, 1900], 2105)
    book.bays()
    book.breadths()
    book.whole()
    swap = {"left": "right", "right": "left"}
    for joist, face in ((1, "left"), (2, "left"), (3, "right"), (4, "left"), (5, "right")):
        length = round(book.places[6] - book.x(6 - joist, "near", swap[face]))
        book.across((0, "face"), (joist, face), length, by="other phone")
    yield "pass-other-wall", "A second phone that counted the joists from the other wall.", book


def _decided() -> Iterator[Case]:
    loft = full_loft(11, 8)
    entry = _find(loft.entries, {"from": [3, "right"]})
    entry["value"] += 40
    loft.add("keep", target=entry["id"], reason="looked again")
    yield "kept", "A doubtful reading that a person stands by.", loft
    loft = full_loft(12, 5)
    entry = _find(loft.entries, BAY)
    entry["value"] += 40
    loft.add("strike", target=entry["id"], reason="misread")
    yield "slip-struck", "The slip struck out: all the others agree.", loft


def turned() -> Iterator[Case]:
    """Yield slips so large that they turn a whole tape line about in the first adjustment."""
    for name, kind, right, written in (
        ("slip-turns-line", "across", 1424, 14424),
        ("slip-turns-wall", "along", 1500, 15500),
    ):
        book = rig(5, ("near", "far"))
        book.bays()
        book.breadths()
        book.ties()
        for line in book.lines:
            book.running(line, ("right",))
            book.whole(line)
        book.along(0, "near", "far", 1500)
        # The last of them: the far line's running reading, or the length along the start wall.
        entry = [e for e in book.entries if e["kind"] == kind and e["value"] == right][-1]
        entry["value"] = written
        yield name, "One digit too many, and nothing else is wrong.", book
    book = rig(4, ("near", "middle", "far"))
    book.bays()
    book.breadths()
    for joist in (1, 4):
        book.along(joist, "near", "middle", 1500)
        book.along(joist, "middle", "far", 1500)
        book.along(joist, "near", "far", 3003)
    yield (
        "lines-sum-short",
        "Three lines, no diagonal: a sum 3 short is no slip.",
        book,
    )
