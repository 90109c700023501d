"""The set-out sheet: every joist as a rod along which the noggins are marked from one hook.

Along the joists the sheet is true to scale. Across them each bay is as wide as its figures need;
each noggin's own length is written on it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

from baywalk.sheets import dims, lengths, letters, noggins
from baywalk.sheets.dims import KIND
from baywalk.sheets.ink import MEDIUM, SMALL, THIN, Box, Page, Words
from baywalk.sheets.table import Table, note, print_table
from baywalk.sheets.view import fitting, scale_bar

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from baywalk.sheets.paper import Book
    from baywalk.sheets.plan_parts import Deck, Timber

_JOIST = 3.0
_LANE = 7.5
_CLEAT = 4.0
_LEAST, _MOST = 10, 75
"""Scales 1:n between which figures have room beside their noggins and each other [-]."""
_AT_WALL = 100.0
"""A deck that begins within this of the near wall is drawn from there on [mm]."""
_OVER = SMALL / 2 + 0.7
"""How far over a noggin's upper edge the middle of its words stands [mm]."""
_PITCH = dims.pitch() * 1.2
_HOOK = (
    "Hook the tape on the near wall, beside each joist, and mark the centre of every noggin in "
    "one go: all marks of a joist run from that one zero. Cut each noggin for its own bay, by its "
    "number. Words stand over their noggin, or under it where another is close above. 'Off J2' is "
    "from the face of J2 to the centre line of the timber along it, of a frame (F). Cleats are "
    "dark, their length beside them."
)


def draw(book: Book, decks: Sequence[Deck]) -> list[Table]:
    """Draw the set-out of every deck; return the schedules of its noggins and cleats."""
    for deck in decks:
        if deck.noggins:
            _rods(book, deck)
    table, cleats = noggins.schedule(decks, book.units), noggins.cleats(decks, book.units)
    frames = noggins.frames(decks)
    page = book.page("Noggins, one by one")
    page = note(book, page, noggins.told(decks, book.units))
    print_table(book, table, page)
    if frames.rows:
        page = book.page("Noggin frames: what stands under which end joint")
        page = note(book, page, noggins.FRAMES)
        page = print_table(book, frames, page)
    if cleats.rows:
        page = book.page("Cleats")
        for text in noggins.cleat_notes(decks, book.units):
            page = note(book, page, text)
        print_table(book, cleats, page)
    return [table, cleats, frames]


@dataclass(frozen=True)
class Bay:
    """What stands between two joists, and the room that its figures need on paper [mm].

    ``marks`` are the noggins across with their places along both joists [mm]; ``along`` those
    that run along the joists; ``cleats`` those on the left joist's and on the right one's side.
    """

    left: Timber
    right: Timber
    marks: list[tuple[Mapping[str, Any], float, float]]
    along: list[Mapping[str, Any]]
    cleats: dict[str, list[Mapping[str, Any]]]
    units: str
    scale: int

    def figure(self, side: int) -> float:
        """Return the room of the figures beside the left joist (0) or the right one (1) [mm]."""
        texts = [self.say(m[2] if side else m[1]) for m in self.marks]
        return _widest(texts) + 2.5

    def lane(self, side: str) -> float:
        """Return the room of the cleats' names on one side, those beside each other too [mm]."""
        spans = [
            self.reach(self.marked(cleat), 0.0, self.lettered(cleat)) for cleat in self.cleats[side]
        ]
        return _CLEAT * len(_columns(spans))

    def marked(self, cleat: Mapping[str, Any]) -> float:
        """Return about where along its joist a cleat's middle lies [mm]."""
        return self.left.place(cleat["y"])

    def lettered(self, cleat: Mapping[str, Any]) -> float:
        """Return how long a cleat's number and length are, written beside it [mm]."""
        return _widest([self.called(cleat)]) + 1

    def reach(self, middle: float, long: float, lettered: float) -> tuple[float, float]:
        """Return from where to where along the joists a timber or its longer words reach [mm].

        Words never reach below the near wall: there they begin at it.
        """
        half = max(long, lettered * self.scale) / 2
        centre = max(middle, half + min(self.left.base, self.right.base))
        return centre - half, centre + half

    @property
    def name(self) -> float:
        """Return the room of the noggins' names [mm]."""
        return _widest([self.called(m[0]) for m in self.marks]) * 1.12 + 2

    @property
    def width(self) -> float:
        """Return the room of the whole bay [mm]."""
        lanes = self.lane("right") + self.lane("left") + (_LANE * len(self.columns()))
        return max(16.0, self.figure(0) + self.name + self.figure(1) + lanes) + _JOIST

    def columns(self) -> list[list[Mapping[str, Any]]]:
        """Return the timbers along the joists in columns, none beside another in one column."""
        order = sorted(self.along, key=lambda n: n["y"])
        spans = []
        for one in order:
            lettered = max(_widest([self.called(one)]) * 1.12, _widest([self.off(one)])) + 1
            middle = self.left.place(one["y"])
            spans.append(self.reach(middle, float(one["length"]), lettered))
        return [[order[k] for k in column] for column in _columns(spans)]

    def say(self, length: float) -> str:
        """Return a length [mm] as it is written here."""
        return lengths.say(length, self.units)

    def called(self, noggin: Mapping[str, Any]) -> str:
        """Return a noggin's number and its length."""
        return f"{noggin['id']}: {self.say(noggin['length'])}"

    def off(self, noggin: Mapping[str, Any]) -> str:
        """Return how far the centre of a timber along lies off the left joist, and its frame."""
        spot = self.left.crossing(noggin["y"])
        length = self.say(noggin["x"] - spot[0] - self.left.breadth / 2)
        frame = f" ({noggin['frame']})" if noggin.get("frame") else ""
        from_ = "the wall" if self.left.name == "wall" else self.left.name
        return f"{length} off {from_}{frame}"


