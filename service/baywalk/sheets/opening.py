"""The opening detail: joists cut, trimmers and hangers, with who decides about it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from shapely import Polygon

from baywalk.sheets import dims, lengths, letters, plan_view
from baywalk.sheets.ink import MEDIUM, SMALL, Box, Page
from baywalk.sheets.plan_parts import listed
from baywalk.sheets.shape import body
from baywalk.sheets.table import Column, Table, note, print_table
from baywalk.sheets.view import View, fitting, scale_bar, view_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.sheets.paper import Book
    from baywalk.sheets.plan_parts import Deck, Timber

_AROUND = 500.0
"""How much of the loft is drawn round an opening at least [mm]."""
_WHO = (
    "A structural engineer designs the timbers round an opening and building control is told, "
    "before any joist is cut. Never cut a trussed rafter, or a joist that ties the rafters."
)


def draw(book: Book, decks: Sequence[Deck]) -> list[Table]:
    """Draw every opening, one a page, and print its parts; return the schedule of all parts."""
    table = parts(decks, book.units)
    for deck in decks:
        for opening in deck.many("openings"):
            _one(book, deck, opening)
    if table.rows:
        print_table(book, table, book.page("Openings: every part", notes=[_WHO]))
    else:
        note(book, book.page("Openings"), "This plan has no opening to trim.")
    return [table]


def _one(book: Book, deck: Deck, opening: Mapping[str, Any]) -> None:
    page = book.page(f"{deck.title}: opening", notes=[_WHO, book.told(opening)])
    left, near, right, far = Polygon(opening["polygon"]).bounds
    edge = max(_AROUND, (right - left) * 0.6)
    window = Box(left - edge, near - edge, right + edge, far + edge)
    room = page.area.less(left=14, top=8, right=14, bottom=18)
    scale = max(fitting(window.width, room.width), fitting(window.height, room.height))
    seen = view_of(window, room, scale)
    for timber in deck.timbers:
        _joist(page, seen, deck, opening, timber, window)
    page.shape(seen.ring(opening["polygon"]), pen=MEDIUM, fill=1.0)
    corners = seen.ring(opening["polygon"])
    page.line(corners[0], corners[2])
    page.line(corners[1], corners[3 % len(corners)])
    middle = _middle(deck, opening)
    for trimmer in opening.get("trimmers") or []:
        _trimmer(page, seen, book, middle, trimmer)
    _sizes(page, seen, book, deck, Box(left, near, right, far), window)
    scale_bar(page, (page.area.left, page.area.bottom - 5), scale, book.units)


def _joist(
    page: Page,
    seen: View,
    deck: Deck,
    opening: Mapping[str, Any],
    timber: Timber,
    window: Box,
) -> None:
    """Draw a joist, the timber that doubles it, and its name with what becomes of it."""
    cut = {f"J{j}" for j in opening.get("joists_cut") or []}
    tails = [t for t in _tails(deck, opening) if t["joist"] == timber.name]
    for part in plan_view.clipped(_strip(timber.line, timber.breadth), window):
        if not tails:
            page.shape(seen.ring(part), fill=1.0)
        x = sum(p[0] for p in part) / len(part)
        word = f"{timber.name} cut" if timber.name in cut or tails else timber.name
        page.words((seen.x(x), seen.y(window.bottom) - 1.5), word, SMALL, "middle", bold=True)
    for tail in tails:
        # It is not there yet: drawn as the other new timbers are.
        for part in plan_view.clipped(_strip([tail["near"], tail["far"]], timber.breadth), window):
            page.shape(seen.ring(part), pen=MEDIUM, fill=0.85)
    for one in opening.get("trimming") or []:
        if f"J{one['joist']}" != timber.name:
            continue
        wide = (one.get("section") or {}).get("breadth", timber.breadth)
        off = _side(one) * (timber.breadth + wide) / 2
        beside = [(x + off, y) for x, y in timber.line]
        for part in plan_view.clipped(_strip(beside, wide), window):
            page.shape(seen.ring(part), pen=MEDIUM, fill=0.85)


def _tails(deck: Deck, opening: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the parts of added joists that hang from an opening's trimmers, each by its name."""
    ids = {trimmer["id"] for trimmer in opening.get("trimmers") or []}
    return [
        {**tail, "joist": one["id"], "part": f"{one['id']}.{n}", "section": one.get("section")}
        for one in deck.many("added_joists")
        for n, tail in enumerate(one.get("tails") or [], start=1)
        if ids & {*tail["hangs"]}
    ]


def _side(trimming: Mapping[str, Any]) -> int:
    return -1 if trimming.get("side") == "left" else 1


def _middle(deck: Deck, opening: Mapping[str, Any]) -> float:
    """Return where the middle of the trimmers lies, between the two trimming joists [mm]."""
    low, high = (f(p[1] for p in opening["polygon"]) for f in (min, max))
    xs = [p[0] for p in opening["polygon"]]
    faces = []
    for one in opening.get("trimming") or []:
        timber = deck.named(f"J{one['joist']}", left=True)
        if timber is not None:
            x = timber.crossing((low + high) / 2)[0]
            towards = 1 if x < (min(xs) + max(xs)) / 2 else -1
            # What doubles it on its other side leaves its own face to hang the trimmers on.
            wide = (one.get("section") or {}).get("breadth", 0.0) * (_side(one) == towards)
            faces.append(x + towards * (timber.breadth / 2 + wide))
    between = faces if len(faces) > 1 else xs
    return float(min(between) + max(between)) / 2


