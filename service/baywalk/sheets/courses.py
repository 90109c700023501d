"""The boards from above, and course by course: where every end joint lies and what carries it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from shapely import Polygon

from baywalk.sheets import dims, lengths, letters
from baywalk.sheets.dims import Mark
from baywalk.sheets.ink import BROKEN, MEDIUM, SMALL, THICK, Box, Page
from baywalk.sheets.plan_parts import polygon
from baywalk.sheets.table import Column, Table, Value, print_table
from baywalk.sheets.view import View, fitting, scale_bar, start_mark, view_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.sheets.paper import Book
    from baywalk.sheets.plan_parts import Deck

_STRIP, _NAME = 22.0, 20.0
_KEY = (
    "Boards lie printed face up. J: the end joint lies on that joist. F: on a noggin frame. "
    "C: on a cleat. Nothing is laid before what carries it is fixed."
)
_FROM = (
    "Every end joint is marked from the start wall's face, along the course's edge that is laid "
    "last: all marks of a course run from that one zero."
)


def draw(book: Book, decks: Sequence[Deck]) -> list[Table]:
    """Draw every deck from above and by courses; return the schedule of end joints."""
    for deck in decks:
        _whole(book, deck)
        _courses(book, deck)
    table = joints(decks, book.units)
    if table.rows:
        print_table(book, table, book.page("End joints, one by one"))
    return [table]


def _bounds(deck: Deck) -> Box:
    left, near, right, far = Polygon(deck.data["deck"]["outline"]).bounds
    return Box(left, near, right, far)


def _whole(book: Book, deck: Deck) -> None:
    """Draw the deck from above: pieces by their numbers, joists under them broken."""
    page = book.page(f"{deck.title}: the boards", notes=[_KEY, *deck.cautions()])
    bounds = _bounds(deck)
    room = page.area.less(left=12, top=3, right=4, bottom=10)
    scale = max(fitting(bounds.width, room.width), fitting(bounds.height, room.height))
    seen = view_of(bounds, room, scale)
    for timber in deck.timbers:
        page.line(*seen.ring(timber.line), pen=0.1, dash=BROKEN)
    for piece in deck.data["pieces"]:
        _piece(page, seen, piece)
    page.shape(seen.ring(deck.data["deck"]["outline"]), pen=MEDIUM)
    for hole in deck.data["deck"].get("holes") or []:
        _left_open(page, seen, hole)
    for joint in deck.many("joints"):
        _support(page, seen, deck, joint)
    start_mark(page, (seen.x(bounds.left) - 2, seen.y((bounds.top + bounds.bottom) / 2)))
    scale_bar(page, (page.area.left, page.area.bottom - 5), scale)
    edge = deck.data.get("laid_from")
    if edge:
        page.words(
            (page.area.left + 72, page.area.bottom - 1), f"Laid from the {edge} edge.", SMALL
        )


def _piece(page: Page, seen: View, piece: Mapping[str, Any]) -> None:
    area = polygon(piece)
    page.shape(seen.ring(area.exterior.coords[:-1]))
    for hole in area.interiors:
        page.shape(seen.ring(hole.coords[:-1]))
    spot = area.representative_point() if not area.contains(area.centroid) else area.centroid
    x, y = seen.at((spot.x, spot.y))
    room = piece["length"] / seen.scale - 1
    text = str(piece["id"])
    if letters.width(text, SMALL, bold=True) <= room:
        page.words((x, y + SMALL / 2), text, SMALL, "middle", bold=True, clear=True)
    elif letters.width(text, SMALL, bold=True) <= piece["width"] / seen.scale - 1:
        page.words((x + SMALL / 2, y), text, SMALL, "middle", bold=True, up=True, clear=True)


def _left_open(page: Page, seen: View, hole: Sequence[Sequence[float]]) -> None:
    """Draw what is left open crossed, as a hole is drawn."""
    ring = seen.ring(hole)
    page.shape(ring, pen=MEDIUM, fill=1.0)
    half = len(ring) // 2
    page.many([(ring[k], ring[k + half]) for k in range(half)])


def carried(joint: Mapping[str, Any]) -> str:
    """Return what carries an end joint in short: J8, J4a, frame F1, cleat C2."""
    support = joint["support"]
    if "joist" in support:
        added = support.get("added")
        return f"J{support['joist']}" + (chr(ord("a") + int(added) - 1) if added else "")
    return str(support.get("frame") or support.get("cleat") or "?")


def _span(deck: Deck, joint: Mapping[str, Any]) -> tuple[float, float]:
    """Return the near and far end of an end joint [mm]; those of its course where not given."""
    if "y0" in joint and "y1" in joint:
        return joint["y0"], joint["y1"]
    course = next((c for c in deck.data["courses"] if c["index"] == joint["course"]), None)
    return (course["y0"], course["y1"]) if course else (0.0, 0.0)


def _support(page: Page, seen: View, deck: Deck, joint: Mapping[str, Any]) -> None:
    """Draw an end joint heavily, and write beside it what carries it."""
    low, high = _span(deck, joint)
    page.line(seen.at((joint["x"], low)), seen.at((joint["x"], high)), pen=THICK)
    x, y = seen.at((joint["x"], high))
    page.words((x + 2.6, y + 0.8), carried(joint), SMALL, "end", up=True, clear=True)


def _courses(book: Book, deck: Deck) -> None:
    """Draw each course as a rod with its joints, several a page."""
    courses = list(deck.data["courses"])
    bounds = _bounds(deck)
    while courses:
        page = book.page(f"{deck.title}: course by course", notes=[_FROM])
        rows = max(1, int((page.area.height - 8) // _STRIP))
        room = page.area.less(left=_NAME, right=12)
        scale = fitting(bounds.right - min(0.0, bounds.left), room.width)
        for k, course in enumerate(courses[:rows]):
            _course(page, book, deck, course, page.area.top + k * _STRIP, scale)
        courses = courses[rows:]
        scale_bar(page, (page.area.left, page.area.bottom - 5), scale)


def _course(
    page: Page, book: Book, deck: Deck, course: Mapping[str, Any], y: float, scale: int
) -> None:
    """Draw one course: its pieces as a strip, its joints' running dimensions under it."""
    edge = course["y1"] if deck.data.get("laid_from") != "far" else course["y0"]
    zero = deck.wall_x(edge) or 0.0
    left = page.area.left + _NAME
    pieces = [p for p in deck.data["pieces"] if p["course"] == course["index"]]
    top, foot = y + 2.5, y + 9.5
    page.words(
        (page.area.left, (top + foot) / 2 + SMALL / 2),
        f"course {course['index'] + 1}",
        SMALL,
        bold=True,
    )
    for piece in pieces:
        xs = [p[0] for p in piece["polygon"]]
        a, b = (left + (x - zero) / scale for x in (min(xs), max(xs)))
        page.shape(Box(a, top, b, foot).corners(), pen=MEDIUM)
        text = f"{piece['id']}: {lengths.say(piece['length'], book.units)}"
        shown = text if letters.width(text, SMALL) <= b - a - 1 else str(piece["id"])
        if letters.width(shown, SMALL) <= b - a - 0.5:
            page.words(((a + b) / 2, (top + foot) / 2 + SMALL / 2), shown, SMALL, "middle")
    page.dot((left, foot), 0.8, fill=1.0)
    marks = [
        Mark(
            left + (j["x"] - zero) / scale, f"{lengths.say(j['x'] - zero, book.units)} {carried(j)}"
        )
        for j in deck.many("joints")
        if j["course"] == course["index"]
    ]
    dims.flat(page, foot, marks, (left, page.area.right))


def joints(decks: Sequence[Deck], units: str) -> Table:
    """Return every end joint: its course, its place from the start wall, and what carries it."""
    names = ["course", "between", "from start wall", "on", "least bearing"]
    table = Table("end joints", [Column(n, right=n not in ("between", "on")) for n in names])
    table.heads = ["course", "left", "right", "x", "from_start_wall", "support", "bearing"]
    for deck in decks:
        for joint in deck.many("joints"):
            _joint(table, deck, joint, units)
    return table


def _joint(table: Table, deck: Deck, joint: Mapping[str, Any], units: str) -> None:
    low, high = _span(deck, joint)
    edge = high if deck.data.get("laid_from") != "far" else low
    zero = deck.wall_x(edge) or 0.0
    bearing = joint.get("bearing") or {}
    least = min(bearing.values(), default=None)
    said = "–" if least is None else lengths.say(least, units)
    left, right = joint.get("left", ""), joint.get("right", "")
    away = joint["x"] - zero
    filed: list[Value] = [joint["course"] + 1, left, right, joint["x"], away, carried(joint), least]
    shown = [str(joint["course"] + 1), f"{left} and {right}", lengths.say(away, units)]
    table.add([*shown, carried(joint), said], filed)
