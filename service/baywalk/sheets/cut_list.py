"""The cut list: every piece by its board, every timber by its stock length."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.sheets import corners, cutting, lengths
from baywalk.sheets.plan_parts import figure, listed
from baywalk.sheets.table import Column, Table, Value, print_table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.sheets.paper import Book
    from baywalk.sheets.plan_parts import Deck


def draw(book: Book, decks: Sequence[Deck]) -> list[Table]:
    """Draw the cutting of every board of every deck; return the cut list of boards and timbers."""
    for deck in decks:
        cutting.boards(book, deck)
    tables = [
        board_list(decks, book.units),
        corner_list(decks, book.units),
        timber_list(decks, book.units),
    ]
    for table in tables:
        if table.rows:
            said = {"boards": _over, "timbers": _square}.get(table.name)
            notes = [said(decks, book.units)] if said else []
            print_table(book, table, book.page(f"Cut list: {table.name}", notes=notes))
    return tables


def _over(decks: Sequence[Deck], units: str) -> str:
    """Say how what is left over of a board is reckoned."""
    cuts = {lengths.say(deck.kerf, units) for deck in decks if deck.kerf is not None}
    takes = f" of {' or '.join(sorted(cuts))}" if cuts else ""
    one = lengths.say(lengths.STEP[units], units)
    return (
        f"Left over: the board's length less its pieces and a saw cut{takes} for each sawn end. It "
        f"is reckoned from the exact lengths and rounded once, so it may differ by {one} from what "
        "the printed lengths give. No piece of this plan is cut from it. Near and far edge are the "
        "board's, as it will lie."
    )


def _square(decks: Sequence[Deck], units: str) -> str:
    """Say what is sawn off a length of timber before and between its pieces."""
    off, cut = (
        " or ".join(sorted({lengths.say(f, units) for f in found if f is not None}))
        for found in (
            [figure(deck.rules, "timber.squaring") for deck in decks],
            [figure(deck.rules, "timber.kerf") for deck in decks],
        )
    )
    return (
        f"Square one end of each length first: {off or 'a little'} is reckoned for it. Measure "
        "each piece from the end sawn last, in the order of the list. A saw cut takes "
        f"{cut or 'a little'}, one after every piece, for the far end is rough as well."
    )


_LISTED: tuple[str, ...] = (
    "board",
    "piece",
    "course",
    "measure from",
    "mark at\nnear edge",
    "mark at\nfar edge",
)
_LISTED += ("length", "width\nleft", "width\nright", "left end", "right end", "left over")
_LEFT = ("board", "piece", "measure from", "left end", "right end")


def board_list(decks: Sequence[Deck], units: str) -> Table:
    """Return every piece by the board that it is cut from, with its saw marks and its edges."""
    table = Table("boards", [Column(n, right=n not in _LEFT) for n in _LISTED])
    table.by = 0
    table.heads = [n.replace(" ", "_").replace("\n", "_") for n in _LISTED]

    def fill(deck: Deck) -> None:
        for board in deck.data["boards"]:
            for number, one in enumerate(cutting.placed(deck, board)):
                _piece(table, deck, board, one, units, first=number == 0)

    return listed(table, decks, fill)


def _piece(
    table: Table,
    deck: Deck,
    board: Mapping[str, Any],
    one: cutting.Placed,
    units: str,
    *,
    first: bool,
) -> None:
    piece, length = one.piece, float(deck.board["length"])
    cuts = [[m.value for m in cutting.sawn(one, length, far=far)] for far in (False, True)]
    offcut = board.get("offcut") if first else None
    figures = [piece["length"], *cutting.ripped(one)]
    edges = [str(piece.get("left", "")), str(piece.get("right", ""))]
    course, zero = piece["course"] + 1, f"{cutting.kept(piece)}-hand end"
    marks = [", ".join(lengths.say(v, units) for v in row) or "–" for row in cuts]
    if piece.get("laid"):
        # It is cut and lies there: nothing is marked for it any more.
        marks = ["laid", "laid"]
    last = "" if offcut is None else lengths.say(offcut, units)
    shown = [lengths.say(f, units) for f in figures]
    filed: list[Value] = [board["id"], piece["id"], course, cutting.kept(piece)]
    filed += ["; ".join(f"{v:.1f}" for v in row) for row in cuts]
    table.add(
        [str(board["id"]), str(piece["id"]), str(course), zero, *marks, *shown, *edges, last],
        [*filed, *figures, *edges, offcut],
    )


def corner_list(decks: Sequence[Deck], units: str) -> Table:
    """Return the corners of every piece that is not plain, by board and piece."""
    table = corners.schedule()

    def fill(deck: Deck) -> None:
        for board in deck.data["boards"]:
            for one in cutting.placed(deck, board):
                found = corners.corners(one.piece, one.corners)
                corners.add(table, (str(board["id"]), str(one.piece["id"])), found, units)

    return listed(table, decks, fill)


def timber_list(decks: Sequence[Deck], units: str) -> Table:
    """Return every stock length of timber and what is cut from it, in order."""
    names = ("timber", "section", "stock", "cut", "piece", "length", "left over")
    columns = [Column(n, right=n not in ("timber", "section", "piece")) for n in names]
    table = Table("timbers", columns)
    table.by = 0
    table.heads = ["timber", "breadth", "depth", "stock", "order", "item", "length"]

    def fill(deck: Deck) -> None:
        for timber in deck.many("timbers"):
            _timber(table, timber, units)

    return listed(table, decks, fill)


def _timber(table: Table, timber: Mapping[str, Any], units: str) -> None:
    section = timber.get("section") or {}
    size = [section.get(k) for k in ("breadth", "depth")]
    cuts = timber.get("cuts") or []
    broad = " × ".join(lengths.say(v, units) for v in size if v is not None)
    stock, over = (lengths.say(timber.get(k, 0.0), units) for k in ("stock", "offcut"))
    for order, cut in enumerate(cuts, start=1):
        name, length = str(cut["item"]), lengths.say(cut["length"], units)
        last = over if order == len(cuts) else ""
        head: list[Value] = [timber.get("id"), *size, timber.get("stock"), order]
        table.add(
            [str(timber.get("id", "")), broad, stock, str(order), name, length, last],
            [*head, cut["item"], cut["length"]],
        )