def _strip(line: Sequence[tuple[float, float]], breadth: float) -> Polygon:
    return Polygon(body(line, max(breadth, 1.0)))


def _trimmer(page: Page, seen: View, book: Book, middle: float, trimmer: Mapping[str, Any]) -> None:
    """Draw a trimmer between the trimming joists, its name and length on it."""
    section = trimmer.get("section") or {}
    thick = section.get("breadth", 0.0) * trimmer.get("plies", 1)
    half = trimmer["length"] / 2
    left, foot = seen.at((middle - half, trimmer["y"] - thick / 2))
    right, top = seen.at((middle + half, trimmer["y"] + thick / 2))
    page.shape(Box(left, top, right, foot).corners(), pen=MEDIUM, fill=0.85)
    text = f"{trimmer['id']}: {lengths.say(trimmer['length'], book.units)}"
    if letters.width(f"trimmer {text}", SMALL) < right - left:
        text = f"trimmer {text}"
    at = ((left + right) / 2, (foot + top) / 2 + SMALL / 2)
    page.words(at, text, SMALL, "middle", clear=True)


def _sizes(page: Page, seen: View, book: Book, deck: Deck, hole: Box, window: Box) -> None:
    """Write the opening's own size, and where it lies from the start wall and the near edge."""
    y = seen.y(window.top) + 4
    text = lengths.say(hole.width, book.units)
    dims.across(
        page, (seen.x(hole.left), y), (seen.x(hole.right), y), text, witness=seen.y(hole.top)
    )
    x = seen.x(window.left) - 4
    up = lengths.say(hole.height, book.units)
    dims.upright(page, (x, seen.y(hole.top)), (x, seen.y(hole.bottom)), up)
    wall = deck.wall_x((hole.top + hole.bottom) / 2)
    if wall is not None:
        away = lengths.say(hole.left - wall, book.units)
        say = f"Its edge towards the start wall lies {away} from the start wall's face"
        timber = min(deck.timbers, key=lambda t: abs(t.crossing(hole.top)[0] - hole.left))
        up = lengths.say(deck.from_near(timber.crossing(hole.top), timber), book.units)
        say += f", its near edge {up} from the near edge there."
        page.words((page.area.left + 72, page.area.bottom - 1), say, SMALL)


def parts(decks: Sequence[Deck], units: str) -> Table:
    """Return every part of every opening: timbers with their lengths, and hangers."""
    columns = [Column(n, right=n in ("length", "±", "number", "from near edge")) for n in _PARTS]
    table = Table("openings", columns)
    table.heads = [
        "opening",
        "part",
        "what",
        "breadth",
        "depth",
        "length",
        "sd",
        "count",
        "from_near_edge",
    ]

    def fill(deck: Deck) -> None:
        for number, opening in enumerate(deck.many("openings"), start=1):
            for part in _listed(deck, opening):
                _row(table, deck, str(number), part, units)

    return listed(table, decks, fill)


_PARTS = ("opening", "part", "what", "section", "length", "±", "number", "from near edge")


def _listed(deck: Deck, opening: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the parts of one opening, each by the same names."""
    out = [
        {"part": f"J{t['joist']}", "what": "doubling of the trimming joist", "count": 1, **t}
        for t in opening.get("trimming") or []
    ]
    out += [
        {**t, "part": t["id"], "what": "trimmer", "count": t.get("plies", 1)}
        for t in opening.get("trimmers") or []
    ]
    out += [
        {**t, "what": f"of an added joist, hung from {' and '.join(t['hangs'])}", "count": 1}
        for t in _tails(deck, opening)
    ]
    for h in opening.get("hangers") or []:
        section = {k: h.get(k) for k in ("breadth", "depth")}
        out.append(
            {"part": h.get("for", ""), "what": "hanger", "section": section, "count": h["count"]}
        )
    out += [
        {"part": f"J{j}", "what": "joist cut, after the trimmers carry", "count": 1}
        for j in opening.get("joists_cut") or []
    ]
    return out


def _row(table: Table, deck: Deck, opening: str, part: Mapping[str, Any], units: str) -> None:
    section = part.get("section") or {}
    size = [section.get(k) for k in ("breadth", "depth")]
    broad = " × ".join(lengths.say(v, units) for v in size if v is not None)
    length, sd = part.get("length"), part.get("sd")
    shown = ["–" if length is None else lengths.say(length, units)]
    shown.append("–" if sd is None else lengths.spread(sd, units))
    away = _away(deck, part)
    placed = "" if away is None else lengths.say(away, units)
    name, what, count = str(part["part"]), str(part["what"]), part["count"]
    table.add(
        [opening, name, what, broad, *shown, str(count), placed],
        [opening, name, what, *size, length, sd, count, away],
    )


def _away(deck: Deck, part: Mapping[str, Any]) -> float | None:
    """Return how far a trimmer's centre line lies from the near edge, along the joists [mm]."""
    if part["what"] != "trimmer" or not deck.timbers:
        return None
    timber = deck.timbers[len(deck.timbers) // 2]
    return deck.from_near(timber.crossing(part["y"]), timber)
