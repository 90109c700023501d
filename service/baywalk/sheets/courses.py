"""The boards from above, and course by course: where every end joint lies and what carries it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from shapely import LineString, Polygon

from baywalk.sheets import cutting, dims, lengths, letters
from baywalk.sheets.dims import Mark
from baywalk.sheets.ink import BROKEN, MEDIUM, SMALL, THICK, Box, Page
from baywalk.sheets.plan_parts import listed, polygon
from baywalk.sheets.table import Column, Table, Value, print_table
from baywalk.sheets.view import View, fitting, scale_bar, start_mark, view_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.sheets.paper import Book
    from baywalk.sheets.plan_parts import Deck

_STRIP, _NAME, _DEEP = 22.0, 20.0, 10.0
_OVER = 6.5
"""Paper over a strip whose marks are made along its upper edge [mm]."""
_KEY = (
    "Boards lie printed face up. J: the end joint lies on that joist. F: on a noggin frame. "
    "C: on a cleat; frames and cleats stand on the set-out sheet, one by one. "
    "Nothing is laid before what carries it is fixed."
)
_LEAST = (
    "Least bearing: the narrower of the two widths on which the two pieces lie, either side of "
    "the joint."
)


def marked(deck: Deck) -> str:
    """Return the edge of a course along which its end joints are marked: far or near."""
    return "near" if deck.data.get("laid_from") == "far" else "far"


def _from(deck: Deck) -> str:
    """Return in words where the marks of a course begin and along which edge they run."""
    edge = marked(deck)
    return (
        f"Every end joint is marked along the {edge} edge of its course, the one laid last: there "
        "the ring is the zero, at the start wall's face, and the ticks are drawn. Of a piece's two "
        f"lengths the upper one is at its edge towards the far edge of the deck, the lower one at "
        "its edge towards the near edge."
    )


def draw(book: Book, decks: Sequence[Deck]) -> list[Table]:
    """Draw every deck from above and by courses; return the schedule of end joints."""
    for deck in decks:
        _whole(book, deck)
        _courses(book, deck)
    table = joints(decks, book.units)
    if table.rows:
        edges = [f"{d.title}: along the {marked(d)} edge of each course." for d in decks]
        notes = [f"Marks are from the start wall's face. {' '.join(edges)} {_LEAST}"]
        print_table(book, table, book.page("End joints, one by one", notes=notes))
    return [table]


def _bounds(deck: Deck) -> Box:
    left, near, right, far = Polygon(deck.data["deck"]["outline"]).bounds
    return Box(left, near, right, far)


def _whole(book: Book, deck: Deck) -> None:
    """Draw the deck from above: pieces by their numbers, joists under them broken."""
    page = book.page(f"{deck.title}: the boards", notes=[_KEY, *map(book.said, deck.cautions())])
    bounds = _bounds(deck)
    room = page.area.less(left=24, top=10.8, right=14, bottom=11)
    scale = max(fitting(bounds.width, room.width), fitting(bounds.height, room.height))
    seen = view_of(bounds, room, scale)
    for timber in deck.timbers:
        # Of a run parted into decks only the joists under this one.
        if bounds.left <= timber.crossing((bounds.top + bounds.bottom) / 2)[0] <= bounds.right:
            page.line(*seen.ring(timber.line), pen=0.1, dash=BROKEN)
    numbers: dict[int, list[tuple[float, float]]] = {}
    for piece in deck.data["pieces"]:
        stands = _piece(page, seen, deck, piece)
        numbers.setdefault(piece["course"], []).append(stands)
    page.shape(seen.ring(deck.data["deck"]["outline"]), pen=MEDIUM)
    for hole in deck.data["deck"].get("holes") or []:
        _left_open(page, seen, hole)
    for joint in deck.many("joints"):
        _support(page, seen, deck, joint, numbers.get(joint["course"], []))
    _named(page, seen, deck, bounds)
    _outer(page, seen, deck, bounds, book.units)
    start_mark(page, (seen.x(bounds.left) - 12, seen.y((bounds.top + bounds.bottom) / 2)))
    scale_bar(page, (page.area.left, page.area.bottom - 5), scale, book.units)
    edge = deck.data.get("laid_from")
    if edge:
        page.words(
            (page.area.left + 72, page.area.bottom - 1),
            f"Laid from the {edge} edge of the deck. Lengths in {lengths.unit(book.units)}.",
            SMALL,
        )


def _named(page: Page, seen: View, deck: Deck, bounds: Box) -> None:
    """Write each joist's name over its head, and what runs in a bay; those too close move apart."""
    crossings = [(t.crossing(bounds.bottom)[0], t.name) for t in deck.timbers]
    heads = sorted((seen.x(x), name) for x, name in crossings if bounds.left < x < bounds.right)
    places = dims.spread([x for x, _ in heads], dims.pitch(), page.area.left, page.area.right)
    y = seen.y(bounds.bottom)
    for (x, name), place in zip(heads, places, strict=True):
        page.line((x, y), (x, y - 1), (place, y - 2.2))
        page.words((place + SMALL / 2, y - 2.6), name, SMALL, up=True, bold=True)
    for (x, name), (after, _) in zip(heads, [*heads[1:], (seen.x(bounds.right), "")], strict=True):
        found = deck.services(name).split(" in ")[0]
        # Where it has no room, the sentence over the drawing names the bay.
        if found and letters.width(found, SMALL) < after - x - 2 * SMALL:
            page.words(((x + after) / 2, y - 2.6), found, SMALL, "middle")


