"""The rods of the set-out sheet: each joist upright, its noggins and cleats marked along it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from baywalk.sheets import dims, lengths, letters
from baywalk.sheets.dims import KIND
from baywalk.sheets.ink import MEDIUM, SMALL, THIN, Box, Page, Words
from baywalk.sheets.set_out_bay import CLEAT, JOIST, LANE, Bay

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.sheets.plan_parts import Deck, Timber


_OVER = SMALL / 2 + 0.7
"""How far over a noggin's upper edge the middle of its words stands [mm]."""


_PITCH = dims.pitch() * 1.2


class Part(NamedTuple):
    """A part of the rods, from where to where along them [mm]; whether the first, or the last."""

    start: float
    stop: float
    first: bool
    last: bool

    def holds(self, along: float) -> bool:
        """Say whether a place along a rod lies in it [mm]."""
        return (self.start <= along or self.first) and (along < self.stop or self.last)

    def say(self, units: str) -> str:
        """Return in words from where to where it reaches."""
        ends = [lengths.say(v, units) for v in (self.start, self.stop)]
        return f"from {ends[0]} {'on' if self.last else f'to {ends[1]}'} along the joists"


class Rod:
    """A part of a joist drawn upright at ``x`` of the page [mm], its near end at ``foot``."""

    def __init__(self, timber: Timber, x: float, foot: float, scale: int, part: Part) -> None:
        """Take the joist, and where the near end of the part lies on the page [mm]."""
        self.timber, self.x, self.foot, self.scale, self.part = timber, x, foot, scale, part
        self.zero = foot + part.start / scale
        self.top = self.at(min(timber.base + timber.length, part.stop))

    def at(self, along: float) -> float:
        """Return the height on the page [mm] of a place along it [mm]."""
        return self.zero - along / self.scale

    def clipped(self, along: float) -> float:
        """Return the height on the page of a place along it, within the part that is drawn [mm]."""
        return min(self.foot, max(self.top, self.at(along)))

    def beside(self, y: float, wide: float) -> float:
        """Return where the middle of words so wide stands, that they do not pass its foot [mm]."""
        return min(y, self.foot - wide / 2) if wide < self.foot - self.top else y


def draw_rod(page: Page, rod: Rod, wall: str) -> None:
    """Draw a joist or a wall upright, its name at its head and the hook's ring at its foot."""
    half, top = JOIST / 2, rod.top
    is_wall = rod.timber.name == "wall"
    box = Box(rod.x - half, top, rod.x + half, rod.foot)
    page.shape(box.corners(), pen=MEDIUM, fill=0.75 if is_wall else None)
    if not rod.part.start:
        page.dot((rod.x, rod.zero), 0.8, fill=1.0)
    page.words((rod.x, top - 4.5), wall if is_wall else rod.timber.name, SMALL, "middle", bold=True)


def draw_bay(page: Page, deck: Deck, bay: Bay, left: Rod, right: Rod) -> None:
    """Draw the noggins of one bay, and their marks on the rods either side."""
    here = [mark for mark in bay.marks if left.part.holds(mark[1])]
    for noggin, a, b in here:
        _bar(page, left, right, a, b, _breadth(noggin))
    marks = [(deck.between(n), a, b, _breadth(n)) for n, a, b in here]
    lefts = [(a, wide) for names, a, _, wide in marks if names[0] == bay.left.name]
    rights = [(b, wide) for names, _, b, wide in marks if names[1] == bay.right.name]
    _figures(page, bay, left, lefts, side=1)
    _figures(page, bay, right, rights, side=-1)
    lane = left.x + JOIST / 2 + bay.figure(0) + bay.lane("right")
    for column in bay.columns():
        for noggin in column:
            if left.part.holds(bay.left.place(noggin["y"])):
                _along(page, bay, left, noggin, lane + 3.6)
        lane += LANE
    end = right.x - JOIST / 2 - bay.figure(1) - bay.lane("left")
    _names(page, bay, here, left, (lane + end) / 2)
    found = deck.services(bay.left.name)
    if found:
        at = ((left.x + right.x) / 2, min(left.top, right.top) - 4.5)
        page.words(at, letters.cut(found, right.x - left.x - 13, SMALL), SMALL, "middle")
    for side, rod, sign in (("right", left, 1), ("left", right, -1)):
        for cleat in bay.cleats[side]:
            if rod.part.holds(deck.cleat_mark(cleat) or 0.0):
                _cleat(page, deck, bay, rod, cleat, sign)


def _bar(page: Page, left: Rod, right: Rod, a: float, b: float, breadth: float) -> None:
    thick = max(0.5, breadth / left.scale) / 2
    x0, x1 = left.x + JOIST / 2, right.x - JOIST / 2
    y0, y1 = left.at(a), right.at(b)
    page.shape(((x0, y0 - thick), (x1, y1 - thick), (x1, y1 + thick), (x0, y0 + thick)), pen=THIN)


