"""The set-out sheet: every joist as a rod along which the noggins are marked from one hook.

Along the joists the sheet is true to scale. Across them each bay is as wide as its figures need;
each noggin's own length is written on it.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

from baywalk.sheets import lengths, noggins
from baywalk.sheets.ink import MEDIUM, SMALL, Box, Page
from baywalk.sheets.rods import Part, Rod, draw_bay, draw_rod
from baywalk.sheets.set_out_bay import JOIST, Bay, bay_of
from baywalk.sheets.table import Table, note, print_table
from baywalk.sheets.view import fitting, scale_bar

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from baywalk.sheets.paper import Book
    from baywalk.sheets.plan_parts import Deck


_LEAST, _MOST = 10, 75
"""Scales 1:n between which figures have room beside their noggins and each other [-]."""


_AT_WALL = 100.0
"""A deck that begins within this of the near wall is drawn from there on [mm]."""


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
    bays = [bay_of(deck, a, b, book.units, scale) for a, b in pairwise(rods)]
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


def _page(page: Page, deck: Deck, bays: Sequence[Bay], scale: int, part: Part) -> None:
    room = _room(page)
    x = room.left
    draw_rod(page, Rod(bays[0].left, x, room.bottom, scale, part), "start wall")
    for bay in bays:
        left = Rod(bay.left, x, room.bottom, scale, part)
        x += bay.width
        right = Rod(bay.right, x, room.bottom, scale, part)
        draw_rod(page, right, "end wall")
        draw_bay(page, deck, bay, left, right)
    if part.start:
        where = part.say(bays[0].units)
        say = f"{where[:1].upper()}{where[1:]}: the near wall is the zero of all marks."
        page.words((room.left - JOIST / 2, room.bottom + 4.6), say, SMALL)
    else:
        _near_wall(page, Box(room.left - JOIST / 2, room.bottom, x + JOIST / 2, room.bottom))
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