def _columns(spans: Sequence[tuple[float, float]]) -> list[list[int]]:
    """Return stretches by their numbers, in columns in which none lies beside another [mm]."""
    out: list[list[int]] = []
    for k in sorted(range(len(spans)), key=lambda k: spans[k]):
        column = next((c for c in out if spans[c[-1]][1] <= spans[k][0]), None)
        if column is None:
            out.append([k])
        else:
            column.append(k)
    return out


def _widest(texts: Sequence[str]) -> float:
    return max((letters.width(letters.clean(t), SMALL) for t in texts), default=0.0)


def _bay(deck: Deck, left: Timber, right: Timber, units: str, scale: int) -> Bay:
    inside = [n for n in deck.noggins if deck.stands(n, left, right)]
    marks = [(n, *deck.marks(n)) for n in inside if not n.get("along")]
    cleats = {
        side: [
            c
            for c in deck.many("cleats")
            if c.get("side") == side and deck.cleat_joist(c) == timber.name
        ]
        # A cleat on the right side of the left joist stands in this bay, and the other way about.
        for side, timber in (("right", left), ("left", right))
    }
    # One that ends on a timber along the bay has a mark on one joist: it is drawn level with that.
    level = [(n, b if a is None else a, a if b is None else b) for n, a, b in marks]
    placed = [(n, a, b) for n, a, b in level if a is not None and b is not None]
    return Bay(left, right, placed, [n for n in inside if n.get("along")], cleats, units, scale)


def _rods(book: Book, deck: Deck) -> None:
    """Draw the rods, some bays a page; a joist at a page's edge comes again on the next.

    Rods too long for a page come in parts, the near one first.
    """
    both = (deck.wall("start"), *deck.timbers, deck.wall("end"))
    rods = [timber for timber in both if timber and deck.reaches(timber)]
    cautions = map(book.said, deck.cautions("service"))
    told = [*_unbuilt(deck), *_raised(deck, book.units), *_opened(deck), *cautions]
    notes = [" ".join([_HOOK, *told])]
    page = book.page(f"{deck.title}: noggins", notes=notes)
    joists = [timber for timber in rods if timber.name != "wall"] or rods
    low, end = min(t.base for t in joists), max(t.base + t.length for t in joists)
    low, high = (low if low > _AT_WALL else 0.0), _room(page).height
    count = max(1, math.ceil((end - low) / high / _MOST))
    step = (end - low) / count
    scale = max(_LEAST, fitting(step, high))
    bays = [_bay(deck, a, b, book.units, scale) for a, b in pairwise(rods)]
    fresh = True
    for group in _groups(bays, _room(page).width):
        for k in range(count):
            part = Part(low + step * k, low + step * (k + 1), k == 0, k == count - 1)
            if not fresh:
                where = f", {part.say(book.units)}" if count > 1 else ", continued"
                page = book.page(f"{deck.title}: noggins{where}", notes=notes)
            fresh = False
            _page(page, deck, group, scale, part)


def _opened(deck: Deck) -> list[str]:
    """Say which joists are cut for an opening, which is not drawn here."""
    cut = [f"J{j}" for opening in deck.many("openings") for j in opening.get("joists_cut") or []]
    if not deck.many("openings"):
        return []
    joists = f", for which {', '.join(dict.fromkeys(cut))} will be cut," if cut else ""
    return [f"An opening{joists} is not drawn here: it has a sheet of its own."]


def _raised(deck: Deck, units: str) -> list[str]:
    """Say how high noggins stand where battens raise the deck."""
    high = {lengths.say(n["raised"], units) for n in deck.noggins if n.get("raised")}
    if not high:
        return []
    say = "stand above the joists, their tops level with the battens, on packing."
    return [f"All but the strutting {say} That is {' or '.join(sorted(high))} above the joists."]