def _outer(page: Page, seen: View, deck: Deck, bounds: Box, units: str) -> None:
    """Write how wide the deck is at its near and far edge, and how deep at its left-hand end."""
    corners = [(x, y) for x, y in deck.data["deck"]["outline"]]
    near_left, near_right, far_right, far_left = cutting.outer(corners)
    rows = ((near_left, near_right, bounds.top, 4), (far_left, far_right, bounds.bottom, -8))
    for a, b, limit, off in rows:
        y = seen.y(limit) + off
        text = lengths.say(b[0] - a[0], units)
        dims.across(page, (seen.x(a[0]), y), (seen.x(b[0]), y), text, witness=seen.y(limit))
    y = seen.y(bounds.top)
    for row, words in ((2.2, "near edge"), (5.2, "of the deck")):
        page.words((seen.x(bounds.left) - 7, y + row), words, SMALL, "end")
    x = seen.x(bounds.left) - 5
    low, high = seen.y(near_left[1]), seen.y(far_left[1])
    text = lengths.say(far_left[1] - near_left[1], units)
    dims.upright(page, (x, low), (x, high), text)


def _piece(page: Page, seen: View, deck: Deck, piece: Mapping[str, Any]) -> tuple[float, float]:
    """Draw a piece with its number; return from where to where on the page the number stands."""
    area = polygon(piece)
    page.shape(seen.ring(area.exterior.coords[:-1]))
    for hole in area.interiors:
        page.shape(seen.ring(hole.coords[:-1]))
    spot = area.representative_point() if not area.contains(area.centroid) else area.centroid
    x, y = seen.at((spot.x, spot.y))
    room = piece["length"] / seen.scale - 1
    text = str(piece["id"])
    wide = letters.width(text, SMALL, bold=True)
    if wide <= room:
        x = _beside(seen, deck, area, (spot.x, spot.y), wide)
        page.words((x, y + SMALL / 2), text, SMALL, "middle", bold=True, clear=True)
        return x - wide / 2, x + wide / 2
    if wide <= piece["width"] / seen.scale - 1:
        page.words((x + SMALL / 2, y), text, SMALL, "middle", bold=True, up=True, clear=True)
    return x - SMALL / 2, x + SMALL / 2


def _beside(seen: View, deck: Deck, area: Polygon, spot: tuple[float, float], wide: float) -> float:
    """Return the page's x for a piece's number, next to the joists' lines rather than on one."""
    x, half = seen.x(spot[0]), wide / 2 + 0.8
    lines = [seen.x(t.crossing(spot[1])[0]) for t in deck.timbers]
    tries = [x, *(line + side * half for line in lines for side in (-1, 1))]
    inside = area.buffer(-seen.scale * 0.5)
    for place in sorted(tries, key=lambda t: abs(t - x)):
        low, high = ((p - x) * seen.scale + spot[0] for p in (place - half, place + half))
        free = all(abs(place - line) >= half - 0.01 for line in lines)
        if free and inside.contains(LineString([(low, spot[1]), (high, spot[1])])):
            return place
    return x


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


def _support(
    page: Page,
    seen: View,
    deck: Deck,
    joint: Mapping[str, Any],
    numbers: Sequence[tuple[float, float]],
) -> None:
    """Draw an end joint heavily, and write beside it what carries it.

    ``numbers`` says from where to where on the page the numbers of its course's pieces stand.
    """
    low, high = _span(deck, joint)
    page.line(seen.at((joint["x"], low)), seen.at((joint["x"], high)), pen=THICK)
    x, y = seen.at((joint["x"], high))
    foot = foot_beside(x, [seen.x(t.crossing(high)[0]) for t in deck.timbers], numbers)
    page.words((foot, y + 0.8), carried(joint), SMALL, "end", up=True, clear=True)


def foot_beside(x: float, lines: Sequence[float], numbers: Sequence[tuple[float, float]]) -> float:
    """Return where upright words beside an end joint stand, all in mm on the page.

    To its right, unless a piece's number stands there or one of the joists' ``lines`` runs there:
    then to its left, where no number stands there either. ``numbers`` are from x to x.
    """
    right = any(a < x + 3.2 and b > x + 0.3 for a, b in numbers)
    left = any(a < x - 0.3 and b > x - 3.2 for a, b in numbers)
    crossed = any(0.3 < line - x < 3.2 for line in lines)
    return x - 0.9 if (left, False) < (right, crossed) else x + 2.6