def _places(marks: Sequence[tuple[float, float]], rod: Rod) -> list[float]:
    """Return the heights [mm] at which the words of marks along a rod stand, moved apart.

    ``marks`` are the places along the rod in order and the noggins' breadths [mm]. Words stand
    over their noggin; under it, where the next one above is too close and the one below is not.
    """
    wanted: list[float] = []
    for k, (mark, breadth) in enumerate(marks):
        middle, off = mark / rod.scale, breadth / 2 / rod.scale + _OVER
        above = k + 1 < len(marks) and (marks[k + 1][0] - mark) / rod.scale < off + _PITCH
        below = k > 0 and (mark - marks[k - 1][0]) / rod.scale < off + 2 * _PITCH
        wanted.append(middle - off if above and not below else middle + off)
    return [rod.zero - place for place in dims.spread(sorted(wanted), _PITCH, 0.0, 1e9)]


def _breadth(noggin: Mapping[str, Any]) -> float:
    return float((noggin.get("section") or {}).get("breadth", 0.0))


def _figures(
    page: Page, bay: Bay, rod: Rod, marks: Sequence[tuple[float, float]], *, side: int
) -> None:
    """Write the marks of one side of a rod, each over its noggin or led back to its tick."""
    order = sorted(marks)
    edge = rod.x + side * JOIST / 2
    for (mark, breadth), y in zip(order, _places(order, rod), strict=True):
        page.line((rod.x, rod.at(mark)), (edge, rod.at(mark)), pen=MEDIUM)
        if abs(rod.at(mark) - y) > breadth / 2 / rod.scale + _OVER + 0.3:
            page.line((edge, rod.at(mark)), (edge + side, y))
        at = (edge + side * 1.3, y + SMALL / 2)
        page.words(at, bay.say(mark), SMALL, "start" if side > 0 else "end", kind=KIND)


def _names(
    page: Page,
    bay: Bay,
    marks: Sequence[tuple[Mapping[str, Any], float, float]],
    left: Rod,
    x: float,
) -> None:
    """Write each noggin's number and length in the middle of its bay."""
    order = sorted(marks, key=lambda one: one[1])
    places = _places([(m[1], _breadth(m[0])) for m in order], left)
    for (noggin, _, _), y in zip(order, places, strict=True):
        page.words((x, y + SMALL / 2), bay.called(noggin), SMALL, "middle", bold=True)


def _along(page: Page, bay: Bay, left: Rod, noggin: Mapping[str, Any], x: float) -> None:
    """Draw a timber along the joists in its lane, and how far its centre is off the left joist."""
    y, half = noggin["y"], noggin["length"] / 2
    middle = bay.left.place(y)
    low, high = left.clipped(middle - half), left.clipped(middle + half)
    page.shape(((x - 0.5, low), (x + 0.5, low), (x + 0.5, high), (x - 0.5, high)), pen=THIN)
    both = ((x - 1.6, bay.called(noggin), "word"), (x + 3, bay.off(noggin), KIND))
    for place, text, kind in both:
        bold = kind != KIND
        wide = letters.width(text, SMALL, bold=bold)
        at = (place, left.beside((low + high) / 2, wide))
        # Only words longer than their timber cross others, and need the paper cleared.
        long = wide > low - high
        page.words(at, text, SMALL, "middle", up=True, bold=bold, kind=kind, clear=long)


def _cleat(page: Page, deck: Deck, bay: Bay, rod: Rod, cleat: Mapping[str, Any], sign: int) -> None:
    """Draw a cleat against the side of its joist that faces this bay, its name close beside it.

    Where a figure stands there, the name stands past the figures, and a line leads to it.
    """
    reach = bay.figure(0 if sign > 0 else 1)
    middle = deck.cleat_mark(cleat)
    if middle is None:
        return
    low, high = (rod.clipped(middle + k * cleat["length"] / 2) for k in (-1, 1))
    x = rod.x + sign * JOIST / 2
    page.shape(((x, low), (x + sign, low), (x + sign, high), (x, high)), pen=THIN, fill=0.5)
    name = bay.called(cleat)
    wide, foot = letters.width(name, SMALL), SMALL if sign > 0 else 0.6
    centre = (low + high) / 2
    middle = rod.beside(centre, wide)
    beside = Words((x + sign * (1.4 + foot), middle), name, SMALL, "middle", up=True)
    if page.free(beside.box):
        page.words(beside.at, name, SMALL, "middle", up=True)
        return
    for column in range(3):
        past = x + sign * (reach + foot + column * CLEAT)
        one = Words((past, middle), name, SMALL, "middle", up=True)
        if page.free(one.box):
            page.line((x + sign, centre), (past - sign * foot, centre))
            page.words(one.at, name, SMALL, "middle", up=True, clear=True)
            return