def _unbuilt(deck: Deck) -> list[str]:
    """Say which of the joists drawn are not in the loft yet, and so on no as-built sheet."""
    new = [str(one["id"]) for one in deck.many("added_joists")]
    if not new:
        return []
    is_ = "is" if len(new) == 1 else "are"
    out = [f"{', '.join(new)} {is_} not there yet: planned here, and so on no as-built sheet."]
    cut = [str(one["id"]) for one in deck.many("added_joists") if one.get("tails")]
    if cut:
        is_ = "is" if len(cut) == 1 else "are"
        out.append(f"{', '.join(cut)} {is_} cut at an opening: its sheet has the parts.")
    return out


def _room(page: Page) -> Box:
    return page.area.less(left=9, top=6.6, right=7, bottom=11)


def _groups(bays: Sequence[Bay], room: float) -> Iterator[list[Bay]]:
    """Give the bays that fit side by side into a room [mm], page by page."""
    group: list[Bay] = []
    for bay in bays:
        if group and sum(b.width for b in [*group, bay]) > room:
            yield group
            group = []
        group.append(bay)
    if group:
        yield group


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


def _page(page: Page, deck: Deck, bays: Sequence[Bay], scale: int, part: Part) -> None:
    room = _room(page)
    x = room.left
    _rod(page, Rod(bays[0].left, x, room.bottom, scale, part), "start wall")
    for bay in bays:
        left = Rod(bay.left, x, room.bottom, scale, part)
        x += bay.width
        right = Rod(bay.right, x, room.bottom, scale, part)
        _rod(page, right, "end wall")
        _inside(page, deck, bay, left, right)
    if part.start:
        where = part.say(bays[0].units)
        say = f"{where[:1].upper()}{where[1:]}: the near wall is the zero of all marks."
        page.words((room.left - _JOIST / 2, room.bottom + 4.6), say, SMALL)
    else:
        _near_wall(page, Box(room.left - _JOIST / 2, room.bottom, x + _JOIST / 2, room.bottom))
    page.only = "along the joists only"
    scale_bar(page, (page.area.left, page.area.bottom - 5), scale, bays[0].units)
    say = f"Along the joists to scale, across them not. Lengths in {lengths.unit(bays[0].units)}."
    page.words((page.area.left + 72, page.area.bottom - 1), say, SMALL)


def _near_wall(page: Page, at: Box) -> None:
    """Draw the near wall along the joists' feet: the zero of every mark."""
    page.line((at.left, at.bottom + 0.9), (at.right, at.bottom + 0.9), pen=MEDIUM)
    steps = int(at.width / 2)
    page.many(
        [
            ((at.left + 2 * k + 1, at.bottom + 0.9), (at.left + 2 * k, at.bottom + 1.9))
            for k in range(steps)
        ]
    )
    page.words((at.left, at.bottom + 4.6), "near wall: the zero of all marks (rings)", SMALL)


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


def _rod(page: Page, rod: Rod, wall: str) -> None:
    """Draw a joist or a wall upright, its name at its head and the hook's ring at its foot."""
    half, top = _JOIST / 2, rod.top
    is_wall = rod.timber.name == "wall"
    box = Box(rod.x - half, top, rod.x + half, rod.foot)
    page.shape(box.corners(), pen=MEDIUM, fill=0.75 if is_wall else None)
    if not rod.part.start:
        page.dot((rod.x, rod.zero), 0.8, fill=1.0)
    page.words((rod.x, top - 4.5), wall if is_wall else rod.timber.name, SMALL, "middle", bold=True)


def _inside(page: Page, deck: Deck, bay: Bay, left: Rod, right: Rod) -> None:
    """Draw the noggins of one bay, and their marks on the rods either side."""
    here = [mark for mark in bay.marks if left.part.holds(mark[1])]
    for noggin, a, b in here:
        _bar(page, left, right, a, b, _breadth(noggin))
    marks = [(deck.between(n), a, b, _breadth(n)) for n, a, b in here]
    lefts = [(a, wide) for names, a, _, wide in marks if names[0] == bay.left.name]
    rights = [(b, wide) for names, _, b, wide in marks if names[1] == bay.right.name]
    _figures(page, bay, left, lefts, side=1)
    _figures(page, bay, right, rights, side=-1)
    lane = left.x + _JOIST / 2 + bay.figure(0) + bay.lane("right")
    for column in bay.columns():
        for noggin in column:
            if left.part.holds(bay.left.place(noggin["y"])):
                _along(page, bay, left, noggin, lane + 3.6)
        lane += _LANE
    end = right.x - _JOIST / 2 - bay.figure(1) - bay.lane("left")
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
    x0, x1 = left.x + _JOIST / 2, right.x - _JOIST / 2
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
    edge = rod.x + side * _JOIST / 2
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
    x = rod.x + sign * _JOIST / 2
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
        past = x + sign * (reach + foot + column * _CLEAT)
        one = Words((past, middle), name, SMALL, "middle", up=True)
        if page.free(one.box):
            page.line((x + sign, centre), (past - sign * foot, centre))
            page.words(one.at, name, SMALL, "middle", up=True, clear=True)
            return