def _courses(book: Book, deck: Deck) -> None:
    """Draw each course as a rod with its joints, several a page."""
    courses = list(deck.data["courses"])
    bounds = _bounds(deck)
    while courses:
        page = book.page(f"{deck.title}: course by course", notes=[_from(deck)])
        rows = max(1, int((page.area.height - 8) // _STRIP))
        room = page.area.less(left=_NAME, right=12)
        scale = fitting(bounds.right - min(0.0, bounds.left), room.width)
        for k, course in enumerate(courses[:rows]):
            _course(page, book, deck, course, page.area.top + k * _STRIP, scale)
        courses = courses[rows:]
        scale_bar(page, (page.area.left, page.area.bottom - 5), scale, book.units)


def _course(
    page: Page, book: Book, deck: Deck, course: Mapping[str, Any], y: float, scale: int
) -> None:
    """Draw one course from above: its pieces, and its joints along the edge they are marked on."""
    far = marked(deck) == "far"
    zero = deck.wall_x(course["y1"] if far else course["y0"]) or 0.0
    left = page.area.left + _NAME
    top = y + (_OVER if far else 1.0)
    foot = top + _DEEP
    middle = (top + foot) / 2 + SMALL / 2
    page.words((page.area.left, middle), f"course {course['index'] + 1}", SMALL, bold=True)
    for piece in deck.data["pieces"]:
        if piece["course"] == course["index"]:
            ends = {k: [left + (x - zero) / scale for x in at] for k, at in edges(piece).items()}
            _strip(page, book, piece, ends, (top, foot))
    edge = top if far else foot
    page.dot((left, edge), 0.8, fill=1.0)
    marks = [
        Mark(
            left + (j["x"] - zero) / scale,
            f"{lengths.say(_away(deck, j), book.units)} {carried(j)}",
        )
        for j in deck.many("joints")
        if j["course"] == course["index"]
    ]
    dims.flat(page, edge, marks, (left, page.area.right), above=far)


def edges(piece: Mapping[str, Any]) -> dict[str, tuple[float, float]]:
    """Return where a piece begins and ends along its far and its near edge [mm], by the edge."""
    one = cutting.Placed(piece, [(x, y) for x, y in piece["polygon"]])
    out = {}
    for name in ("far", "near"):
        left, right = cutting.ends(one, far=name == "far")
        out[name] = (left, right)
    return out


def _strip(
    page: Page,
    book: Book,
    piece: Mapping[str, Any],
    ends: Mapping[str, Sequence[float]],
    high: tuple[float, float],
) -> None:
    """Draw a piece between two heights, its number and its length at either edge within."""
    top, foot = high
    (a, b), (c, d) = ends["far"], ends["near"]
    page.shape(((a, top), (b, top), (d, foot), (c, foot)), pen=MEDIUM)
    x, middle, room = (max(a, c) + min(b, d)) / 2, (top + foot) / 2, min(b, d) - max(a, c) - 1
    long = [lengths.say(q - p, book.units) for p, q in edges(piece).values()]
    name = str(piece["id"])
    if letters.width(name, SMALL, bold=True) <= room:
        page.words((x, middle + SMALL / 2), name, SMALL, "middle", bold=True)
    if max(letters.width(text, SMALL) for text in long) <= room:
        page.words((x, top + SMALL + 0.8), long[0], SMALL, "middle")
        page.words((x, foot - 1.0), long[1], SMALL, "middle")


def joints(decks: Sequence[Deck], units: str) -> Table:
    """Return every end joint: its course, its place from the start wall, and what carries it."""
    names = ["course", "between", "from start wall", "along edge", "on", "least bearing"]
    table = Table(
        "end joints", [Column(n, right=n not in ("between", "along edge", "on")) for n in names]
    )
    table.heads = ["course", "left", "right", "x", "from_start_wall", "support", "bearing"]
    table.heads += ["along_edge"]

    def fill(deck: Deck) -> None:
        for joint in deck.many("joints"):
            _joint(table, deck, joint, units)

    return listed(table, decks, fill)


def _away(deck: Deck, joint: Mapping[str, Any]) -> float:
    """Return how far an end joint lies from the start wall's face, where it is marked [mm]."""
    low, high = _span(deck, joint)
    return float(joint["x"] - (deck.wall_x(high if marked(deck) == "far" else low) or 0.0))


def _joint(table: Table, deck: Deck, joint: Mapping[str, Any], units: str) -> None:
    bearing = joint.get("bearing") or {}
    least = min(bearing.values(), default=None)
    said = "–" if least is None else lengths.say(least, units)
    left, right = joint.get("left", ""), joint.get("right", "")
    away = _away(deck, joint)
    filed: list[Value] = [joint["course"] + 1, left, right, joint["x"], away, carried(joint), least]
    filed.append(marked(deck))
    shown = [str(joint["course"] + 1), f"{left} and {right}", lengths.say(away, units)]
    shown.append(marked(deck))
    table.add([*shown, carried(joint), said], filed)
